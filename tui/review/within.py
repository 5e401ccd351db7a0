"""Whether a frame lies in the run worked on: what is tagged of a run is seen in that run."""

from typing import Literal

from sessions.errors import EntryRefused
from sessions.session import Run
from tui.review.desk import Desk

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


def outside_text(desk: Desk) -> str:
    """Where the frame on the screen lies, if that is outside the run worked on; else empty."""
    run = desk.run
    side = None if run is None else side_of(run, desk.frame)
    return "" if run is None or side is None else f"{side.upper()} run {run.id}"


def check_within(desk: Desk, frame: int) -> None:
    """Raises EntryRefused where a frame lies outside the run worked on, with where to go."""
    run = desk.needed_run()
    side = side_of(run, frame)
    if side is None:
        return
    place = f"Frame {frame} lies {side} run {run.id} (frames {frames_text(run)})"
    go = f"go to a frame of run {run.id} ({desk.key_of('go_to')})"
    if len(desk.session.runs) == 1:
        raise EntryRefused(f"{place}: {go}.")
    keys = f"{desk.key_of('run.previous')} or {desk.key_of('run.next')}"
    other = desk.session.run_at(frame)
    meant = "another run" if other is None else f"run {other.id}, in which it lies,"
    raise EntryRefused(f"{place}: {go}, or choose {meant} with {keys}.")
