"""A reviewer's moves on a review, in the words of the tests."""

from sessions.record.entries import Entry, Look, Shown, Sighted
from sessions.record.recording import read_session
from sessions.ruling.ruling import Standing
from tests.tui.conftest import RATE
from tui.bench.commands import REVIEW_HANDLERS
from tui.bench.review import Review
from tui.bench.runs import read_display

STRIDE = 12
"""Frames from one step of a run without a fault to the next."""


def do(review: Review, command: str, at: int | None = None) -> str | None:
    """Do a command of the review, at a frame where one is given."""
    if at is not None:
        review.go(at)
    return REVIEW_HANDLERS[command](review)


def kept_until_complete(review: Review, first: int) -> None:
    """Every step that is due found in order, each a stride after the one before."""
    frame = first
    while review.checkpoint is not None:
        do(review, "due.in_order", at=frame)
        frame += STRIDE


def watch(review: Review, first: int = 0, last: int | None = None) -> None:
    """Have every frame of a stretch shown; of all the footage where none is given."""
    for frame in range(first, review.frames if last is None else last + 1):
        review.seen.show(frame)
    review.flush_seen()


def run_in_order(review: Review, first: int) -> str:
    """Open a run, find all in order, close it, read the display that fits; the reading."""
    do(review, "run.begin", at=first)
    kept_until_complete(review, first + STRIDE)
    sighted = review.checked(review.needed_run()).brackets
    start, stop = sighted["start"].by, sighted["stop"].by
    assert start is not None
    assert stop is not None
    do(review, "run.end", at=stop + 3 * STRIDE)
    reading = f"{(stop - start) / RATE:.3f}"
    read_display(review, reading)
    return reading


def written(review: Review) -> list[Entry]:
    """What a person said, as the session file on the disk has it, in order."""
    lines = read_session(review.journal.path).lines
    return [line.entry for line in lines if not isinstance(line.entry, Shown)]


def living(review: Review) -> list[Entry]:
    """What a person said and still holds."""
    return [line.entry for line in review.session.live if not isinstance(line.entry, Shown)]


def standing(review: Review, run: int = 1) -> Standing:
    """How a run stands now."""
    return next(ruled.standing for ruled in review.ruling.runs if ruled.run == run)


def only(review: Review, kind: type[Look] | type[Sighted]) -> Look | Sighted:
    """The one living tag of a kind."""
    (found,) = [entry for entry in living(review) if isinstance(entry, kind)]
    assert isinstance(found, kind)
    return found


def frames_seen(review: Review) -> list[int]:
    """The frames that count as seen, written down or not."""
    return [frame for frame in range(review.frames) if frame in review.seen.all]
