"""A side is taken by pictures that are on the screen, and its reason is typed in sight."""

from keymaps.keymap import Keymap
from tests.tui.conftest import PlainSource
from tests.tui.settling.conftest import Settle
from tests.tui.settling.settlers import on_settling


async def test_no_side_is_taken_before_both_pictures_are_on_the_screen(
    settle: Settle, source: PlainSource, keymap: Keymap
) -> None:
    made = settle()
    frame, other = made.settlement.frames
    source.absent = {frame}
    async with on_settling(made, source, keymap) as on:
        await on.press("left")
        assert on.is_clear
        assert on.line("message").startswith(f"Frames {frame} and {other} are not on the screen")
        source.absent = set()
        on.screen._frame_decoded(frame)
        await on.settle()
        await on.press("left")
        assert "Why do you take this side?" in on.text


async def test_no_side_is_taken_in_a_terminal_that_is_too_small(
    settle: Settle, source: PlainSource, keymap: Keymap
) -> None:
    async with on_settling(settle(), source, keymap) as on:
        await on.pilot.resize_terminal(79, 24)
        await on.settle()
        await on.press("right")
        assert on.is_clear
        assert "79 by 24 is too small" in on.text


async def test_a_long_reason_given_before_leaves_the_line_in_sight(
    settle: Settle, source: PlainSource, keymap: Keymap
) -> None:
    made = settle()
    made.settlement.take(0, "seen " * 400)
    async with on_settling(made, source, keymap) as on:
        await on.press("right")
        await on.press("o", "k")
        assert "Settled already, as R1 found it: seen seen" in on.text
        assert "ok" in on.text
        assert "Esc: leave it" in on.text


async def test_what_was_tagged_otherwise_without_a_reason_is_settled_no_more(
    settle: Settle, source: PlainSource, keymap: Keymap
) -> None:
    made = settle()
    made.settlement.take(0, "clear in the frame that R1 names")
    async with on_settling(made, source, keymap) as on:
        await on.press("enter")
        await on.press("n")
        assert "FAULT at frame" in on.text
        await on.press("ctrl+q")
        await on.press("escape")
        assert on.is_clear
        assert "no reason was given" in on.line("message")
        assert "1 left" in on.line("where")
        await on.press("ctrl+e")
        assert "1 difference is not settled yet." in on.line("message")
