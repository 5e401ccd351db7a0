"""What footage counts as watched, by the time stamps of what was shown."""

from fractions import Fraction

import pytest

from sessions.evidence.frames import FrameSet
from sessions.record.entries import Shown
from sessions.record.header import FootageFacts
from sessions.ruling.whole_footage import (
    is_watched_before,
    never_shown,
    too_long,
    unwatched,
    unwatched_words,
)
from tests.sessions.samples import footage, header, session_of, spot

QUARTER = Fraction(1, 4)


def left(unseen: tuple[tuple[int, int], ...], facts: FootageFacts) -> tuple[tuple[int, int], ...]:
    return too_long(FrameSet(unseen), facts, QUARTER, lambda frame: None).ranges


@pytest.mark.parametrize(
    ("rate", "frames", "is_left"),
    [
        ("60", 14, False),
        ("60", 15, True),
        ("24", 5, False),
        ("24", 6, True),
        ("4", 0, False),
        ("30000/1001", 6, False),
        ("30000/1001", 7, True),
    ],
)
def test_a_stretch_lasts_from_the_frame_shown_before_it_to_the_one_after(
    rate: str, frames: int, is_left: bool
) -> None:
    """At 60 frames a second 14 left out are 15 intervals: a quarter of a second, and no longer."""
    facts = footage(1000).model_copy(update={"nominal_rate": rate})
    unseen = ((100, 99 + frames),) if frames else ()
    assert bool(left(unseen, facts)) is is_left


def test_at_both_ends_of_the_footage_it_is_from_the_first_frame_and_to_the_last() -> None:
    facts = footage(1000).model_copy(update={"nominal_rate": "60"})
    assert left(((0, 14), (985, 999)), facts) == ()
    assert left(((0, 15), (984, 999)), facts) == ((0, 15), (984, 999))


def test_without_a_steady_rate_the_stamps_tell_and_without_those_all_is_too_long() -> None:
    facts = footage(100).model_copy(update={"nominal_rate": None})
    assert left(((50, 50),), facts) == ((50, 50),)
    stamps = {49: 0, 51: 7500, 60: 0, 62: 7501}
    found = too_long(FrameSet(((50, 50), (61, 61))), facts, QUARTER, stamps.get)
    assert found.ranges == ((61, 61),)


def test_a_session_tells_the_stamps_of_what_was_shown() -> None:
    head = header("3-3-3", 1000)
    facts = head.footage.model_copy(update={"nominal_rate": None, "last_pts": spot(999).pts})
    head = head.model_copy(update={"footage": facts})
    ranges = ((3, 99), (106, 500), (510, 990))
    stamps = tuple((spot(a).pts, spot(b).pts) for a, b in ranges)
    session = session_of(head, [Shown(ranges=ranges, stamps=stamps)])
    assert unwatched(session).ranges == ((501, 509), (991, 999))


def test_a_frame_comes_after_all_that_was_watched_unless_a_stretch_is_left_before_it() -> None:
    stretches = FrameSet(((50, 70),))
    assert is_watched_before(stretches, 50)
    assert not is_watched_before(stretches, 51)
    assert is_watched_before(FrameSet(), 51)


def test_across_a_joint_of_two_recordings_any_stretch_is_too_long() -> None:
    """Nobody knows how much time went by there."""
    joined = footage(200).model_copy(update={"nominal_rate": "60", "joints": (100,)})
    assert left(((100, 100), (150, 150)), joined) == ((100, 100),)
    assert left(((99, 99),), joined) == ((99, 99),)
    assert left(((98, 98), (101, 101)), joined) == ()


def test_of_several_stretches_left_the_first_tells() -> None:
    left = FrameSet.of([(10, 20), (50, 60)])
    assert [is_watched_before(left, frame) for frame in (10, 11, 30, 50, 70)] == [
        True, False, False, False, False,
    ]  # fmt: skip


def test_what_is_left_is_counted_and_named() -> None:
    assert unwatched_words(FrameSet(((5, 5), (7, 9))), 10) == (
        "4 of 10 frames were never watched (frames 5, 7-9)"
    )
    assert never_shown(FrameSet(((5, 5),)), 10) == "1 of 10 frames was never shown (frame 5)"
    assert unwatched_words(FrameSet(), 10) == ""
