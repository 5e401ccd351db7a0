"""A reviewer who never errs: the entries that a clip's truth asks for."""

from collections.abc import Callable, Iterator

from sessions.entries import (
    CupsSeen,
    Entry,
    Fumble,
    Look,
    Reading,
    RunBegun,
    RunEnded,
    Shown,
    Sighted,
    Spot,
    StartedOver,
)
from sessions.events import EventDefinition, Hand, load_event
from sessions.fumbles import run_ladder
from sessions.ladder import Ladder, Marker, Rung
from sessions.moments import SIDES, Moment
from sessions.sighting import Sighting, first_of, last_of, precedes
from sessions.verdict import Verdict
from tui.demo.truth import TrueRun, Truth

Stamp = Callable[[int], int]


def true_entries(truth: Truth, stamp: Stamp) -> Iterator[Entry]:
    """Entries that tag the whole truth; ``stamp`` gives the time stamp of a frame."""
    event = load_event(truth.score.event)
    for run in truth.runs:
        yield from _run(run, event, stamp)
    yield from _cups(truth, event, stamp)
    yield Shown(ranges=((0, truth.frames - 1),))


def _run(run: TrueRun, event: EventDefinition, stamp: Stamp) -> Iterator[Entry]:
    def spot(frame: int) -> Spot:
        return Spot(frame=frame, pts=stamp(frame))

    yield RunBegun(run=run.run, begins=spot(run.begins), sort=run.sort)
    if run.sort == "attempt":
        fumbles = [_fumble(run, number, spot) for number in range(len(run.fumbles))]
        yield from fumbles
        for over in run.started_over:
            yield StartedOver(run=run.run, at=spot(over.by))
        ladder = run_ladder(event, fumbles)
        for step in ladder.steps:
            yield from _step(run, step, ladder, spot)
        yield Reading(run=run.run, display=run.display, at=spot(run.ends))
    yield RunEnded(run=run.run, ends=spot(run.ends))


def _fumble(run: TrueRun, number: int, spot: Callable[[int], Spot]) -> Fumble:
    true = run.fumbles[number]
    return Fumble(run=run.run, fumble=true.id, stack=true.stack, phase="up", at=spot(true.at.by))


def _step(
    run: TrueRun, step: Rung | Marker, ladder: Ladder, spot: Callable[[int], Spot]
) -> Iterator[Entry]:
    if isinstance(step, Marker):
        seen = _truth_of(run, ladder.moments[step.id])
        if seen.by is not None and seen.after is not None:
            after = spot(seen.after) if seen.after >= 0 else None
            yield Sighted(run=run.run, moment=step.id, after=after, by=spot(seen.by))
        return
    if step.cures is not None and not _is_broken(run, step.cures, ladder):
        return
    yield from _look(run, step, ladder, spot)


def _look(run: TrueRun, rung: Rung, ladder: Ladder, spot: Callable[[int], Spot]) -> Iterator[Entry]:
    """The look at one checkpoint: the frame that shows the order, or the bracket that hides it."""
    met = _truth_of(run, ladder.moments[rung.met])
    due = _truth_of(run, ladder.moments[rung.due])
    verdict = precedes(met, due)
    if met.is_unseen and due.is_unseen:
        return
    if due.by is None or verdict is Verdict.PROVEN:
        yield Look(run=run.run, rung=rung.id, saw="kept", by=spot(met.by or 0))
    elif met.by is None or verdict is Verdict.REFUTED:
        yield Look(run=run.run, rung=rung.id, saw="broken", by=spot(due.by))
    else:
        after = min(met.after or 0, due.after or 0)
        by = spot(max(met.by, due.by))
        yield Look(run=run.run, rung=rung.id, saw="unclear", after=spot(after), by=by)


def _is_broken(run: TrueRun, rung_id: str, ladder: Ladder) -> bool:
    rung = ladder.step(rung_id)
    assert isinstance(rung, Rung)
    met = _truth_of(run, ladder.moments[rung.met])
    due = _truth_of(run, ladder.moments[rung.due])
    return precedes(met, due) is Verdict.REFUTED


def _truth_of(run: TrueRun, moment: Moment) -> Sighting:
    """The bracket of a moment; of its hands together where it is told for each."""
    if moment.id.endswith(".onward"):
        return _onward(run, moment.id.removesuffix(".onward"))
    whole = run.moments.get(moment.id)
    if whole is not None:
        return Sighting(whole.after, whole.by)
    told = [run.moments[f"{moment.id}:{s}"] for s in SIDES if f"{moment.id}:{s}" in run.moments]
    hands = [Sighting(one.after, one.by) for one in told]
    if not hands:
        return Sighting()
    return first_of(hands) if moment.hands is Hand.FIRST else last_of(hands)


def _onward(run: TrueRun, fumble_id: str) -> Sighting:
    """Where the stacking goes on after a fumble: the next other stack to rise or to come down."""
    fumble = next(f for f in run.fumbles if f.id == fumble_id)
    later = [
        moment
        for name, moment in run.moments.items()
        if name.endswith((".rise", ".begin"))
        and not name.startswith(f"{fumble.stack}.")
        and moment.after >= fumble.at.by
    ]
    first = min(later, key=lambda moment: moment.by)
    return Sighting(first.after, first.by)


def _cups(truth: Truth, event: EventDefinition, stamp: Stamp) -> Iterator[Entry]:
    last = Spot(frame=truth.frames - 1, pts=stamp(truth.frames - 1))
    for cup in range(1, event.cups + 1):
        ranges = truth.marks.get(cup, ())
        if ranges:
            frame = ranges[0][0]
            yield CupsSeen(cups=(cup,), saw="kept", at=Spot(frame=frame, pts=stamp(frame)))
        else:
            yield CupsSeen(cups=(cup,), saw="broken", at=last)
