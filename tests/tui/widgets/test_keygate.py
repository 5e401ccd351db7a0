"""Keys around dialogs, and Alt with a character as terminals send it and the library reads it."""

import time
from dataclasses import dataclass

import pytest
from textual._xterm_parser import XTermParser
from textual.events import Key

from tui.widgets.keygate import (
    DEAL_SECONDS,
    REPEAT_SECONDS,
    TOGETHER_SECONDS,
    AltKeys,
    KeyGate,
)


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


# -- around dialogs


@dataclass
class Front:
    """A dialog as the gate sees it."""

    is_answered: bool = False
    takes_enter: bool = True


@dataclass
class Clock:
    now: float = 100.0

    def __call__(self) -> float:
        return self.now


def key(name: str, at: float = 0.0) -> Key:
    made = Key(name, name if len(name) == 1 else None)
    made.time = at
    return made


def names(keys: list[Key]) -> list[str]:
    return [each.key for each in keys]


@pytest.fixture
def clock() -> Clock:
    return Clock()


@pytest.fixture
def gate(clock: Clock) -> KeyGate:
    return KeyGate(clock)


def test_without_a_dialog_every_key_is_given_on(gate: KeyGate) -> None:
    assert gate.admits(key("enter"), None)
    assert gate.admits(key("a"), None)
    assert gate.waiting == 0


def test_what_is_typed_after_the_enter_of_a_dialog_waits_in_order(gate: KeyGate) -> None:
    dialog = Front()
    assert gate.admits(key("a"), dialog)
    assert gate.admits(key("enter"), dialog)
    assert not gate.admits(key("b"), dialog)
    assert not gate.admits(key("enter"), dialog)
    assert gate.waiting == 2
    gate.dealt()
    late = gate.drain()
    assert names(late) == ["b", "enter"]
    assert gate.waiting == 0
    assert all(gate.admits(each, None) for each in late)


def test_keys_that_wait_are_not_overtaken_by_one_that_comes_as_the_dialog_closes(
    gate: KeyGate,
) -> None:
    dialog = Front()
    gate.admits(key("enter"), dialog)
    assert not gate.admits(key("b"), dialog)
    assert not gate.admits(key("c"), None)  # the dialog has gone, and b was not given on yet
    assert names(gate.drain()) == ["b", "c"]


def test_a_dialog_that_is_about_to_close_takes_no_more_keys(gate: KeyGate) -> None:
    assert not gate.admits(key("a"), Front(is_answered=True))
    assert names(gate.drain()) == ["a"]


def test_a_dialog_with_nothing_to_take_holds_no_key_back(gate: KeyGate) -> None:
    dialog = Front(takes_enter=False)
    assert gate.admits(key("enter"), dialog)
    assert gate.admits(key("a"), dialog)


def test_keys_wait_for_a_dialog_only_so_long(gate: KeyGate, clock: Clock) -> None:
    dialog = Front()
    gate.admits(key("enter"), dialog)
    clock.now += DEAL_SECONDS
    assert not gate.admits(key("a"), dialog)
    gate.drain()
    clock.now += 0.1
    assert gate.admits(key("b"), dialog)


def test_another_dialog_does_not_wait_for_the_enter_of_the_one_before(gate: KeyGate) -> None:
    gate.admits(key("enter"), Front())
    assert gate.admits(key("a"), Front())


# -- Enter pressed twice


LIST, BENCH, DIALOG = "a list", "a bench", "a dialog"


def test_an_enter_soon_after_the_screen_that_an_enter_opened_is_the_same_one(
    gate: KeyGate,
) -> None:
    assert not gate.is_repeated(key("enter", 10.0), LIST, 0.0)
    assert gate.is_repeated(key("enter", 10.3), BENCH, 10.2)


def test_a_third_enter_soon_after_the_second_does_nothing_either(gate: KeyGate) -> None:
    gate.is_repeated(key("enter", 10.0), LIST, 0.0)
    assert gate.is_repeated(key("enter", 10.3), BENCH, 10.2)
    assert gate.is_repeated(key("enter", 10.3 + 0.9 * REPEAT_SECONDS), BENCH, 10.2)
    assert not gate.is_repeated(key("enter", 11.0 + REPEAT_SECONDS), BENCH, 10.2)


def test_an_enter_on_a_screen_that_was_looked_at_counts(gate: KeyGate) -> None:
    gate.is_repeated(key("enter", 10.0), LIST, 0.0)
    assert not gate.is_repeated(key("enter", 10.2 + REPEAT_SECONDS), BENCH, 10.2)


def test_a_key_between_two_enters_makes_them_two(gate: KeyGate) -> None:
    gate.is_repeated(key("enter", 10.0), LIST, 0.0)
    assert not gate.is_repeated(key("right", 10.25), BENCH, 10.2)
    assert not gate.is_repeated(key("enter", 10.3), BENCH, 10.2)


def test_enters_on_one_screen_are_as_many_as_are_pressed(gate: KeyGate) -> None:
    assert not gate.is_repeated(key("enter", 10.0), BENCH, 9.9)
    assert not gate.is_repeated(key("enter", 10.01), BENCH, 9.9)


def test_a_dialog_may_be_left_by_an_enter_at_any_time_and_guards_what_it_uncovers(
    gate: KeyGate,
) -> None:
    gate.is_repeated(key("enter", 10.0), BENCH, 0.0)
    assert not gate.is_repeated(key("enter", 10.1), DIALOG, None)
    assert gate.is_repeated(key("enter", 10.2), BENCH, 10.15)
