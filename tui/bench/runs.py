"""Runs on the tape: opening, closing, sorting, readings, fumbles and starting over."""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from sessions.errors import EntryRefused
from sessions.plural import plural
from sessions.record.entries import (
    AttemptsBefore,
    CaptureRate,
    Entry,
    Fumble,
    Line,
    Note,
    NotShown,
    NotShownWhat,
    OtherFault,
    Reading,
    ReadingAccepted,
    RunBegun,
    RunEnded,
    StartedOver,
)
from sessions.record.session import Run
from sessions.rules.ladder import Stack, stacks_of
from sessions.rules.rulebook import OTHER, Rule, rules
from sessions.ruling.brackets import Outcome
from sessions.ruling.judge import NOT_SHOWN
from sessions.ruling.whole_footage import check_cups
from sessions.settling.opinions import INSTANTS
from tui.bench.review import Review
from tui.bench.tagging import (
    before_this,
    check_reads_display,
    check_within,
)

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
    return f"Run {number} begun at frame {review.frame}."


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
    return f"Run {run.id} ended at frame {review.frame}."


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


def check_contradicted(review: Review) -> str:
    """The reading of the run worked on, which the picture contradicts; else raises EntryRefused."""
    run = review.needed_run()
    clock = review.checked(run).finding("clock")
    if run.display is None or clock is None or clock.outcome is not Outcome.REFUTED:
        raise EntryRefused(
            f"Run {run.id} has no reading that the picture contradicts: there is nothing to accept."
        )
    return run.display


def accept_reading(review: Review, reason: str) -> str:
    """Accept the reading as it stands, though the picture contradicts it, with a reason."""
    run, display = review.needed_run(), check_contradicted(review)
    earlier = _last(review, ReadingAccepted)
    review.write(
        ReadingAccepted(run=run.id, display=display, reason=_words(reason)),
        replaces=earlier.seq if earlier else None,
    )
    return f"The reading of {display} s in run {run.id} is accepted."


SAWS: dict[Literal["refuted", "unproven"], str] = {
    "refuted": "broken",
    "unproven": "cannot tell",
}
"""What a frame can show of a rule that no checkpoint asks for, in words."""


def other_rules(review: Review) -> tuple[Rule, ...]:
    """The rules that no checkpoint asks for: the event's own, and any other in words last."""
    return (*review.session.header.event.rules, rules()[OTHER])


def check_other_fault(review: Review) -> None:
    """Raises EntryRefused where no rule can be shown to be broken: outside a run that counts."""
    review.check_open()
    review.counted_run()
    check_within(review, review.frame)


def other_fault(review: Review, rule: Rule, saw: Literal["refuted", "unproven"], why: str) -> str:
    """A rule that no checkpoint asks for, broken by this frame; ``why`` may be empty if listed."""
    check_other_fault(review)
    reason = _words(why) if why.strip() or rule.id == OTHER else None
    review.write(
        OtherFault(
            run=review.needed_run().id,
            rule=rule.id,
            saw=saw,
            after=before_this(review),
            by=review.spot(review.frame),
            reason=reason,
            speed=review.speed,
        )
    )
    review.anchor = None
    words = "FAULT" if saw == "refuted" else "cannot tell"
    return f"{rule.title}: {words} at frame {review.frame}."


def attempts_before(review: Review, text: str) -> str:
    """Attempts used before the footage, typed as a number and a source; 0 takes it back."""
    match = re.fullmatch(r"\s*([0-9]{1,2})\b[\s,:;.]*(.*)", text, re.DOTALL)
    if match is None or (int(match[1]) and not match[2].strip()):
        raise EntryRefused("Type how many and how you know, such as: 2, by the results list.")
    earlier = _last_of(review.session.live, AttemptsBefore)
    if not int(match[1]):
        if earlier is None:
            raise EntryRefused("No attempt before this footage is recorded: there is none to take.")
        while earlier is not None:  # one that it replaced comes back with its retraction
            review.retract([earlier])
            earlier = _last_of(review.session.live, AttemptsBefore)
        return "No attempt came before this footage."
    review.write(
        AttemptsBefore(attempts=int(match[1]), source=_words(match[2])),
        replaces=earlier.seq if earlier else None,
    )
    return f"{plural(int(match[1]), 'attempt')} came before this footage."


def capture_rate(review: Review, text: str) -> str:
    """At which rate pictures were taken, typed as a number and a source; 0 takes it back."""
    match = re.fullmatch(
        r"\s*(0|[1-9]\d{0,5}(?:\.\d{1,6}|/[1-9]\d{0,5})?)(?![\d./])[\s,:;]*(.*)", text, re.DOTALL
    )
    if match is None or (match[1] != "0" and not match[2].strip()):
        raise EntryRefused(
            "Type frames a second and how you know, such as: 240, by the camera's settings."
        )
    earlier = _last_of(review.session.live, CaptureRate)
    if match[1] == "0":
        if earlier is None:
            raise EntryRefused("No capture rate is recorded: there is none to take back.")
        while earlier is not None:  # one that it replaced comes back with its retraction
            review.retract([earlier])
            earlier = _last_of(review.session.live, CaptureRate)
        return "Times are told as the footage itself tells them."
    review.check_read()
    if review.session.header.footage.rate is None:
        raise EntryRefused(
            "This footage is not shown at a steady rate, so no time follows from a capture rate."
        )
    entry = CaptureRate(rate=match[1], source=_words(match[2]))
    review.write(entry, replaces=earlier.seq if earlier else None)
    return f"Footage {review.session.timed_header.footage.slowed_words}."


@dataclass(frozen=True, slots=True)
class Lack:
    """Something to say that the footage does not show, of a run or (``None``) of all of it."""

    what: NotShownWhat
    run: int | None
    said: Line | None = None
    """The line that says so already: choosing it takes that back."""

    @property
    def words(self) -> str:
        """The line of a list to choose from."""
        where = "in all of the footage" if self.run is None else f"in run {self.run}"
        take_back = "Take back: " if self.said is not None else ""
        return f"{take_back}{NOT_SHOWN[self.what][0]}, {where}"


def lacks(review: Review) -> list[Lack]:
    """What can be said not to be shown, that of the run worked on first."""
    run = review.run
    places: list[tuple[NotShownWhat, int | None]] = []
    if run is not None and run.counts:
        places = [(what, run.id) for what in NOT_SHOWN if what != "mark"]
    places += [(what, None) for what in NOT_SHOWN]
    live = [line for line in review.session.live if isinstance(line.entry, NotShown)]
    return [
        Lack(
            what,
            run_id,
            next((line for line in live if _is_lack(line.entry, what, run_id)), None),
        )
        for what, run_id in places
    ]


def _is_lack(entry: Entry, what: NotShownWhat, run: int | None) -> bool:
    return isinstance(entry, NotShown) and (entry.what, entry.run) == (what, run)


def check_lacks(review: Review, lack: Lack) -> None:
    """Raises EntryRefused where the record has what it would say is not shown."""
    review.check_open()
    asked = [run for run in review.session.runs if run.counts and lack.run in (None, run.id)]
    for run in asked:
        checked = review.checked(run)
        is_there = checked.brackets.is_sighted(lack.what) if lack.what in INSTANTS else False
        if is_there or (lack.what == "display" and checked.readings):
            raise EntryRefused(
                f"Run {run.id} has the {lack.what} written down: take that back first, if the "
                "footage does not show it."
            )
    cups = check_cups(review.session)
    if lack.what == "mark" and all(cup.outcome is Outcome.PROVEN for cup in cups):
        raise EntryRefused("The mark of every cup was seen: take that back first, if it was not.")


def not_shown(review: Review, lack: Lack, reason: str) -> str:
    """The footage does not show something, from the frame remembered to this one.

    Where no frame is remembered, it is so in all of the run, or of the footage.
    """
    check_lacks(review, lack)
    if review.anchor is None and lack.run is None:
        review.check_read()
    first, last = 0, review.frames - 1
    run = None if lack.run is None else review.session.run(lack.run)
    if run is not None and run.begins is not None:
        first = run.begins.frame
        last = last if run.ends is None else run.ends.frame
    if review.anchor is not None:
        first, last = sorted((review.anchor, review.frame))
    review.write(
        NotShown(
            run=lack.run,
            what=lack.what,
            first=review.spot(first),
            last=review.spot(last),
            reason=_words(reason),
        )
    )
    review.anchor = None
    return f"Not shown in frames {first}-{last}: {lack.words}."


def add_note(review: Review, text: str) -> str:
    """A remark at this frame."""
    review.write(Note(run=review.run_id, text=_words(text), at=review.spot(review.frame)))
    return "Noted."


def _words(text: str) -> str:
    words = text.strip()
    if not 0 < len(words) <= 2000:
        raise EntryRefused("Type 1 to 2000 characters.")
    return words


def _last_of(lines: Sequence[Line], kind: type[Entry]) -> Line | None:
    return next((line for line in reversed(lines) if isinstance(line.entry, kind)), None)


def _last(review: Review, kind: type[Entry]) -> Line | None:
    """The last living entry of a kind that the run worked on has."""
    return next(
        (
            line
            for line in reversed(review.session.live)
            if isinstance(line.entry, kind) and getattr(line.entry, "run", None) == review.run_id
        ),
        None,
    )
