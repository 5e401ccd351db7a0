"""One checkpoint from the brackets alone: its outcome, hand by hand where its rule says so.

Where a moment was never bracketed from both sides and nothing is decided, nobody has looked.
"""

from collections.abc import Iterable, Iterator
from enum import StrEnum
from itertools import product

from sessions.evidence.sighting import Sighting, precedes
from sessions.evidence.verdict import Verdict, all_of
from sessions.record.entries import Look
from sessions.record.session import Mark
from sessions.rules.ladder import Ladder, Statement
from sessions.rules.moments import SIDES, Side
from sessions.ruling.brackets import Brackets


class Outcome(StrEnum):
    """What became of a checkpoint: the three verdicts, or why there is none yet."""

    PROVEN = "proven"
    REFUTED = "refuted"
    UNPROVEN = "unproven"
    UNLOOKED = "unlooked"
    CONFLICT = "conflict"

    @property
    def is_open(self) -> bool:
        """Whether more looking, or mending of the record, is needed."""
        return self in (Outcome.UNLOOKED, Outcome.CONFLICT)


def is_asked(found: Brackets, ladder: Ladder, checkpoint: Statement) -> bool:
    """Whether a checkpoint is to be looked at; some are only once another was refuted."""
    earlier = ladder.statement(checkpoint.cures or checkpoint.follows)
    if earlier is None:
        return True
    is_fault = statement_outcome(found, earlier) is Outcome.REFUTED
    return is_fault and is_asked(found, ladder, earlier)


def hands_left(marks: Iterable[Mark], checkpoint: Statement) -> tuple[Side, ...]:
    """The hands that nobody has looked at, where a checkpoint is looked at hand by hand."""
    looks = [m for m in marks if isinstance(m, Look) and m.checkpoint == checkpoint.id]
    seen = {look.hand for look in looks}
    if not checkpoint.by_hand or not seen or None in seen:
        return ()
    return tuple(side for side in SIDES if side not in seen)


def statement_outcome(found: Brackets, checkpoint: Statement) -> Outcome:
    """The outcome of one checkpoint from the brackets alone, any cure of it left aside."""
    if checkpoint.met in found.conflicts or checkpoint.due in found.conflicts:
        return Outcome.CONFLICT
    if is_too_early(found, checkpoint):
        return Outcome.REFUTED
    if checkpoint.each:
        return _each_hand(found, checkpoint)
    met, due = found[checkpoint.met], found[checkpoint.due]
    return _named(precedes(met, due), met.is_bounded and due.is_bounded)


def is_too_early(found: Brackets, cure: Statement) -> bool:
    """Whether a cure was over before its touch, or before what was touched meanwhile was built."""
    by = found[cure.met].by
    begun = [found[moment].after for moment in cure.since]
    return by is not None and any(after is not None and by <= after for after in begun)


def _each_hand(found: Brackets, checkpoint: Statement) -> Outcome:
    """A verdict only where all ways in which the two hands can be agree on it."""
    ways = ways_of(found, checkpoint)
    verdicts = {all_of(precedes(*hand) for hand in hands) for hands in ways}
    if not verdicts:
        return Outcome.CONFLICT
    undecided = [
        side
        for side, hands in zip(SIDES, zip(*ways, strict=True), strict=True)
        if _agreed({precedes(*hand) for hand in hands}) is not Verdict.PROVEN
    ]
    moments = (checkpoint.met, checkpoint.due)
    bounded = all(found.of(moment, side).is_bounded for moment in moments for side in undecided)
    return _named(_agreed(verdicts), bounded)


def _agreed(verdicts: set[Verdict]) -> Verdict:
    (verdict, *others) = verdicts
    return Verdict.UNPROVEN if others else verdict


_HandSeen = tuple[Sighting, Sighting]
"""The brackets of what one hand must do, and of what it must not do before."""


def ways_of(found: Brackets, checkpoint: Statement) -> list[tuple[_HandSeen, _HandSeen]]:
    """Every way in which the left and the right hand can be, where each is judged."""
    pairs = product(found.pairs(checkpoint.met), found.pairs(checkpoint.due))
    ways = []
    for (met, due), shown in product(pairs, _shares(found.faults.get(checkpoint.id, ()))):
        left, right = (_with_faults(*hand) for hand in zip(met, due, shown, strict=True))
        if left is not None and right is not None:
            ways.append((left, right))
    return ways


def _shares(frames: tuple[int, ...]) -> Iterator[tuple[tuple[int, ...], tuple[int, ...]]]:
    """The ways in which two hands can share frames that show one of them at fault.

    A hand at fault in two frames is so in all between them; so one has the first frames.
    """
    if not frames:
        yield (), ()
    for count in range(1, len(frames) + 1):
        yield frames[:count], frames[count:]
        yield frames[count:], frames[:count]


def _with_faults(
    met: Sighting, due: Sighting, frames: tuple[int, ...]
) -> tuple[Sighting, Sighting] | None:
    """A hand's brackets, where these frames show it at fault; ``None`` where they cannot."""
    if not frames:
        return met, due
    late, early = met.meet(Sighting(frames[-1], None)), due.meet(Sighting(None, frames[0]))
    return None if late is None or early is None else (late, early)


def _named(verdict: Verdict, bounded: bool) -> Outcome:
    if verdict is Verdict.UNPROVEN and not bounded:
        return Outcome.UNLOOKED
    return Outcome(verdict.value)


def hand_that_decides(found: Brackets, checkpoint: Statement, outcome: Outcome) -> Side | None:
    """The one hand whose instants give a checkpoint its outcome, where each hand is judged."""
    if not checkpoint.each or outcome in (Outcome.PROVEN, Outcome.CONFLICT):
        return None
    ways = zip(*ways_of(found, checkpoint), strict=True)
    verdicts = [_agreed({precedes(*hand) for hand in hands}) for hands in ways]
    worst = all_of(verdicts)
    deciding = [s for s, verdict in zip(SIDES, verdicts, strict=True) if verdict is worst]
    return deciding[0] if len(deciding) == 1 else None
