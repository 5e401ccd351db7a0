"""From the marks of a run to one bracket for each moment."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

from sessions.evidence.sighting import UNSEEN, Sighting, first_of, last_of
from sessions.record.entries import Look, Sighted
from sessions.record.session import Mark
from sessions.rules.events import Hand
from sessions.rules.ladder import Ladder, Statement
from sessions.rules.moments import SIDES, Moment, Side

Place = tuple[str, Side | None]
"""A moment's id, and the hand where one hand was sighted alone."""


@dataclass(frozen=True)
class Brackets:
    """What the marks of a run say of each moment, and what they contradict each other about."""

    sightings: Mapping[str, Sighting]
    conflicts: frozenset[str]
    orphans: tuple[Mark, ...]
    sighted: frozenset[str]
    """The moments that were sighted themselves, not only looked past."""

    def is_sighted(self, moment_id: str) -> bool:
        """Whether a moment was sighted itself, and is bracketed from both sides."""
        return moment_id in self.sighted and self[moment_id].is_bounded

    def __getitem__(self, moment_id: str) -> Sighting:
        return self.sightings.get(moment_id, UNSEEN)


def brackets(ladder: Ladder, marks: Iterable[Mark]) -> Brackets:
    """Meet all marks of a run; marks on checkpoints that the ladder lacks are ``orphans``."""
    seen = tuple(marks)
    said: dict[Place, list[Sighting]] = {}
    orphans: list[Mark] = []
    for mark in seen:
        constraints = list(_constraints(ladder, mark))
        if not constraints:
            orphans.append(mark)
        for place, sighting in constraints:
            said.setdefault(place, []).append(sighting)
    sightings, conflicts = {}, set()
    for moment_id in {place[0] for place in said}:
        found = _resolve(ladder.moments[moment_id], said)
        if found is None:
            conflicts.add(moment_id)
        else:
            sightings[moment_id] = found
    sighted = frozenset(mark.moment for mark in seen if isinstance(mark, Sighted))
    return Brackets(sightings, frozenset(conflicts), tuple(orphans), sighted)


def _constraints(ladder: Ladder, mark: Mark) -> Iterator[tuple[Place, Sighting]]:
    if isinstance(mark, Sighted):
        moment = ladder.moments.get(mark.moment)
        if moment is not None and (mark.hand is None or moment.hands is not None):
            yield (mark.moment, mark.hand), mark.bracket
        return
    checkpoint = ladder.checkpoint(mark.checkpoint)
    if isinstance(checkpoint, Statement):
        met, due = look_brackets(mark)
        yield (checkpoint.met, None), met
        yield (checkpoint.due, None), due


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


def _resolve(moment: Moment, said: Mapping[Place, list[Sighting]]) -> Sighting | None:
    """The bracket of a moment: what was said of it, met with what its hands say together."""
    whole = _meet(said.get((moment.id, None), []))
    if moment.hands is None:
        return whole
    hands = [_meet(said.get((moment.id, side), [])) for side in SIDES]
    left, right = hands
    if whole is None or left is None or right is None:
        return None
    both = first_of if moment.hands is Hand.FIRST else last_of
    return whole.meet(both([left, right]))


def _meet(sightings: Iterable[Sighting]) -> Sighting | None:
    result = UNSEEN
    for sighting in sightings:
        met = result.meet(sighting)
        if met is None:
            return None
        result = met
    return result
