"""Which entries of a run are evidence of it: the bench writes no others, and a file is held to it.

A tag is seen within its run. The display is read once the clock has stopped, and before the next
run begins: until then it shows this run's time (common practice, no source). What lies elsewhere is
left aside, and the record of the run is open until it is put right: either the entry or the run's
bounds are wrong, and nobody can tell which from the file. Nothing is recorded twice.
"""

from collections.abc import Iterator
from typing import Literal

from sessions.evidence.sighting import Sighting
from sessions.record.entries import Look
from sessions.record.session import Mark, Run
from sessions.rules.ladder import Ladder

Misread = Literal["before", "running", "after"]
"""Why a display cannot show a run's time: before the run, while the clock ran, in the next run."""


def marks_within(run: Run) -> tuple[Mark, ...]:
    """The tags of a run that are seen in it; the others are no evidence of it."""
    return tuple(mark for mark in run.marks if run.side_of(mark.by.frame) is None)


def misread(run: Run, stop: Sighting, frame: int) -> Misread | None:
    """Why the display in a frame cannot show the time of a run; ``None`` where it can.

    ``stop`` is the bracket of the clock's stop. Where that is not tagged, all of the run may
    show the time.
    """
    if run.side_of(frame) == "before":
        return "before"
    if stop.after is not None and frame <= stop.after:
        return "running"
    if run.next_begins is not None and frame >= run.next_begins:
        return "after"
    return None


def inadmissible(run: Run, ladder: Ladder, stop: Sighting) -> Iterator[str]:
    """Every entry of a run that is no evidence of it, a clause each, with its frame."""
    for mark in sorted(run.marks, key=lambda mark: (mark.by.frame, _title(mark, ladder))):
        yield from _beside(run, f'the tag "{_title(mark, ladder)}"', mark.by.frame)
    for fault in sorted(run.other_faults, key=lambda fault: (fault.by.frame, fault.rule)):
        yield from _beside(run, f"the fault of the rule {fault.rule}", fault.by.frame)
    for fumble in run.fumbles:
        yield from _beside(run, f"fumble {fumble.fumble}", fumble.at.frame)
    over = sorted(entry.at.frame for entry in run.started_over)
    for frame in sorted(set(over)):
        yield from _beside(run, "the starting over", frame)
        if over.count(frame) > 1:
            yield f"the starting over at frame {frame} is recorded more than once"
    for frame in sorted({reading.at.frame for reading in run.readings}):
        if (why := misread(run, stop, frame)) is not None:
            yield f"the display was read in frame {frame}, {_MISREAD[why]}"


_MISREAD: dict[Misread, str] = {
    "before": "before the run begins",
    "running": "before the clock has stopped",
    "after": "once the next run has begun",
}


def _beside(run: Run, what: str, frame: int) -> Iterator[str]:
    """That something lies beside its run; nothing where it lies in it."""
    side = run.side_of(frame)
    if side is not None:
        yield f"{what} at frame {frame} lies {side} the run"


def _title(mark: Mark, ladder: Ladder) -> str:
    """The title of the checkpoint that a mark tags, or the words of the moment that it sights."""
    place = mark.checkpoint if isinstance(mark, Look) else mark.moment
    checkpoint = ladder.checkpoint(place)
    if checkpoint is not None:
        return checkpoint.title
    moment = ladder.moments.get(place)
    return place if moment is None else moment.words
