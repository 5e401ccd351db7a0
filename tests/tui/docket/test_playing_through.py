"""What was played without a pause at full speed is written down; the test holds the clock."""

from fractions import Fraction

import pytest

from keymaps.keymap import Keymap
from sessions.record.entries import Played
from tests.tui.benching import LARGE, make_app, on_bench
from tests.tui.conftest import FRAMES, RATE, Clock, PlainSource, frame_at
from tests.tui.reviewing import written
from tui.app import FramecallApp
from tui.bench.player import Player, Stretch
from tui.bench.review import Review, write_played


@pytest.fixture
def app(review: Review, source: PlainSource, keymap: Keymap, clock: Clock) -> FramecallApp:
    return make_app(review, source, keymap, clock)


@pytest.fixture
def player() -> Player:
    return Player(lambda frame: Fraction(frame, RATE), frame_at, FRAMES)


def test_a_stretch_ends_at_a_pause_a_change_of_speed_or_direction_and_the_end(
    player: Player,
) -> None:
    player.toggle(1, 10, 0.0)
    assert player.frame_due(1.0) == 70
    player.change_speed(1, 70, 1.0)
    assert player.frame_due(2.0) == 190
    player.toggle(-1, 190, 2.0)
    assert player.frame_due(3.0) == 70
    player.pause()
    player.pause()
    player.change_speed(-1, 70, 3.0)
    player.toggle(1, 500, 4.0)
    assert player.frame_due(9.0) == FRAMES - 1
    assert player.played == [
        Stretch(10, 70, Fraction(1)),
        Stretch(70, 190, Fraction(2)),
        Stretch(70, 190, Fraction(-2)),
        Stretch(500, FRAMES - 1, Fraction(1)),
    ]


def test_each_picture_that_was_drawn_counts_once_in_its_stretch(player: Player) -> None:
    player.drew(9)  # before it plays
    player.toggle(1, 10, 0.0)
    for clock, frame in ((0.0, 10), (0.5, 40), (0.5, 40), (1.0, 70)):
        assert player.frame_due(clock) == frame
        player.drew(frame)
    assert player.pace_text(0.9) == "1x"
    assert player.pace_text(1.5) == "1x, 2 pictures/s"
    player.change_speed(1, 70, 1.0)
    player.drew(80)
    player.frame_due(2.0)
    player.pause()
    player.drew(81)
    assert [stretch.drawn for stretch in player.played] == [3, 1]


async def test_what_the_line_had_no_room_for_is_not_counted_as_drawn(
    app: FramecallApp, review: Review, clock: Clock, source: PlainSource
) -> None:
    source.absent = set(range(21, 50)) | set(range(61, FRAMES))
    async with on_bench(app, LARGE) as bench:
        await bench.press("space")
        for frame in (20, 40, 60, 80, 120):
            clock.now = 100.001 + frame / RATE
            await bench.until(lambda: review.frame == frame)  # noqa: B023
            await bench.settle()
        assert "playing 1x, 1 pictures/s" in bench.line("where")
        await bench.press("space")
        bench.screen.flush()
    assert written(review) == [Played(first=0, last=120, speed="1", drawn=3)]


def test_only_a_second_or_more_forward_at_full_speed_is_written_down(
    review: Review, player: Player
) -> None:
    player.played = [
        Stretch(0, 60, Fraction(1), 44),
        Stretch(0, 59, Fraction(1)),
        Stretch(0, 300, Fraction(1, 2)),
        Stretch(0, 300, Fraction(-1)),
    ]
    write_played(player, review)
    assert written(review) == [Played(first=0, last=60, speed="1", drawn=44)]
    assert player.played == []


async def test_playing_on_the_bench_is_written_down(
    app: FramecallApp, review: Review, clock: Clock
) -> None:
    async with on_bench(app, LARGE) as bench:
        await bench.press("space")
        clock.now += 2
        await bench.until(lambda: review.frame == 120)
        await bench.press("space")
        bench.screen.flush()
        assert written(review) == [Played(first=0, last=120, speed="1", drawn=2)]


async def test_what_plays_as_the_bench_is_left_is_written_down(
    app: FramecallApp, review: Review, clock: Clock
) -> None:
    async with on_bench(app, LARGE) as bench:
        await bench.press("space")
        clock.now += 3
        await bench.until(lambda: review.frame == 180)
        bench.hold("ctrl+q", 1)
        await bench.until(lambda: app._exit)
    assert written(review) == [Played(first=0, last=180, speed="1", drawn=2)]


async def test_the_question_of_finishing_counts_what_was_just_played(
    app: FramecallApp, review: Review, clock: Clock
) -> None:
    async with on_bench(app, LARGE) as bench:
        await bench.press("space")
        clock.now += 2
        await bench.until(lambda: review.frame == 120)
        await bench.do("finish")
        assert "Finish this review?" in bench.text
    assert written(review) == [Played(first=0, last=120, speed="1", drawn=2)]
