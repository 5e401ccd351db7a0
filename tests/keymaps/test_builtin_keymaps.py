import string

import pytest
from textual.app import App
from textual.binding import Binding
from textual.dom import DOMNode

from keymaps.commands import COMMANDS, Group, Where, commands_on
from keymaps.keymap import Keymap, keymap_names, load_keymap
from keymaps.keys import CHARACTERS, REFUSED, canonical_key
from sessions.rules.ladder import MARKER_KINDS, Kind
from tests.keymaps.terminal import plain_bytes, protocol_bytes, reported

MAPS = ["azerty", "left", "qwerty", "qwertz"]

# What a layout types without AltGr and without a dead key; letters aside (layouts from memory).
UNAIDED_SIGNS = {
    "qwerty": set(string.digits + string.punctuation),
    "left": set(string.digits + string.punctuation),
    "azerty": set("&é\"'(-è_çà)=$ù*,;:!<" + "1234567890°+£%µ?./§>"),
    "qwertz": set("1234567890ß" + "üöä+#,.-<" + "!\"§$%&/()=?ÜÖÄ*';:_>"),
}

FLOW_CONTROL_AND_SIGNALS = {f"ctrl+{c}" for c in "csz"}
SAME_BYTES_AS_OTHER_KEYS = {"ctrl+i", "ctrl+m", "ctrl+j", "ctrl+h", "ctrl+left_square_bracket"}
PREFIXES_OF_MULTIPLEXERS_AND_BROWSER_TABS = {f"ctrl+{c}" for c in "abntw"}

LEFT_HAND = {
    *"12345`!@#$%~",
    *(c for letter in "qwertasdfgzxcvb" for c in (letter, letter.upper())),
    *(f"{held}+{letter}" for held in ("alt", "alt+shift", "ctrl") for letter in "qwertasdfgzxcvb"),
    *(f"f{number}" for number in range(1, 6)),
    "space",
}


@pytest.fixture(params=MAPS)
def keymap(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> Keymap:
    monkeypatch.setattr("keymaps.keymap.user_keys_file", lambda: None)
    return load_keymap(request.param)


def all_keys(keymap: Keymap) -> list[str]:
    return [key for keys in keymap.keys.values() for key in keys]


def keys_on(keymap: Keymap, screen: Where) -> dict[str, tuple[str, ...]]:
    return {command.id: keymap.keys_for(command.id) for command in commands_on(screen)}


def characters(keymap: Keymap) -> set[str]:
    named = {CHARACTERS.get(key, key) for key in all_keys(keymap)}
    return {c for c in named if len(c) == 1 and c not in string.ascii_letters}


def test_the_maps_that_come_along_are_these() -> None:
    assert keymap_names() == MAPS


@pytest.mark.parametrize("screen", Where)
def test_every_command_has_a_key_of_its_own_on_its_screen(keymap: Keymap, screen: Where) -> None:
    assert list(keymap.keys) == list(COMMANDS)
    assert all(keymap.keys.values())
    keys = [key for listed in keys_on(keymap, screen).values() for key in listed]
    assert len(set(keys)) == len(keys)


def test_every_key_arrives_by_its_name_without_an_extended_protocol(keymap: Keymap) -> None:
    keys = all_keys(keymap)
    assert {key: reported(plain_bytes(key)) for key in keys} == {key: [key] for key in keys}


def test_every_key_arrives_by_its_name_with_the_extended_protocol(keymap: Keymap) -> None:
    keys = all_keys(keymap)
    assert {key: reported(protocol_bytes(key)) for key in keys} == {key: [key] for key in keys}


def test_no_key_is_a_hazard(keymap: Keymap) -> None:
    keys = set(all_keys(keymap))
    assert not keys & FLOW_CONTROL_AND_SIGNALS
    assert not keys & SAME_BYTES_AS_OTHER_KEYS
    assert not keys & PREFIXES_OF_MULTIPLEXERS_AND_BROWSER_TABS
    assert not keys & {"f11", "f12", "alt+shift+o"}


def test_no_sign_needs_alt_gr_or_a_dead_key(keymap: Keymap) -> None:
    assert characters(keymap) <= UNAIDED_SIGNS[keymap.name]


def test_digits_are_left_alone_where_they_need_shift(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("keymaps.keymap.user_keys_file", lambda: None)
    assert not characters(load_keymap("azerty")) & set(string.digits)


@pytest.mark.parametrize("kind", Kind)
def test_a_letter_keeps_shift_faults_and_alt_leaves_open(keymap: Keymap, kind: Kind) -> None:
    [letter] = keymap.keys_for(f"in_order.{kind}")
    assert letter in string.ascii_lowercase
    assert keymap.keys_for(f"cannot_tell.{kind}") == (f"alt+{letter}",)
    if kind not in MARKER_KINDS:
        assert keymap.keys_for(f"fault.{kind}") == (letter.upper(),)


def test_the_left_hand_reaches_nearly_everything(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("keymaps.keymap.user_keys_file", lambda: None)
    reach = {canonical_key(key) for key in LEFT_HAND - REFUSED.keys()}
    keymap = load_keymap("left")
    beyond = {c for c, keys in keymap.keys.items() if not reach & set(keys)}
    rare = {Kind.ORDER, Kind.REPAIRED, Kind.ONE_STACK, Kind.CURED}
    kinds = {f"{answer}.{kind}" for answer in ("in_order", "fault", "cannot_tell") for kind in rare}
    fine = {c.id for c in COMMANDS.values() if c.group is Group.LOOK}
    seldom = {"accept", "palette", "redraw", "finish", "cup.evidence", "save_elsewhere"}
    seldom |= {
        "about",
        "woven",
        "unseen.next",
        "other_fault",
        "not_shown",
        "attempts_before",
        "capture_rate",
    }
    assert beyond - fine <= seldom | kinds


class Recorder(App[None]):
    """An application that knows all commands and notes which of them ran."""

    ENABLE_COMMAND_PALETTE = False
    BINDINGS = [  # noqa: RUF012
        Binding(f"unbound_{command_id}", f"run('{command_id}')", id=command_id, priority=True)
        for command_id in COMMANDS
    ]

    def __init__(self) -> None:
        super().__init__()
        self.ran: list[str] = []
        self.clashes: set[str] = set()

    def action_run(self, command_id: str) -> None:
        """Note the command."""
        self.ran.append(command_id)

    def handle_bindings_clash(self, clashed_bindings: set[Binding], node: DOMNode) -> None:
        """Note the keys that clash."""
        self.clashes |= {binding.key for binding in clashed_bindings}


@pytest.mark.parametrize("screen", Where)
async def test_textual_runs_the_command_of_each_key_pressed(keymap: Keymap, screen: Where) -> None:
    app = Recorder()
    # Textual's own Ctrl+Q comes first, and means the same.
    bound = keys_on(keymap, screen)
    keys = {key: c for c, keys in bound.items() for key in keys if c != "quit"}
    async with app.run_test() as pilot:
        app.set_keymap({command: ",".join(keys) for command, keys in bound.items()})
        for key in keys:
            app.simulate_key(key)
        await pilot.pause()
    assert app.ran == list(keys.values())
    assert app.clashes == {"ctrl+q"}
