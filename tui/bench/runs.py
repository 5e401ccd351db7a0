"""Runs on the tape: opening, closing, sorting, readings, fumbles and starting over."""

import re
from typing import Literal

from sessions.errors import EntryRefused
from sessions.record.entries import (
    Fumble,
    Line,
    Note,
    Reading,
    ReadingAccepted,
    RunBegun,
    RunEnded,
    StartedOver,
)
from sessions.record.session import Run
from sessions.rules.ladder import Stack, stacks_of
from tui.bench.review import Review
from tui.bench.run_bounds import check_reads_display, check_within

SORTS: tuple[Literal["attempt"], Literal["warm-up"], Literal["rearranging"]] = (
    "attempt",
    "warm-up",
    "rearranging",
)


def begin_run(review: Review) -> str:
    """Begin a run at this frame."""
    still_open = [run for run in review.session.runs if run.ends is None]
    if still_open:
        raise EntryRefused(
            f"Run {still_open[0].id} is still open: close it before opening another."
        )
    around = review.session.run_at(review.frame)
    if around is not None:
        raise EntryRefused(f"Frame {review.frame} lies in run {around.id}: runs cannot overlap.")
    number = max((run.id for run in review.session.runs), default=0) + 1
    review.write(RunBegun(run=number, begins=review.spot(review.frame)))
    review.run_id, review.chosen = number, None
    return f"Run {number} opened at frame {review.frame}."


def end_run(review: Review) -> str:
    """End the run at this frame."""
    run = review.needed_run()
    begins = run.begins
    if begins is not None and review.frame < begins.frame:
        raise EntryRefused(f"Run {run.id} opens at frame {begins.frame}: close it after that.")
    within = [
        other
        for other in review.session.runs
        if begins is not None
        and other.begins is not None
        and begins.frame < other.begins.frame <= review.frame
    ]
    if within:
        raise EntryRefused(f"Run {within[0].id} begins before this frame: runs cannot overlap.")
    _check_leaves_no_tag(review, run)
    earlier = _last(review, RunEnded)
    review.write(
        RunEnded(run=run.id, ends=review.spot(review.frame)),
        replaces=earlier.seq if earlier else None,
    )
    return f"Run {run.id} closed at frame {review.frame}."


def _check_leaves_no_tag(review: Review, run: Run) -> None:
    """Raises EntryRefused where the run, closed at this frame, would leave a tag of it outside."""
    last = max((mark.by.frame for mark in run.marks), default=0)
    if review.frame < last:
        raise EntryRefused(
            f"Run {run.id} has a tag at frame {last}: close it there or later, or go there and "
            f"take that tag back first ({review.key_of('retract')})."
        )


def sort_run(review: Review) -> str:
    """Mark the run as the next sort: attempt, warm-up, rearranging."""
    run = review.needed_run()
    line = _last(review, RunBegun)
    assert line is not None
    assert isinstance(line.entry, RunBegun)
    sort = SORTS[(SORTS.index(line.entry.sort) + 1) % len(SORTS)]
    review.write(line.entry.model_copy(update={"sort": sort}), replaces=line.seq)
    return f"Run {run.id} is now: {sort}."


def choose_run(review: Review, direction: int) -> str:
    """Work on the next or previous run, and go to its beginning unless this frame is of it."""
    run = review.needed_run()
    ids = [r.id for r in review.session.runs]
    review.run_id = ids[(ids.index(run.id) + direction) % len(ids)]
    review.chosen = None
    begins = review.needed_run().begins
    if begins is not None and review.needed_run().side_of(review.frame) is not None:
        review.go(begins.frame)
    return f"Working on run {review.run_id}."


def read_display(review: Review, text: str) -> str:
    """Write down the display's reading, in seconds; a comma is taken for a point."""
    run = review.needed_run()
    check_reads_display(review, review.frame)
    display = text.strip().replace(",", ".")
    if not re.fullmatch(r"[0-9]{1,4}(\.[0-9]{1,6})?", display):
        raise EntryRefused(f'"{text}" is not a time in seconds such as 6.482; type it again.')
    earlier = _last(review, Reading)
    review.write(
        Reading(run=run.id, display=display, at=review.spot(review.frame)),
        replaces=earlier.seq if earlier else None,
    )
    return f"Run {run.id} reads {display} s."


def start_over(review: Review) -> str:
    """The event was started over here while the clock ran."""
    run = review.needed_run()
    check_within(review, review.frame)
    if any(entry.at.frame == review.frame for entry in run.started_over):
        raise EntryRefused("That it was started over in this frame is recorded already.")
    review.write(StartedOver(run=run.id, at=review.spot(review.frame)))
    return f"Started over in run {run.id}: the next attempt is spent."


def fumble_stacks(review: Review) -> tuple[Stack, ...]:
    """The stacks of the event that can be fumbled."""
    return stacks_of(review.session.header.event)


def likely_stack(review: Review) -> int:
    """Index of the stack that the run is at, by the first let-go that is due."""
    checkpoint = review.checkpoint
    ids = [stack.id for stack in fumble_stacks(review)]
    place = checkpoint.id.rsplit(".", 1)[0] if checkpoint is not None else ""
    return ids.index(place) if place in ids else 0


def fumble(review: Review, stack: Stack, phase: Literal["up", "down"]) -> str:
    """A stack fell or slid here."""
    run = review.needed_run()
    check_within(review, review.frame)
    taken = [int(entry.fumble[1:]) for entry in run.fumbles]
    name = f"x{max(taken, default=0) + 1}"
    spot = review.spot(review.frame)
    review.write(Fumble(run=run.id, fumble=name, stack=stack.id, phase=phase, at=spot))
    return f"Fumble {name} of {stack.words} in the {phase} phase."


def accept_reading(review: Review, reason: str) -> str:
    """Settle a contradiction of display and picture."""
    run = review.needed_run()
    review.write(ReadingAccepted(run=run.id, reason=_words(reason)))
    return f"Clock of run {run.id} settled."


def add_note(review: Review, text: str) -> str:
    """A remark at this frame."""
    review.write(Note(run=review.run_id, text=_words(text), at=review.spot(review.frame)))
    return "Noted."


def _words(text: str) -> str:
    words = text.strip()
    if not 0 < len(words) <= 2000:
        raise EntryRefused("Type 1 to 2000 characters.")
    return words


def _last(review: Review, kind: type[RunBegun] | type[RunEnded] | type[Reading]) -> Line | None:
    """The last living entry of a kind that the run worked on has."""
    return next(
        (
            line
            for line in reversed(review.session.live)
            if isinstance(line.entry, kind) and line.entry.run == review.run_id
        ),
        None,
    )
