"""Text from outside, made safe to print."""

import unicodedata

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sessions.sanitize import sanitize


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("cup 3", "cup 3"),
        ("\u00e9t\u00e9 \u2713 \u65e5\u672c", "\u00e9t\u00e9 \u2713 \u65e5\u672c"),
        ("a\nb", "a<U+000A>b"),
        ("\x1b[2J", "<U+001B>[2J"),
        ("\u202egnp.exe", "<U+202E>gnp.exe"),
        ("zero\u200bwidth", "zero<U+200B>width"),
        ("\ud800", "<U+D800>"),
    ],
)
def test_hidden_characters_are_shown_as_code_points(text: str, shown: str) -> None:
    assert sanitize(text) == shown


@given(st.text())
def test_what_is_shown_holds_no_control_or_direction_changing_character(text: str) -> None:
    categories = {unicodedata.category(char) for char in sanitize(text)}
    assert not categories & {"Cc", "Cf", "Cs"}
    assert sanitize(sanitize(text)) == sanitize(text)
