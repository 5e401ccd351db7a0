"""Sets of frames against Python's sets."""

from itertools import pairwise

from hypothesis import given
from hypothesis import strategies as st

from sessions.evidence.frames import FrameSet

RANGES = st.lists(
    st.tuples(st.integers(0, 25), st.integers(0, 6)).map(lambda t: (t[0], t[0] + t[1])),
    max_size=8,
)


def sanitize(ranges: list[tuple[int, int]]) -> set[int]:
    return {frame for first, last in ranges for frame in range(first, last + 1)}


@given(RANGES)
def test_a_frame_set_is_the_union_of_its_ranges(ranges: list[tuple[int, int]]) -> None:
    frames, truth = FrameSet.of(ranges), sanitize(ranges)
    assert {frame for frame in range(40) if frame in frames} == truth
    assert len(frames) == len(truth)
    assert frames == FrameSet.of(reversed(ranges))


@given(RANGES)
def test_its_ranges_are_sorted_and_neither_touch_nor_overlap(
    ranges: list[tuple[int, int]],
) -> None:
    kept = FrameSet.of(ranges).ranges
    assert all(first <= last for first, last in kept)
    assert all(a[1] + 1 < b[0] for a, b in pairwise(kept))


@given(RANGES, st.integers(0, 40))
def test_what_is_missing_is_the_rest_of_the_footage(
    ranges: list[tuple[int, int]], frames: int
) -> None:
    missing = FrameSet.of(ranges).missing(frames)
    assert sanitize(list(missing.ranges)) == set(range(frames)) - sanitize(ranges)
    assert missing == FrameSet.of(missing.ranges)


@given(RANGES, st.integers(0, 40))
def test_the_next_frame_is_the_least_at_or_after(ranges: list[tuple[int, int]], frame: int) -> None:
    later = [f for f in sanitize(ranges) if f >= frame]
    assert FrameSet.of(ranges).next_from(frame) == min(later, default=None)
