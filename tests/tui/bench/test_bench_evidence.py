"""Clock against picture, cups and coverage on the bench."""

from keymaps.keymap import Keymap
from tests.tui.benching import LARGE, SMALL, make_app, on_bench
from tests.tui.conftest import PlainSource
from tests.tui.reviewing import do, run_in_order
from tui.bench.review import Review
from tui.bench.runs import read_display
from tui.widgets.panels import GREEN, RED


def colours(bench: object, panel: str, words: str) -> set[str]:
    """The colours in which a panel shows a line that holds some words."""
    widget = bench.screen.query_one(f"#{panel}")  # type: ignore[attr-defined]
    lines = [widget.render_line(y) for y in range(widget.size.height)]
    (line,) = [line for line in lines if words in line.text]
    return {
        segment.style.color.name
        for segment in line
        if segment.style and segment.style.color and segment.text.strip()
    }


async def test_reading_and_picture_show_together_and_agree(
    review: Review, source: PlainSource, keymap: Keymap
) -> None:
    reading = run_in_order(review, 0)
    async with on_bench(make_app(review, source, keymap), SMALL) as bench:
        await bench.press("right")
        assert f"✓ {reading} fits " in bench.text
        assert colours(bench, "runs", f"{reading} fits") == {GREEN}


async def test_a_contradiction_shows_in_the_colour_of_a_fault(
    review: Review, source: PlainSource, keymap: Keymap
) -> None:
    run_in_order(review, 0)
    read_display(review, "9.999")
    for size in (SMALL, LARGE):
        async with on_bench(make_app(review, source, keymap), size) as bench:
            await bench.press("right")
            assert "✗ 9.999 against " in bench.text
            assert colours(bench, "runs", "9.999 against") == {RED}
            assert bench.line("ruling").startswith("CLOCK: the display's 9.999 s CONTRADICTS")
            assert RED in colours(bench, "ruling", "CLOCK")


async def test_the_picture_is_told_before_the_display_is_read(
    review: Review, source: PlainSource, keymap: Keymap
) -> None:
    do(review, "run.begin", at=0)
    do(review, "in_order.hands_off", at=20)
    do(review, "in_order.hands_on", at=80)
    async with on_bench(make_app(review, source, keymap), LARGE) as bench:
        assert "· picture 0.983-1.017" in bench.text
        assert "by the picture 0.983-1.017 s, no reading yet" in bench.line("ruling")


async def test_cups_tell_their_evidence_and_what_is_left(
    review: Review, source: PlainSource, keymap: Keymap
) -> None:
    async with on_bench(make_app(review, source, keymap), SMALL) as bench:
        assert "cup 1 not seen, left 1-12" in bench.text
        await bench.press("2")
        assert "cup 1 never appeared, left" in bench.text
        await bench.press("right", "1", "4", "right")
        assert "cup 1 at 1, left 2-12" in bench.text
        await bench.press("9")
        assert review.frame == 1
        assert bench.message == "Cup 1: its mark was seen at frame 1."


async def test_the_ruling_page_tells_what_was_not_seen(
    review: Review, source: PlainSource, keymap: Keymap
) -> None:
    async with on_bench(make_app(review, source, keymap), LARGE) as bench:
        await bench.press("end")
        await bench.do("ruling")
        await bench.press("end")
        assert "598 of 600 frames were never shown (frames 1-598)." in bench.text
