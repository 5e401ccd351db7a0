"""Playing on the bench, with a clock that the test holds."""

import pytest

from keymaps.keymap import Keymap
from sessions.entries import Note
from tests.tui.benching import LARGE, make_app, on_bench
from tests.tui.conftest import Clock, PlainSource
from tests.tui.reviewing import frames_seen, living
from tui.app import FramecallApp
from tui.review.desk import Desk


@pytest.fixture
def app(desk: Desk, source: PlainSource, keymap: Keymap, clock: Clock) -> FramecallApp:
    return make_app(desk, source, keymap, clock)


async def test_playing_shows_the_frame_of_the_moment(
    app: FramecallApp, desk: Desk, clock: Clock
) -> None:
    async with on_bench(app, LARGE) as bench:
        await bench.press("space")
        assert "playing 1x" in bench.line("where")
        clock.now += 2
        await bench.until(lambda: desk.frame == 120)
        await bench.press("space")
        clock.now += 2
        await bench.pilot.pause(0.1)
        assert desk.frame == 120
        assert "playing" not in bench.line("where")


async def test_playing_backwards_and_slower(app: FramecallApp, desk: Desk, clock: Clock) -> None:
    desk.go(300)
    async with on_bench(app, LARGE) as bench:
        await bench.press("minus")
        assert bench.message == "Speed 1/2x."
        await bench.press("backspace")
        assert "playing -1/2x" in bench.line("where")
        clock.now += 2
        await bench.until(lambda: desk.frame == 240)
        await bench.press("plus")
        assert bench.message == "Speed -1x."
        clock.now += 1
        await bench.until(lambda: desk.frame == 180)


async def test_playing_stops_by_itself_at_the_end(
    app: FramecallApp, desk: Desk, clock: Clock
) -> None:
    async with on_bench(app, LARGE) as bench:
        await bench.press("space")
        clock.now += 60
        await bench.until(lambda: desk.frame == desk.frames - 1)
        await bench.until(lambda: "playing" not in bench.line("where"))


@pytest.mark.parametrize("key", ["right", "z", "left_parenthesis", "comma"])
async def test_any_other_deed_pauses(app: FramecallApp, desk: Desk, clock: Clock, key: str) -> None:
    desk.go(300)
    async with on_bench(app, LARGE) as bench:
        await bench.press("space", key)
        frame = desk.frame
        clock.now += 2
        await bench.pilot.pause(0.1)
        assert desk.frame == frame
        assert "playing" not in bench.line("where")


async def test_a_note_typed_while_playing_is_of_the_frame_that_its_title_names(
    app: FramecallApp, desk: Desk, clock: Clock
) -> None:
    async with on_bench(app, LARGE) as bench:
        await bench.press("space", "N")
        assert "Note at frame 0" in bench.text
        clock.now += 2
        await bench.pilot.pause(0.1)
        await bench.answer("hm")
    assert living(desk) == [Note(text="hm", at=desk.spot(0))]


async def test_frames_behind_a_page_do_not_count_as_seen(
    app: FramecallApp, desk: Desk, clock: Clock
) -> None:
    async with on_bench(app, LARGE) as bench:
        await bench.press("space", "question_mark")
        clock.now += 2
        await bench.pilot.pause(0.1)
        assert desk.seen.all.ranges == ((0, 0),)


async def test_a_frame_decoded_behind_a_page_counts_once_the_page_is_left(
    app: FramecallApp, desk: Desk, source: PlainSource
) -> None:
    source.absent = {1}
    async with on_bench(app, LARGE) as bench:
        await bench.press("right", "question_mark")
        source.absent = set()
        assert source.on_ready is not None
        source.on_ready(1)
        await bench.settle()
        assert frames_seen(desk) == [0]
        await bench.press("escape")
        assert frames_seen(desk) == [0, 1]


async def test_a_flip_is_marked_until_another_command(app: FramecallApp, desk: Desk) -> None:
    desk.go(10)
    async with on_bench(app, LARGE) as bench:
        await bench.press("z")
        assert "flip with 10" in bench.line("where")
        assert desk.frame == 9
        await bench.press("z")
        assert desk.frame == 10
        assert "flip" not in bench.line("where")
        await bench.press("z", "right", "z")
        assert desk.frame == 9
