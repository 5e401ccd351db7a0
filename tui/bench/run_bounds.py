"""Whether a frame lies where it must: in the run that is tagged, or after its clock stopped."""

from sessions.errors import EntryRefused
from sessions.record.session import Run, Where
from sessions.ruling.admissible import misread
from tui.bench.review import Review


def frames_text(run: Run) -> str:
    """The frames of a run, ``738-974``; ``from 738 on`` while it is open."""
    begins = 0 if run.begins is None else run.begins.frame
    return f"from {begins} on" if run.ends is None else f"{begins}-{run.ends.frame}"


def outside_text(review: Review) -> str:
    """Where the frame on the screen lies, if that is outside the run worked on; else empty."""
    run = review.run
    side = None if run is None else run.side_of(review.frame)
    return "" if run is None or side is None else f"{side.upper()} run {run.id}"


def check_within(review: Review, frame: int) -> None:
    """Raises EntryRefused where a frame lies outside the run worked on, with where to go."""
    run = review.needed_run()
    side = run.side_of(frame)
    if side is not None:
        raise EntryRefused(_outside(review, frame, side))


def check_reads_display(review: Review, frame: int) -> None:
    """Raises EntryRefused where a display cannot show the time of the run worked on: see
    ``sessions.ruling.admissible``."""
    run = review.needed_run()
    stop = review.checked(run).brackets["stop"]
    why = misread(run, stop, frame)
    if why == "running":
        raise EntryRefused(
            f"In frame {frame} the clock of run {run.id} has not stopped yet: read the display in "
            f"frame {(stop.after or 0) + 1} or later ({review.key_of('go_to')})."
        )
    if why is not None:
        raise EntryRefused(_outside(review, frame, why))


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
