"""From the marks of a run to one bracket for each moment, and for each hand where two take part.

A mark speaks of one hand, or of the first or the last of two hands. What all marks leave possible
of both hands together is kept as pairs of brackets: one for each way of saying which hand was first
and which was last.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import product

from sessions.evidence.sighting import UNSEEN, Sighting, first_of, last_of
from sessions.record.entries import Look, Sighted
from sessions.record.session import Mark
from sessions.rules.events import Hand
from sessions.rules.ladder import Ladder, Statement
from sessions.rules.moments import SIDES, Moment, Place, Side, Who

Pair = tuple[Sighting, Sighting]
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
    hands: Mapping[str, tuple[Pair, ...]] = field(default_factory=dict)
    faults: Mapping[str, tuple[int, ...]] = field(default_factory=dict)

    def is_sighted(self, moment_id: str) -> bool:
        """Whether a moment was sighted itself, and is bracketed from both sides."""
        return moment_id in self.sighted and self[moment_id].is_bounded

    def __getitem__(self, moment_id: str) -> Sighting:
        return self.sightings.get(moment_id, UNSEEN)

    def pairs(self, moment_id: str) -> tuple[Pair, ...]:
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
    hands: dict[str, tuple[Pair, ...]] = {}
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


def constraints_of(ladder: Ladder, mark: Mark) -> Iterator[tuple[Place, Sighting]]:
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


def _pairs(moment: Moment, said: Mapping[Who, Sighting | None]) -> tuple[Pair, ...]:
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


def _deciding(pairs: Iterable[Pair], hand: Hand) -> Sighting:
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
