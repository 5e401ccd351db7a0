"""Playing by the footage's own time stamps."""

from bisect import bisect_right
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tui.bench.player import FULL_SPEED, SPEEDS, Player


def player(times: list[Fraction]) -> Player:
    """A player over frames that are shown from these times on, in seconds."""
    return Player(
        seconds_of=lambda frame: times[frame],
        frame_at=lambda seconds: max(0, bisect_right(times, seconds) - 1),
        frames=len(times),
    )


@pytest.fixture
def steady() -> Player:
    """600 frames at 30000/1001 frames a second."""
    return player([Fraction(1001 * n, 30000) for n in range(600)])


@given(
    gaps=st.lists(st.integers(1, 50), min_size=3, max_size=60),
    start=st.integers(0, 59),
    speed=st.integers(0, len(SPEEDS) - 1),
    direction=st.sampled_from([1, -1]),
    ticks=st.integers(0, 4096),
)
def test_the_frame_due_is_the_last_one_begun_by_then(
    gaps: list[int], start: int, speed: int, direction: int, ticks: int
) -> None:
    stamps = [sum(gaps[:n]) for n in range(len(gaps))]
    times = [Fraction(stamp, 90) for stamp in stamps]
    start = min(start, len(times) - 1)
    playing = player(times)
    playing.change_speed(speed - FULL_SPEED, start, 0.0)
    playing.toggle(direction, start, 1000.0)
    wanted = times[start] + direction * Fraction(ticks, 1024) * SPEEDS[speed]
    begun = [n for n, time in enumerate(times) if time <= wanted]
    assert playing.frame_due(1000.0 + ticks / 1024) == (begun[-1] if begun else 0)


def test_full_speed_is_real_speed_with_no_drift(steady: Player) -> None:
    steady.toggle(1, 0, 50.0)
    assert steady.frame_due(50.0 + 16) == 479
    assert Fraction(1001 * 479, 30000) <= 16 < Fraction(1001 * 480, 30000)


def test_playing_stops_at_the_last_frame(steady: Player) -> None:
    steady.toggle(1, 590, 0.0)
    assert steady.frame_due(60.0) == 599
    assert not steady.is_playing


def test_playing_backwards_stops_at_the_first_frame(steady: Player) -> None:
    steady.toggle(-1, 30, 0.0)
    assert steady.frame_due(0.5) in range(14, 16)
    assert steady.is_playing
    assert steady.frame_due(60.0) == 0
    assert not steady.is_playing


def test_the_same_key_pauses_and_the_other_one_turns_round(steady: Player) -> None:
    steady.toggle(1, 100, 0.0)
    steady.toggle(-1, 110, 1.0)
    assert steady.direction == -1
    assert steady.frame_due(1.0) == 110
    steady.toggle(-1, 105, 2.0)
    assert not steady.is_playing


def test_a_change_of_speed_goes_on_from_the_frame_it_was_made_at(steady: Player) -> None:
    steady.toggle(1, 0, 0.0)
    steady.change_speed(-2, 30, 1.0)
    assert steady.speed_text == "1/4x"
    assert steady.frame_due(1.0) == 30
    assert steady.frame_due(5.0) in (59, 60)


def test_speeds_end_at_the_slowest_and_the_fastest(steady: Player) -> None:
    steady.change_speed(-99, 0, 0.0)
    assert steady.speed_text == "1/16x"
    steady.change_speed(99, 0, 0.0)
    assert steady.speed_text == "4x"
    steady.toggle(-1, 10, 0.0)
    assert steady.speed_text == "-4x"


def test_a_pause_holds_the_speed(steady: Player) -> None:
    steady.change_speed(1, 0, 0.0)
    steady.toggle(1, 0, 0.0)
    steady.pause()
    assert not steady.is_playing
    assert steady.speed_text == "2x"
