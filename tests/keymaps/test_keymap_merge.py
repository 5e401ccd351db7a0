import re
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

import keymaps
from keymaps.commands import COMMANDS, Where
from keymaps.keymap import (
    Keymap,
    keymap_names,
    load_keymap,
    merged_keys,
    parse_layer,
    read_layer,
    user_keys_file,
)
from keymaps.keys import NAMED_KEYS
from sessions.errors import KeymapError

HEAD = 'format = "framecall-keymap"\nversion = 1\n'


@pytest.fixture(autouse=True)
def _no_keys_of_this_machine(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.delenv("FRAMECALL_KEYS", raising=False)
    monkeypatch.setattr("platformdirs.user_config_path", lambda name: tmp_path / "config" / name)


def user_file(folder: Path, text: str) -> Path:
    path = folder / "mine.toml"
    path.write_text(HEAD + text, encoding="utf-8")
    return path


def test_without_any_name_or_file_the_keymap_is_qwerty() -> None:
    assert load_keymap() == load_keymap("qwerty")
    assert load_keymap().name == "qwerty"


def test_keys_are_asked_for_by_command() -> None:
    keymap = load_keymap("qwerty")
    assert keymap.keys_for("step.forward") == ("right", "f")
    assert keymap.bindings()["step.forward"] == "right,f"
    with pytest.raises(KeyError):
        keymap.keys_for("make.tea")


def test_a_user_file_changes_only_what_it_names(tmp_path: Path) -> None:
    mine = load_keymap("qwertz", user_file(tmp_path, '[keys]\n"note" = ["q", "f2"]\n'))
    assert mine.keys_for("note") == ("q", "f2")
    others = {c: keys for c, keys in mine.keys.items() if c != "note"}
    assert others == {c: k for c, k in load_keymap("qwertz").keys.items() if c != "note"}
    assert (mine.name, mine.title) == ("qwertz", "QWERTZ")


def test_a_user_file_may_name_its_base_and_itself(tmp_path: Path) -> None:
    text = 'base = "azerty"\nname = "mine"\ntitle = "My keys"\n[keys]\n"note" = "q"\n'
    mine = load_keymap(user_file=user_file(tmp_path, text))
    assert mine.keys_for("cup.blank") == ("é",)
    assert (mine.name, mine.title) == ("mine", "My keys")


def test_the_map_asked_for_by_name_comes_before_the_base_of_the_user_file(tmp_path: Path) -> None:
    mine = load_keymap("qwerty", user_file(tmp_path, 'base = "azerty"\n[keys]\n"note" = "q"\n'))
    assert mine.keys_for("cup.blank") == ("2",)


def test_a_file_in_the_usual_place_is_found(tmp_path: Path) -> None:
    usual = tmp_path / "config" / "framecall" / "keys.toml"
    assert user_keys_file() is None
    usual.parent.mkdir(parents=True)
    usual.write_text(HEAD + '[keys]\n"note" = "q"\n')
    assert user_keys_file() == usual
    assert load_keymap().keys_for("note") == ("q",)


def test_a_usual_place_that_cannot_be_looked_into_holds_no_keys(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    beyond = tmp_path / ("x" * 300)  # as little to be looked at as another user's folder
    monkeypatch.setattr("platformdirs.user_config_path", lambda name: beyond / name)
    assert user_keys_file() is None


def test_the_environment_names_another_file(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("FRAMECALL_KEYS", str(user_file(tmp_path, '[keys]\n"note" = "q"\n')))
    assert load_keymap().keys_for("note") == ("q",)


def test_two_commands_may_swap_their_keys(tmp_path: Path) -> None:
    text = '[keys]\n"undo" = "ctrl+r"\n"redo" = "ctrl+u"\n'
    mine = load_keymap("qwerty", user_file(tmp_path, text))
    assert (mine.keys_for("undo"), mine.keys_for("redo")) == (("ctrl+r",), ("ctrl+u",))


def test_a_key_may_mean_another_thing_on_another_screen(tmp_path: Path) -> None:
    mine = load_keymap("qwerty", user_file(tmp_path, '[keys]\n"settle.first" = "f"\n'))
    assert "f" in mine.keys_for("step.forward")
    assert mine.keys_for("settle.first") == ("f",)
    with pytest.raises(KeymapError, match=r'"M" is given to "settle.first", but .* for "lens"'):
        load_keymap("qwerty", user_file(tmp_path, '[keys]\n"settle.first" = "M"\n'))


def test_a_whole_keymap_may_come_from_a_file(tmp_path: Path) -> None:
    entries = "".join(f'"{c}" = {list(k)}\n' for c, k in load_keymap("left").keys.items())
    path = tmp_path / "whole.toml"
    path.write_text(HEAD + "[keys]\n" + entries, encoding="utf-8")
    whole = load_keymap(path)
    assert whole.keys == load_keymap("left").keys
    assert whole.name == str(path)


def test_a_keymap_file_may_change_a_base_and_the_user_file_changes_both(tmp_path: Path) -> None:
    team = tmp_path / "team.toml"
    team.write_text(HEAD + 'base = "qwertz"\n[keys]\n"note" = "q"\n"accept" = "Q"\n')
    mine = load_keymap(str(team), user_file(tmp_path, '[keys]\n"note" = "f3"\n'))
    assert [mine.keys_for(c) for c in ("note", "accept", "hand")] == [("f3",), ("Q",), ("ü",)]


def test_commands_may_be_written_without_quotes_as_dotted_keys(tmp_path: Path) -> None:
    text = '[keys]\nstep.forward = "q"\n[keys.step]\nback = "Q"\n'
    with pytest.raises(KeymapError, match="line 5"):
        load_keymap("qwerty", user_file(tmp_path, text))
    text = '[keys]\nstep.forward = "q"\nstep.back = "Q"\n'
    mine = load_keymap("qwerty", user_file(tmp_path, text))
    assert (mine.keys_for("step.forward"), mine.keys_for("step.back")) == (("q",), ("Q",))


def test_a_byte_order_mark_does_no_harm(tmp_path: Path) -> None:
    path = tmp_path / "marked.toml"
    path.write_text(HEAD + '[keys]\r\n"note" = "q"\r\n', encoding="utf-8-sig", newline="")
    assert read_layer(path).file.keys == {"note": ("q",)}


BUILT_IN = {
    name: read_layer(Path(keymaps.__file__).with_name(f"{name}.toml")) for name in keymap_names()
}
KEYS = st.sampled_from(sorted(NAMED_KEYS | set("abcdefghijklmnopqrstuvwxyzABCXYZ0123é")))
REBINDINGS = st.dictionaries(
    st.sampled_from(list(COMMANDS)), st.lists(KEYS, min_size=1, max_size=3), min_size=1, max_size=12
)


def is_clean(keys: dict[str, tuple[str, ...]]) -> bool:
    """The reference: no key stands twice among the commands of a screen."""
    for screen in Where:
        used = [
            key for c, listed in keys.items() for key in listed if screen in COMMANDS[c].screens
        ]
        if len(set(used)) < len(used):
            return False
    return True


@given(base=st.sampled_from(keymap_names()), rebindings=REBINDINGS)
def test_any_rebinding_loads_without_conflict_or_is_refused_at_its_line(
    base: str, rebindings: dict[str, list[str]]
) -> None:
    lines = [HEAD.rstrip(), "[keys]", *(f'"{c}" = {keys}' for c, keys in rebindings.items())]
    own = parse_layer("mine.toml", "\n".join(lines))
    built_in = BUILT_IN[base]
    expected = {**built_in.file.keys, **{c: tuple(keys) for c, keys in rebindings.items()}}
    if is_clean(expected):
        assert merged_keys([built_in, own]) == expected
        return
    with pytest.raises(KeymapError) as refusal:
        merged_keys([built_in, own])
    found = re.match(r'mine\.toml, line (\d+): "(\S+)" is ', str(refusal.value))
    assert found is not None
    line, key = int(found[1]), found[2]
    written = "\n".join(lines).split("\n")[line - 1]
    assert f"'{key}'" in written
    named = set(re.findall(r'"([a-z_.]+)"', str(refusal.value)))
    holders = [c for c, keys in expected.items() for k in keys if k == key and c in named]
    assert len(holders) > 1


@given(st.permutations(list(load_keymap("qwerty").keys.items())))
def test_the_order_of_entries_does_not_matter(entries: list[tuple[str, tuple[str, ...]]]) -> None:
    text = HEAD + "[keys]\n" + "".join(f'"{c}" = {list(keys)}\n' for c, keys in entries)
    shuffled = merged_keys([parse_layer("shuffled.toml", text)])
    assert list(shuffled.items()) == list(load_keymap("qwerty").keys.items())


def test_a_keymap_is_data_that_survives_writing() -> None:
    keymap = load_keymap("azerty")
    assert Keymap.model_validate_json(keymap.model_dump_json()) == keymap
