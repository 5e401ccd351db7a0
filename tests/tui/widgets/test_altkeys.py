"""Alt with a character, as terminals send it and as the library reads it."""

import time

import pytest
from textual._xterm_parser import XTermParser
from textual.events import Key

from tui.widgets.altkeys import TOGETHER_SECONDS, AltKeys


def pressed(*sent: str, pause: float = 0.0) -> list[str]:
    """The names of the keys, of what a terminal sends piece by piece."""
    parser, keys, names = XTermParser(), AltKeys(), list[str]()
    for piece in (*sent, ""):
        time.sleep(pause if piece else 0.15)  # longer than the library waits after an Escape
        for event in [*(parser.feed(piece) if piece else ()), *parser.tick()]:
            assert isinstance(event, Key)
            names += [key.key for key in keys.take(event)]
    held = keys.held
    return names if held is None else [*names, *(key.key for key in keys.release(held))]


# ESC and the character for Alt: xterm's control sequences, metaSendsEscape, from memory
@pytest.mark.parametrize("pause", [0.0, 0.03])
def test_alt_with_a_letter_held_down_is_that_key_each_time(pause: float) -> None:
    assert pressed("\x1bn", "\x1bn", "\x1bn", "\x1bn", pause=pause) == ["alt+n"] * 4
    assert pressed("\x1bn\x1bn\x1bn") == ["alt+n"] * 3


def test_alt_with_a_character_before_another_sequence_is_that_key() -> None:
    assert pressed("\x1bm\x1b[C") == ["alt+m", "right"]
    assert pressed("\x1bG\x1b[1;6D") == ["alt+shift+g", "ctrl+shift+left"]


def test_a_circumflex_that_is_typed_stays_one() -> None:
    assert pressed("^") == ["circumflex_accent"]
    assert pressed("^", "a", pause=2 * TOGETHER_SECONDS) == ["circumflex_accent", "a"]
    assert pressed("^", "\x1b[C") == ["circumflex_accent", "right"]
    assert pressed("^", "^", "n", pause=2 * TOGETHER_SECONDS) == ["circumflex_accent"] * 2 + ["n"]
