import dataclasses

import pytest

from sessions.errors import TerminalError
from tui.picture.choice import Choice, Wish, choose, wish_of
from tui.picture.terminal import Terminal

FULL = Terminal(
    "xterm", None, True, True, True, 1 << 24, True, True, True, (8, 16), kitty=True, sixel=True
)


def on(wish: Wish = "auto", **changes: object) -> Choice:
    return choose(dataclasses.replace(FULL, **changes), wish)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("choice", "words"),
    [
        (on(), "blocks, 24-bit"),
        (on(colours=256), "blocks, 256 colours"),
        (on(colours=16), "blocks, 16 colours"),
        (on(colours=0), "shades, no colour"),
        (on(utf8=False), "letters, no colour"),
        (on(answers=False), "half blocks, 24-bit"),
        (on("halves"), "half blocks, 24-bit"),
        (on("blocks", answers=False), "blocks, 24-bit"),
        (on("octants"), "octants, 24-bit"),
        (on("pixels"), "pixels (kitty)"),
        (on("pixels", kitty=False), "pixels (sixel)"),
    ],
)
def test_the_best_that_is_sure_to_work_is_chosen(choice: Choice, words: str) -> None:
    assert choice.words == words
    assert choice.refused == ""


@pytest.mark.parametrize(
    ("choice", "words", "why"),
    [
        (on("octants", octants=False), "blocks, 24-bit", "octants"),
        (on("octants", multiplexer="tmux"), "blocks, 24-bit", "octants"),
        (on("octants", utf8=False), "letters, no colour", "UTF-8"),
        (on("blocks", colours=0), "shades, no colour", "colours"),
        (on("pixels", multiplexer="tmux"), "blocks, 24-bit", "tmux"),
        (on("pixels", multiplexer="screen", kitty=False), "blocks, 24-bit", "screen"),
        (on("pixels", kitty=False, registers=16), "blocks, 24-bit", "16 colours"),
        (on("pixels", kitty=False, sixel=False), "blocks, 24-bit", "pixels"),
        (
            on("pixels", kitty=False, sixel=False, answers=False),
            "half blocks, 24-bit",
            "half blocks",
        ),
        (on("pixels", cell=None), "blocks, 24-bit", "pixels"),
    ],
)
def test_a_wish_that_cannot_be_met_is_refused_with_a_reason(
    choice: Choice, words: str, why: str
) -> None:
    assert choice.words == words
    assert why in choice.refused


@pytest.mark.parametrize(
    ("choice", "words"),
    [
        (on(), ""),
        (on(colours=256), ""),
        (on(colours=16), "In 16 colours contact cannot be told from a gap"),
        (on(colours=0), "Without colours contact cannot be told from a gap"),
        (
            on(utf8=False),
            "In letters contact cannot be told from a gap: take a terminal that takes UTF-8.",
        ),
    ],
)
def test_too_few_colours_to_judge_contact_by_are_said_to_be(choice: Choice, words: str) -> None:
    assert choice.doubt.startswith(words)
    assert bool(choice.doubt) == bool(words)


def test_a_multiplexer_answers_itself_and_so_acknowledges_nothing() -> None:
    assert on().acknowledged
    assert not on(multiplexer="tmux").acknowledged
    assert not on(reports_cursor=False).acknowledged


def test_runs_are_repeated_where_the_terminal_does() -> None:
    assert on().repeats
    assert not on(repeats=False).repeats


def test_a_wish_of_no_known_name_is_bad_input() -> None:
    assert wish_of("octants") == "octants"
    with pytest.raises(TerminalError, match=r"'colours'.*auto, blocks, octants"):
        wish_of("colours")
