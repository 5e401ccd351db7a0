"""Runs on the tape: opening, closing, sorting, readings, fumbles and starting over."""

import re
from typing import Literal

from sessions.entries import (
    ClockSettled,
    Fumble,
    Line,
    Note,
    Reading,
    RunBegun,
    RunEnded,
    StartedOver,
)
from sessions.errors import EntryRefused
from sessions.ladder import Stack, stacks_of
from sessions.session import Run
from tui.review.desk import Desk
from tui.review.within import check_reads_display, check_within, side_of

SORTS: tuple[Literal["attempt"], Literal["warm-up"], Literal["rearranging"]] = (
    "attempt",
    "warm-up",
    "rearranging",
)


def begin_run(desk: Desk) -> str:
    """Open a run at this frame."""
    still_open = [run for run in desk.session.runs if run.ends is None]
    if still_open:
        raise EntryRefused(
            f"Run {still_open[0].id} is still open: close it before opening another."
        )
    around = desk.session.run_at(desk.frame)
    if around is not None:
        raise EntryRefused(f"Frame {desk.frame} lies in run {around.id}: runs cannot overlap.")
    number = max((run.id for run in desk.session.runs), default=0) + 1
    desk.write(RunBegun(run=number, begins=desk.spot(desk.frame)))
    desk.run_id, desk.chosen = number, None
    return f"Run {number} opened at frame {desk.frame}."


def end_run(desk: Desk) -> str:
    """Close the run at this frame."""
    run = desk.needed_run()
    begins = run.begins
    if begins is not None and desk.frame < begins.frame:
        raise EntryRefused(f"Run {run.id} opens at frame {begins.frame}: close it after that.")
    within = [
        other
        for other in desk.session.runs
        if begins is not None
        and other.begins is not None
        and begins.frame < other.begins.frame <= desk.frame
    ]
    if within:
        raise EntryRefused(f"Run {within[0].id} begins before this frame: runs cannot overlap.")
    _check_leaves_no_tag(desk, run)
    earlier = _last(desk, RunEnded)
    desk.write(
        RunEnded(run=run.id, ends=desk.spot(desk.frame)), replaces=earlier.seq if earlier else None
    )
    return f"Run {run.id} closed at frame {desk.frame}."


def _check_leaves_no_tag(desk: Desk, run: Run) -> None:
    """Raises EntryRefused where the run, closed at this frame, would leave a tag of it outside."""
    last = max((mark.by.frame for mark in run.marks), default=0)
    if desk.frame < last:
        raise EntryRefused(
            f"Run {run.id} has a tag at frame {last}: close it there or later, or go there and "
            f"take that tag back first ({desk.key_of('retract')})."
        )


def sort_run(desk: Desk) -> str:
    """Mark the run as the next sort: attempt, warm-up, rearranging."""
    run = desk.needed_run()
    line = _last(desk, RunBegun)
    assert line is not None
    assert isinstance(line.entry, RunBegun)
    sort = SORTS[(SORTS.index(line.entry.sort) + 1) % len(SORTS)]
    desk.write(line.entry.model_copy(update={"sort": sort}), replaces=line.seq)
    return f"Run {run.id} is now: {sort}."


def choose_run(desk: Desk, direction: int) -> str:
    """Work on the next or previous run, and go to its beginning unless this frame is of it."""
    run = desk.needed_run()
    ids = [r.id for r in desk.session.runs]
    desk.run_id = ids[(ids.index(run.id) + direction) % len(ids)]
    desk.chosen = None
    begins = desk.needed_run().begins
    if begins is not None and side_of(desk.needed_run(), desk.frame) is not None:
        desk.go(begins.frame)
    return f"Working on run {desk.run_id}."


def read_display(desk: Desk, text: str) -> str:
    """Write down the display's reading, in seconds; a comma is taken for a point."""
    run = desk.needed_run()
    check_reads_display(desk, desk.frame)
    display = text.strip().replace(",", ".")
    if not re.fullmatch(r"[0-9]{1,4}(\.[0-9]{1,6})?", display):
        raise EntryRefused(f'"{text}" is not a time in seconds such as 6.482; type it again.')
    earlier = _last(desk, Reading)
    desk.write(
        Reading(run=run.id, display=display, at=desk.spot(desk.frame)),
        replaces=earlier.seq if earlier else None,
    )
    return f"Run {run.id} reads {display} s."


def start_over(desk: Desk) -> str:
    """The event was started over here while the clock ran."""
    run = desk.needed_run()
    check_within(desk, desk.frame)
    if any(entry.at.frame == desk.frame for entry in run.started_over):
        raise EntryRefused("That it was started over in this frame is recorded already.")
    desk.write(StartedOver(run=run.id, at=desk.spot(desk.frame)))
    return f"Started over in run {run.id}: the next attempt is spent."


def fumble_stacks(desk: Desk) -> tuple[Stack, ...]:
    """The stacks of the event that can be fumbled."""
    return stacks_of(desk.session.header.event)


def likely_stack(desk: Desk) -> int:
    """Index of the stack that the run is at, by the first let-go that is due."""
    step = desk.step
    ids = [stack.id for stack in fumble_stacks(desk)]
    place = step.id.rsplit(".", 1)[0] if step is not None else ""
    return ids.index(place) if place in ids else 0


def fumble(desk: Desk, stack: Stack, phase: Literal["up", "down"]) -> str:
    """A stack fell or slid here."""
    run = desk.needed_run()
    check_within(desk, desk.frame)
    taken = [int(entry.fumble[1:]) for entry in run.fumbles]
    name = f"x{max(taken, default=0) + 1}"
    spot = desk.spot(desk.frame)
    desk.write(Fumble(run=run.id, fumble=name, stack=stack.id, phase=phase, at=spot))
    return f"Fumble {name} of {stack.words} in the {phase} phase."


def settle_clock(desk: Desk, reason: str) -> str:
    """Settle a contradiction of display and picture."""
    run = desk.needed_run()
    desk.write(ClockSettled(run=run.id, reason=_words(reason)))
    return f"Clock of run {run.id} settled."


def add_note(desk: Desk, text: str) -> str:
    """A remark at this frame."""
    desk.write(Note(run=desk.run_id, text=_words(text), at=desk.spot(desk.frame)))
    return "Noted."


def _words(text: str) -> str:
    words = text.strip()
    if not 0 < len(words) <= 2000:
        raise EntryRefused("Type 1 to 2000 characters.")
    return words


def _last(desk: Desk, kind: type[RunBegun] | type[RunEnded] | type[Reading]) -> Line | None:
    """The last living entry of a kind that the run worked on has."""
    return next(
        (
            line
            for line in reversed(desk.session.live)
            if isinstance(line.entry, kind) and line.entry.run == desk.run_id
        ),
        None,
    )
