"""Whether a frame lies where it must: in the run that is tagged, or after its clock stopped."""

from typing import Literal

from sessions.errors import EntryRefused
from sessions.record.session import Run
from tui.bench.review import Review

Where = Literal["before", "after"]


def side_of(run: Run, frame: int) -> Where | None:
    """On which side of a run a frame lies; ``None`` in it. A run that is open has no end."""
    if run.begins is not None and frame < run.begins.frame:
        return "before"
    if run.ends is not None and frame > run.ends.frame:
        return "after"
    return None


def frames_text(run: Run) -> str:
    """The frames of a run, ``738-974``; ``from 738 on`` while it is open."""
    begins = 0 if run.begins is None else run.begins.frame
    return f"from {begins} on" if run.ends is None else f"{begins}-{run.ends.frame}"


def outside_text(review: Review) -> str:
    """Where the frame on the screen lies, if that is outside the run worked on; else empty."""
    run = review.run
    side = None if run is None else side_of(run, review.frame)
    return "" if run is None or side is None else f"{side.upper()} run {run.id}"


def check_within(review: Review, frame: int) -> None:
    """Raises EntryRefused where a frame lies outside the run worked on, with where to go."""
    run = review.needed_run()
    side = side_of(run, frame)
    if side is not None:
        raise EntryRefused(_outside(review, frame, side))


def check_reads_display(review: Review, frame: int) -> None:
    """Raises EntryRefused where a display cannot show the time of the run worked on.

    The time stands on it once the clock has stopped, and no longer than until the next run: common
    practice, no source. Where the stop is not tagged, all of the run may show it.
    """
    run = review.needed_run()
    if side_of(run, frame) == "before":
        raise EntryRefused(_outside(review, frame, "before"))
    running = review.checked(run).brackets["stop"].after
    if running is not None and frame <= running:
        raise EntryRefused(
            f"In frame {frame} the clock of run {run.id} has not stopped yet: read the display in "
            f"frame {running + 1} or later ({review.key_of('go_to')})."
        )
    began = [other.begins.frame for other in review.session.runs if other.begins is not None]
    if run.begins is not None and any(run.begins.frame < first <= frame for first in began):
        raise EntryRefused(_outside(review, frame, "after"))


def _outside(review: Review, frame: int, side: Where) -> str:
    """That a frame lies beside the run worked on, and where to go or what to choose instead."""
    run = review.needed_run()
    place = f"Frame {frame} lies {side} run {run.id} (frames {frames_text(run)})"
    go = f"go to a frame of run {run.id} ({review.key_of('go_to')})"
    if len(review.session.runs) == 1:
        return f"{place}: {go}."
    keys = f"{review.key_of('run.previous')} or {review.key_of('run.next')}"
    other = review.session.run_at(frame)
    meant = "another run" if other is None else f"run {other.id}, in which it lies,"
    return f"{place}: {go}, or choose {meant} with {keys}."
