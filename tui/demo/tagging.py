"""A reviewer who never errs: the entries that a clip's truth asks for."""

from collections.abc import Callable, Iterator

from sessions.evidence.sighting import Sighting, first_of, last_of, precedes
from sessions.evidence.verdict import Verdict
from sessions.record.entries import (
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
from sessions.rules.events import EventDefinition, Hand, load_event
from sessions.rules.ladder import Marker, Statement, stacks_of
from sessions.rules.moments import SIDES, Side
from sessions.ruling.fumbles import run_ladder
from tui.demo.truth import TrueRun, Truth

Stamp = Callable[[int], int]


def true_entries(truth: Truth, stamp: Stamp) -> Iterator[Entry]:
    """Entries that tag the whole truth; ``stamp`` gives the time stamp of a frame."""
    event = load_event(truth.score.event)
    for run in truth.runs:
        yield from _Tagger(run, event, stamp).entries()
    yield from _cups(truth, event, stamp)
    yield Shown(ranges=((0, truth.frames - 1),))


class _Tagger:
    """Tags one run of the truth; ``spot`` gives a frame with its time stamp."""

    def __init__(self, run: TrueRun, event: EventDefinition, stamp: Stamp) -> None:
        self.run, self.event, self.stamp = run, event, stamp
        self.fumbles = [
            Fumble(run=run.run, fumble=f.id, stack=f.stack, phase="up", at=self.spot(f.at.by))
            for f in run.fumbles
        ]
        self.ladder = run_ladder(event, self.fumbles)

    def spot(self, frame: int) -> Spot:
        return Spot(frame=frame, pts=self.stamp(frame))

    def entries(self) -> Iterator[Entry]:
        run = self.run
        yield RunBegun(run=run.run, begins=self.spot(run.begins), sort=run.sort)
        if run.sort == "attempt":
            yield from self.fumbles
            for over in run.started_over:
                yield StartedOver(run=run.run, at=self.spot(over.by))
            for checkpoint in self.ladder.checkpoints:
                yield from (
                    self._sighted(checkpoint)
                    if isinstance(checkpoint, Marker)
                    else self._look(checkpoint)
                )
            yield Reading(run=run.run, display=run.display, at=self.spot(run.ends))
        yield RunEnded(run=run.run, ends=self.spot(run.ends))

    def _sighted(self, marker: Marker) -> Iterator[Entry]:
        seen = self._truth_of(marker.id)
        if seen.by is not None and seen.after is not None:
            after = self.spot(seen.after) if seen.after >= 0 else None
            by = self.spot(seen.by)
            yield Sighted(run=self.run.run, moment=marker.id, after=after, by=by)

    def _look(self, checkpoint: Statement) -> Iterator[Entry]:
        """The looks at a checkpoint: at both hands at once, or one by one where they come apart.

        A cure is looked at only where there is a fault to cure, and a further touch after one.
        """
        if not self._is_due(checkpoint):
            return
        if not checkpoint.each:
            met, due = self._truth_of(checkpoint.met), self._truth_of(checkpoint.due)
            yield from self._look_of(checkpoint, met, due)
            return
        met, due = self._of(checkpoint.met, Hand.LAST), self._of(checkpoint.due, Hand.FIRST)
        moments = (checkpoint.met, checkpoint.due)
        if precedes(met, due) is Verdict.PROVEN or not all(map(self._hands, moments)):
            yield from self._look_of(checkpoint, met, due)
            return
        for side in SIDES:
            met, due = (self._told(f"{moment}:{side}") for moment in moments)
            yield from self._look_of(checkpoint, met, due, side)

    def _look_of(
        self, checkpoint: Statement, met: Sighting, due: Sighting, hand: Side | None = None
    ) -> Iterator[Entry]:
        """One look: the frame that shows which came first, or the bracket of both."""
        if met.is_unseen and due.is_unseen:
            if checkpoint.follows is None:
                return
            met = self._truth_of(f"{checkpoint.id.partition('.')[0]}.repaired")  # no further touch
        verdict = precedes(met, due)
        saw: dict[str, object] = {"run": self.run.run, "checkpoint": checkpoint.id, "hand": hand}
        if due.by is None or verdict is Verdict.PROVEN:
            yield Look.model_validate(saw | {"saw": "proven", "by": self.spot(met.by or 0)})
        elif met.by is None or verdict is Verdict.REFUTED:
            yield Look.model_validate(saw | {"saw": "refuted", "by": self.spot(due.by)})
        else:
            after = self.spot(min(met.after or 0, due.after or 0))
            by = self.spot(max(met.by, due.by))
            yield Look.model_validate(saw | {"saw": "unproven", "after": after, "by": by})

    def _is_due(self, checkpoint: Statement) -> bool:
        fault = self.ladder.statement(checkpoint.cures or checkpoint.follows)
        if fault is None:
            return True
        verdict = precedes(self._truth_of(fault.met), self._truth_of(fault.due))
        return verdict is Verdict.REFUTED and self._is_due(fault)

    def _truth_of(self, moment_id: str) -> Sighting:
        """The bracket of a moment; of its deciding hand where it is told for each."""
        if moment_id.endswith(".onward"):
            return self._onward(moment_id.removesuffix(".onward"))
        moment = self.ladder.moments[moment_id]
        return self._of(moment_id, moment.hands or Hand.LAST)

    def _of(self, moment_id: str, hand: Hand) -> Sighting:
        """The bracket of the first or the last hand's instant; the moment's where none is told."""
        hands = self._hands(moment_id)
        if not hands:
            return self._told(moment_id)
        return first_of(hands) if hand is Hand.FIRST else last_of(hands)

    def _hands(self, moment_id: str) -> list[Sighting]:
        """The brackets of the hands' instants that are told."""
        told = [self._told(f"{moment_id}:{side}") for side in SIDES]
        return [sighting for sighting in told if not sighting.is_unseen]

    def _told(self, name: str) -> Sighting:
        moment = self.run.moments.get(name)
        return Sighting() if moment is None else Sighting(moment.after, moment.by)

    def _onward(self, fumble_id: str) -> Sighting:
        """Where the stacking goes on after a fumble: a later stack rises, or a take-down begins."""
        fumble = next(f for f in self.run.fumbles if f.id == fumble_id)
        stacks = [stack.id for stack in stacks_of(self.event)]
        rises = [f"{stack}.rise" for stack in stacks[stacks.index(fumble.stack) + 1 :]]
        later = [
            moment
            for name, moment in self.run.moments.items()
            if (name in rises or name.endswith(".begin")) and moment.after >= fumble.at.by
        ]
        first = min(later, key=lambda moment: moment.by)
        return Sighting(first.after, first.by)


def _cups(truth: Truth, event: EventDefinition, stamp: Stamp) -> Iterator[Entry]:
    last = Spot(frame=truth.frames - 1, pts=stamp(truth.frames - 1))
    for cup in range(1, event.cups + 1):
        ranges = truth.marks.get(cup, ())
        if ranges:
            frame = ranges[0][0]
            yield CupsSeen(cups=(cup,), saw="proven", at=Spot(frame=frame, pts=stamp(frame)))
        else:
            yield CupsSeen(cups=(cup,), saw="refuted", at=last)
