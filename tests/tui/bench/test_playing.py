"""Playing on the bench, with a clock that the test holds."""

import pytest

from keymaps.keymap import Keymap
from sessions.record.entries import Note
from tests.tui.benching import LARGE, make_app, on_bench
from tests.tui.conftest import Clock, PlainSource
from tests.tui.reviewing import frames_seen, living
from tui.app import FramecallApp
from tui.bench.review import Review


@pytest.fixture
def app(review: Review, source: PlainSource, keymap: Keymap, clock: Clock) -> FramecallApp:
    return make_app(review, source, keymap, clock)


async def test_playing_shows_the_frame_of_the_moment(
    app: FramecallApp, review: Review, clock: Clock
) -> None:
    async with on_bench(app, LARGE) as bench:
        await bench.press("space")
        assert "playing 1x" in bench.line("where")
        clock.now += 2
        await bench.until(lambda: review.frame == 120)
        await bench.press("space")
        clock.now += 2
        await bench.pilot.pause(0.1)
        assert review.frame == 120
        assert "playing" not in bench.line("where")


async def test_playing_backwards_and_slower(
    app: FramecallApp, review: Review, clock: Clock
) -> None:
    review.go(300)
    async with on_bench(app, LARGE) as bench:
        await bench.press("minus")
        assert bench.message == "Speed 1/2x."
        await bench.press("backspace")
        assert "playing -1/2x" in bench.line("where")
        clock.now += 2
        await bench.until(lambda: review.frame == 240)
        await bench.press("plus")
        assert bench.message == "Speed -1x."
        clock.now += 1
        await bench.until(lambda: review.frame == 180)


async def test_playing_stops_by_itself_at_the_end(
    app: FramecallApp, review: Review, clock: Clock
) -> None:
    async with on_bench(app, LARGE) as bench:
        await bench.press("space")
        clock.now += 60
        await bench.until(lambda: review.frame == review.frames - 1)
        await bench.until(lambda: "playing" not in bench.line("where"))


@pytest.mark.parametrize("key", ["right", "z", "left_parenthesis", "comma"])
async def test_any_other_deed_pauses(
    app: FramecallApp, review: Review, clock: Clock, key: str
) -> None:
    review.go(300)
    async with on_bench(app, LARGE) as bench:
        await bench.press("space", key)
        frame = review.frame
        clock.now += 2
        await bench.pilot.pause(0.1)
        assert review.frame == frame
        assert "playing" not in bench.line("where")


async def test_a_note_typed_while_playing_is_of_the_frame_that_its_title_names(
    app: FramecallApp, review: Review, clock: Clock
) -> None:
    async with on_bench(app, LARGE) as bench:
        await bench.press("space", "N")
        assert "Note at frame 0" in bench.text
        clock.now += 2
        await bench.pilot.pause(0.1)
        await bench.answer("hm")
    assert living(review) == [Note(text="hm", at=review.spot(0))]


async def test_frames_behind_a_page_do_not_count_as_seen(
    app: FramecallApp, review: Review, clock: Clock
) -> None:
    async with on_bench(app, LARGE) as bench:
        await bench.press("space", "question_mark")
        clock.now += 2
        await bench.pilot.pause(0.1)
        assert review.seen.all.ranges == ((0, 0),)


async def test_a_frame_decoded_behind_a_page_counts_once_the_page_is_left(
    app: FramecallApp, review: Review, source: PlainSource
) -> None:
    source.absent = {1}
    async with on_bench(app, LARGE) as bench:
        await bench.press("right", "question_mark")
        source.absent = set()
        assert source.on_ready is not None
        source.on_ready(1)
        await bench.settle()
        assert frames_seen(review) == [0]
        await bench.press("escape")
        assert frames_seen(review) == [0, 1]


async def test_a_flip_is_marked_until_another_command(app: FramecallApp, review: Review) -> None:
    review.go(10)
    async with on_bench(app, LARGE) as bench:
        await bench.press("z")
        assert "flip with 10" in bench.line("where")
        assert review.frame == 9
        await bench.press("z")
        assert review.frame == 10
        assert "flip" not in bench.line("where")
        await bench.press("z", "right", "z")
        assert review.frame == 9
