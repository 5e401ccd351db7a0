"""From the marks of a run to brackets, and from brackets to the outcome of each checkpoint.

A mark speaks of one hand, or of the first or the last of two hands. What all marks leave possible
of both hands together is kept as pairs of brackets: one for each way of saying which hand was first
and which was last. Where a moment was never bracketed from both sides and nothing is decided,
nobody has looked.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from enum import StrEnum
from itertools import product

from sessions.evidence.sighting import UNSEEN, Sighting, first_of, last_of, precedes
from sessions.evidence.verdict import Verdict, all_of
from sessions.record.entries import Look, Sighted
from sessions.record.session import Mark
from sessions.rules.events import Hand
from sessions.rules.ladder import Ladder, Statement
from sessions.rules.moments import SIDES, Instant, Moment, Side, Who

BothHands = tuple[Sighting, Sighting]
"""The brackets of the left and of the right hand's instant."""


@dataclass(frozen=True)
class Brackets:
    """What the marks of a run say of each moment, and what they contradict each other about.

    ``sighted`` are the moments that were sighted themselves, not only looked past; ``hands`` has,
    for each moment of two hands, every way in which its marks can all be true. ``faults`` are
    frames that show a fault of one of two hands without saying of which, by checkpoint.
    """

    sightings: Mapping[str, Sighting]
    conflicts: frozenset[str]
    orphans: tuple[Mark, ...]
    sighted: frozenset[str]
    hands: Mapping[str, tuple[BothHands, ...]] = field(default_factory=dict)
    faults: Mapping[str, tuple[int, ...]] = field(default_factory=dict)

    def is_sighted(self, moment_id: str) -> bool:
        """Whether a moment was sighted itself, and is bracketed from both sides."""
        return moment_id in self.sighted and self[moment_id].is_bounded

    def __getitem__(self, moment_id: str) -> Sighting:
        return self.sightings.get(moment_id, UNSEEN)

    def pairs(self, moment_id: str) -> tuple[BothHands, ...]:
        """Every way in which both hands' instants can be; both are the moment's without hands."""
        return self.hands.get(moment_id, ((self[moment_id], self[moment_id]),))

    def of(self, moment_id: str, who: Side | Hand) -> Sighting:
        """The bracket of one hand's instant, or of the first or the last hand's."""
        pairs = self.pairs(moment_id)
        if isinstance(who, Hand):
            return _deciding(pairs, who)
        return hull([pair[SIDES.index(who)] for pair in pairs])


def brackets(ladder: Ladder, marks: Iterable[Mark]) -> Brackets:
    """Meet all marks of a run; marks on checkpoints that the ladder lacks are ``orphans``."""
    seen = tuple(marks)
    said: dict[str, dict[Who, Sighting | None]] = {}
    orphans: list[Mark] = []
    faults: dict[str, set[int]] = {}
    for mark in seen:
        constraints = list(constraints_of(ladder, mark))
        if not constraints:
            orphans.append(mark)
        for (moment_id, who), sighting in constraints:
            places = said.setdefault(moment_id, {})
            earlier = places.get(who, UNSEEN)
            places[who] = None if earlier is None else earlier.meet(sighting)
        if isinstance(mark, Look) and names_no_hand(ladder.statement(mark.checkpoint), mark):
            faults.setdefault(mark.checkpoint, set()).add(mark.by.frame)
    sightings: dict[str, Sighting] = {}
    hands: dict[str, tuple[BothHands, ...]] = {}
    conflicts: set[str] = set()
    for moment_id, places in said.items():
        moment = ladder.moments[moment_id]
        pairs = _pairs(moment, places)
        if not pairs:
            conflicts.add(moment_id)
            continue
        if moment.hands is not None:
            hands[moment_id] = pairs
        sightings[moment_id] = (
            pairs[0][0] if moment.hands is None else _deciding(pairs, moment.hands)
        )
    return Brackets(
        sightings=sightings,
        conflicts=frozenset(conflicts),
        orphans=tuple(orphans),
        sighted=frozenset(mark.moment for mark in seen if isinstance(mark, Sighted)),
        hands=hands,
        faults={name: tuple(sorted(frames)) for name, frames in faults.items()},
    )


def names_no_hand(checkpoint: Statement | None, look: Look) -> bool:
    """Whether a look saw a fault of one of two hands that are judged apart, and not of which."""
    is_each = checkpoint is not None and checkpoint.each
    return is_each and look.saw == "refuted" and look.hand is None


def constraints_of(ladder: Ladder, mark: Mark) -> Iterator[tuple[Instant, Sighting]]:
    """What one mark says of whose instants; nothing where the ladder lacks what it speaks of."""
    if isinstance(mark, Sighted):
        moment = ladder.moments.get(mark.moment)
        if moment is not None and (mark.hand is None or moment.hands is not None):
            yield (mark.moment, mark.hand or moment.hands), mark.bracket
        return
    checkpoint = ladder.statement(mark.checkpoint)
    if checkpoint is None:
        return
    met, due = look_brackets(mark)
    sides = ((checkpoint.met, checkpoint.met_by_hand, met, Hand.LAST),
             (checkpoint.due, checkpoint.due_by_hand, due, Hand.FIRST))  # fmt: skip
    for moment_id, by_hand, sighting, worst in sides:
        hands = ladder.moments[moment_id].hands
        if by_hand and mark.hand is not None:
            yield (moment_id, mark.hand), sighting
        elif checkpoint.each and hands is not None and mark.saw == "unproven":
            yield (moment_id, Hand.FIRST), Sighting(sighting.after, None)
            yield (moment_id, Hand.LAST), Sighting(None, sighting.by)
        elif checkpoint.each and hands is not None:
            yield (moment_id, worst), sighting
        else:
            yield (moment_id, hands), sighting


def look_brackets(look: Look) -> tuple[Sighting, Sighting]:
    """What one look says of the moments ``met`` and ``due`` of its checkpoint."""
    frame = look.by.frame
    happened, not_yet = Sighting(None, frame), Sighting(frame, None)
    if look.saw == "proven":
        return happened, not_yet
    if look.saw == "refuted":
        return not_yet, happened
    between = Sighting(-1 if look.after is None else look.after.frame, frame)
    return between, between


def _pairs(moment: Moment, said: Mapping[Who, Sighting | None]) -> tuple[BothHands, ...]:
    """Every way in which both hands' instants can be; none where the marks contradict each other.

    Both are the same without hands.
    """
    if None in said.values():
        return ()
    found = {who: sighting for who, sighting in said.items() if sighting is not None}
    if moment.hands is None:
        whole = found.get(None, UNSEEN)
        return ((whole, whole),)
    first, last = found.get(Hand.FIRST, UNSEEN), found.get(Hand.LAST, UNSEEN)
    either = [Sighting(first.after, None), Sighting(None, last.by)]
    one = Sighting(None, first.by), Sighting(last.after, None)
    ways = []
    for firsts, lasts in product(*(((0,) if end.is_unseen else (0, 1)) for end in one)):
        both = []
        for number, side in enumerate(SIDES):
            own = [sighting for sighting, which in zip(one, (firsts, lasts), strict=True)
                   if which == number]  # fmt: skip
            both.append(_meet([found.get(side, UNSEEN), *either, *own]))
        left, right = both
        if left is not None and right is not None:
            ways.append((left, right))
    return tuple(dict.fromkeys(ways))


def _meet(sightings: Iterable[Sighting]) -> Sighting | None:
    result = UNSEEN
    for sighting in sightings:
        met = result.meet(sighting)
        if met is None:
            return None
        result = met
    return result


def _deciding(pairs: Iterable[BothHands], hand: Hand) -> Sighting:
    """The bracket of the first or the last hand's instant, over every way."""
    return hull([first_of(pair) if hand is Hand.FIRST else last_of(pair) for pair in pairs])


def hull(sightings: Sequence[Sighting]) -> Sighting:
    """The narrowest bracket that has all of these in it."""
    afters = [s.after for s in sightings]
    bys = [s.by for s in sightings]
    known_after = [after for after in afters if after is not None]
    known_by = [by for by in bys if by is not None]
    return Sighting(
        min(known_after) if len(known_after) == len(afters) else None,
        max(known_by) if len(known_by) == len(bys) else None,
    )


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
