"""Frames shown but not yet written down."""

from hypothesis import given
from hypothesis import strategies as st

from sessions.evidence.frames import FrameSet
from sessions.record.entries import Shown
from sessions.record.recording import read_session
from tests.tui.reviewing import do
from tui.bench.review import Review, SeenFrames


def members(frames: FrameSet) -> set[int]:
    return {frame for first, last in frames.ranges for frame in range(first, last + 1)}


@given(known=st.sets(st.integers(0, 40)), shown=st.lists(st.integers(0, 40)))
def test_all_that_was_shown_is_kept_and_only_what_is_new_waits(
    known: set[int], shown: list[int]
) -> None:
    seen = SeenFrames(FrameSet.of((f, f) for f in known))
    for frame in shown:
        seen.show(frame)
    waiting = set(shown) - known
    assert members(seen.all) == known | set(shown)
    assert seen.fresh == len(waiting)
    assert members(FrameSet(seen.ranges())) == waiting
    seen.written(seen.all)
    assert (seen.fresh, seen.ranges()) == (0, ())
    assert members(seen.all) == known | set(shown)


def test_frames_shown_are_on_the_disk_before_the_tag_that_rests_on_them(review: Review) -> None:
    for frame in (3, 4, 5, 9):
        review.seen.show(frame)
    do(review, "run.begin", at=5)
    lines = read_session(review.journal.path).lines
    assert lines[0].entry == Shown(
        ranges=((3, 5), (9, 9)), stamps=((review.stamp(3), review.stamp(5)), (review.stamp(9),) * 2)
    )
    assert [line.entry.kind for line in lines] == ["shown", "run-begun"]


def test_a_frame_shown_again_is_not_written_again(review: Review) -> None:
    review.seen.show(3)
    review.flush_seen()
    size = review.journal.path.stat().st_size
    review.seen.show(3)
    review.flush_seen()
    assert review.journal.path.stat().st_size == size


def test_frames_written_count_in_the_session_at_once(review: Review) -> None:
    review.seen.show(3)
    assert len(review.session.shown) == 0
    review.flush_seen()
    assert review.session.shown.ranges == ((3, 3),)
    assert review.ruling.frames_seen == 1
