import string

import pytest
from textual.binding import BindingsMap
from textual.keys import _character_to_key

from keymaps.keys import CHARACTERS, NAMED_KEYS, REFUSED, canonical_key, display_key
from tests.keymaps.terminal import plain_bytes, reported

ALT_LETTERS = [
    f"alt+{shift}{letter}"
    for letter in string.ascii_lowercase
    for shift in ("", "shift+")
    if f"alt+{shift}{letter}" not in REFUSED
]


def test_every_named_key_arrives_by_its_name() -> None:
    assert {key: reported(plain_bytes(key)) for key in NAMED_KEYS} == {k: [k] for k in NAMED_KEYS}


def test_every_character_arrives_by_its_name() -> None:
    characters = {
        **CHARACTERS,
        **{c: c for c in string.ascii_letters + string.digits + "éèçàùöäüß"},
    }
    assert {c: reported(c) for c in characters.values()} == {
        c: [name] for name, c in characters.items()
    }


def test_every_accepted_alt_letter_arrives_by_its_name() -> None:
    assert [reported(plain_bytes(key)) for key in ALT_LETTERS] == [[key] for key in ALT_LETTERS]


@pytest.mark.parametrize("key", sorted(REFUSED.keys() - {"ctrl+c", "ctrl+left_square_bracket"}))
def test_refused_keys_arrive_as_the_key_that_the_reason_names(key: str) -> None:
    [name] = reported(plain_bytes(key))
    assert REFUSED[key].startswith(f"arrives as {name}")


def test_control_bracket_is_the_byte_of_escape() -> None:
    assert reported("\x1b") == ["escape"]
    assert "escape" in REFUSED["ctrl+left_square_bracket"]


@pytest.mark.parametrize(
    ("written", "key"),
    [
        ("[", "left_square_bracket"),
        ("+", "plus"),
        (",", "comma"),
        (" ", "space"),
        ("g", "g"),
        ("G", "G"),
        ("shift+g", "G"),
        ("Shift+G", "G"),
        ("alt+g", "alt+g"),
        ("ALT+g", "alt+g"),
        ("alt+G", "alt+shift+g"),
        ("shift+alt+g", "alt+shift+g"),
        ("shift+ctrl+left", "ctrl+shift+left"),
        ("e\N{COMBINING ACUTE ACCENT}", "é"),
        ("ж", "ж"),
    ],
)
def test_a_key_may_be_written_as_people_write_it(written: str, key: str) -> None:
    assert canonical_key(written) == key


def test_an_accepted_key_is_its_own_canonical_form() -> None:
    accepted = [*NAMED_KEYS, *CHARACTERS, *ALT_LETTERS]
    assert [canonical_key(key) for key in accepted] == accepted


def test_names_of_characters_are_those_of_textual() -> None:
    assert {_character_to_key(c): c for c in CHARACTERS.values()} == CHARACTERS


def test_textual_binds_every_accepted_key_as_it_is() -> None:
    keys = [*NAMED_KEYS, *CHARACTERS, *ALT_LETTERS]
    bound = BindingsMap([(",".join(keys), "bell", "Bell")])
    assert bound.key_to_bindings.keys() == set(keys)


@pytest.mark.parametrize(
    ("written", "said"),
    [
        ("rihgt", 'did you mean "right"?'),
        ("questionmark", 'did you mean "question_mark"?'),
        ("Space", 'did you mean "space"?'),
        ("", "write a character, or a name"),
        ("xyzzyplugh", "write a character, or a name"),
        ("super+g", "without that modifier"),
        ("shift+space", "without that modifier"),
        ("shift+7", "without that modifier"),
        ("alt+7", "without that modifier"),
        ("alt+,", "without that modifier"),
        ("ctrl+shift+g", "without that modifier"),
        ("ctrl+", "without that modifier"),
        ("+g", "without that modifier"),
        ("f13", "every terminal"),
        ("ctrl+i", "arrives as tab"),
        ("ctrl+[", "arrives as escape"),
        ("alt+b", "arrives as ctrl+left"),
        ("ctrl+c", "stays with the terminal"),
        ("→", "every terminal"),
        ("\n", "every terminal"),
        ("gg", "every terminal"),
    ],
)
def test_what_cannot_be_relied_on_is_refused_with_a_way_out(written: str, said: str) -> None:
    with pytest.raises(ValueError, match=r"^\"") as refusal:
        canonical_key(written)
    assert said in str(refusal.value)


@pytest.mark.parametrize(
    ("key", "shown"),
    [
        ("G", "G"),
        ("alt+g", "Alt+g"),
        ("alt+shift+g", "Alt+Shift+g"),
        ("right", "→"),
        ("shift+right", "Shift+→"),
        ("ctrl+shift+left", "Ctrl+Shift+←"),
        ("left_square_bracket", "["),
        ("plus", "+"),
        ("space", "Space"),
        ("pageup", "PgUp"),
        ("f10", "F10"),
        ("é", "é"),
        ("ctrl+backslash", "Ctrl+\\"),
    ],
)
def test_keys_are_shown_as_people_write_them(key: str, shown: str) -> None:
    assert display_key(key) == shown
