"""The order of a run's moments as evidence: tags that cannot all be true, named.

Each tag bounds instants by frames, and each relation says that one instant is not later than
another. So every instant has a frame after which it must lie, carried along the relations; where
that is not before the frame by which a tag has it, the tags on the way contradict each other.
"""

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from graphlib import TopologicalSorter
from typing import NamedTuple

from sessions.evidence.sighting import Sighting
from sessions.record.entries import Fumble, Look
from sessions.record.session import Mark, Run
from sessions.rules.events import EventDefinition, Hand
from sessions.rules.ladder import Checkpoint, Ladder, Statement, build_ladder
from sessions.rules.moments import SIDES, Instant, Who
from sessions.rules.relations import Relation, relations_of
from sessions.ruling.brackets import constraints_of
from sessions.ruling.fumbles import fumble_relations

Tag = Mark | Fumble
"""What a reviewer said of a frame: a look, a sighting, or that a stack fell."""


@dataclass(frozen=True, slots=True)
class Contradiction:
    """The fewest tags that cannot all be true.

    ``late`` put an instant after a frame, ``early`` another by a frame, though by ``why`` the first
    is not later than the second; ``given`` are the tags in order that ``why`` leans on.
    """

    late: tuple[Tag, ...]
    early: tuple[Tag, ...]
    given: tuple[Tag, ...]
    why: tuple[str, ...]

    @property
    def tags(self) -> tuple[Tag, ...]:
        """All of them, each once."""
        return tuple(dict.fromkeys((*self.late, *self.early, *self.given)))


class _Bound(NamedTuple):
    at: int
    tags: tuple[Tag, ...]


class _Reach(NamedTuple):
    """The instant lies after ``at``: by a tag at ``start``, carried along ``way``."""

    at: int
    start: int
    way: tuple[Relation, ...]


@dataclass(frozen=True)
class _Graph:
    """Places in an order in which no relation runs back, and the relations into each.

    ``handed`` are the places of moments that two hands share: first, last, left, right.
    """

    places: Mapping[Instant, int]
    handed: tuple[tuple[int, ...], ...]
    into: tuple[tuple[tuple[int, Relation], ...], ...]


def contradictions(
    event: EventDefinition, run: Run, marks: Sequence[Mark], ladder: Ladder
) -> tuple[Contradiction, ...]:
    """The sets of a run's tags that cannot be true together by the order of its moments.

    No set holds another, and without any one of its tags the others can be true. Tags that
    contradict each other about one and the same moment are not told here. ``marks`` are those of
    the run that are evidence of it.
    """
    graph = _graph(event, tuple((fumble.fumble, fumble.phase) for fumble in run.fumbles))
    tags = sorted((*marks, *_falls_within(run)), key=_rank)
    found = [_fewest(graph, ladder, clash) for clash in _clashes(graph, ladder, tags, _same, 0)]
    sets = {frozenset(clash.tags): clash for clash in found}
    return tuple(clash for tags_, clash in sets.items() if not any(other < tags_ for other in sets))


def hurried(
    event: EventDefinition, run: Run, marks: Sequence[Mark], ladder: Ladder, unit: int
) -> frozenset[str]:
    """The checkpoints of tags between which there is less time than the work usually takes.

    ``unit`` is the least time of a unit of work, in units of the footage's time base. What cannot
    be at all is not told here.
    """
    graph = _graph(event, tuple((fumble.fumble, fumble.phase) for fumble in run.fumbles))
    stamps = {spot.frame: spot.pts for spot in run.spots}
    stamps |= {fumble.at.frame: fumble.at.pts for fumble in run.fumbles}
    tags = sorted((*marks, *_falls_within(run)), key=_rank)
    clashes = list(_clashes(graph, ladder, tags, stamps.get, unit))
    return frozenset(
        place_of(tag) for clash in clashes for tag in (*clash.late, *clash.early)
        if not isinstance(tag, Fumble)
    )  # fmt: skip


def _falls_within(run: Run) -> list[Fumble]:
    """The falls that were seen in their run; others are no evidence of it."""
    return [fumble for fumble in run.fumbles if run.side_of(fumble.at.frame) is None]


def _rank(tag: Tag) -> tuple[str, int, int, str, str]:
    """Where a tag stands among others, whatever the order in which they were entered.

    Several that bound one instant alike are told by the first: a ruling must not hang on which of
    them was tagged before.
    """
    if isinstance(tag, Fumble):
        return tag.fumble, tag.at.frame, tag.at.frame, "", tag.phase
    after = -1 if tag.after is None else tag.after.frame
    by = -1 if tag.by is None else tag.by.frame
    saw = tag.saw if isinstance(tag, Look) else ""
    return place_of(tag), after, by, str(tag.hand or ""), saw


def place_of(mark: Mark) -> str:
    """The checkpoint, or the moment, that a mark speaks of."""
    return mark.checkpoint if isinstance(mark, Look) else mark.moment


def is_contradicted(clashes: Iterable[Contradiction], checkpoint: Checkpoint) -> bool:
    """Whether a tag of a checkpoint, or a sighting that it rests on, is in one of these sets."""
    rests_on = {checkpoint.id}
    if isinstance(checkpoint, Statement):
        rests_on = {checkpoint.met, checkpoint.due}
    return any(
        tag.checkpoint == checkpoint.id if isinstance(tag, Look) else tag.moment in rests_on
        for clash in clashes
        for tag in clash.tags
        if not isinstance(tag, Fumble)
    )


def tag_words(ladder: Ladder, tag: Tag) -> str:
    """A tag by its checkpoint and frame: ``"Let go: 1st 3" at frame 45``."""
    if isinstance(tag, Fumble):
        return f'the fall "{tag.fumble}" at frame {tag.at.frame}'
    checkpoint = ladder.checkpoint(place_of(tag))
    title = ladder.moments[place_of(tag)].words if checkpoint is None else checkpoint.title
    hand = f" ({tag.hand} hand)" if tag.hand else ""
    return f'"{title}"{hand} at frame {tag.by.frame}'


def contradiction_words(ladder: Ladder, clash: Contradiction) -> str:
    """Which tags cannot all be true, and why, in words."""
    pair = [tag_words(ladder, tag) for tag in dict.fromkeys((*clash.late, *clash.early))]
    together = "cannot be true" if len(pair) == 1 else "cannot both be true"
    named = " and ".join(pair)
    if len(pair) > 2:
        named, together = f"{', '.join(pair[:-1])} and {pair[-1]}", "cannot all be true"
    why = ", and ".join(dict.fromkeys(clash.why))
    given = [tag_words(ladder, tag) for tag in clash.given]
    leaning = f" (while in order: {', '.join(given)})" if given else ""
    return f"{named} {together}: {why}{leaning}"


# -- how it is found


def _same(frame: int) -> int:
    return frame


@lru_cache(maxsize=64)
def _graph(event: EventDefinition, fallen: tuple[tuple[str, str], ...]) -> _Graph:
    """The relations of an event and of fumbles, each a name and a phase."""
    known = [*relations_of(event)]
    for name, phase in dict(fallen).items():
        known += fumble_relations(name, phase)
    places = {place for relation in known for place in (relation.before, relation.after)}
    moments = build_ladder(event).moments
    handed = {place[0] for place in places if place[1] is not None}
    handed |= {moment.id for moment in moments.values() if moment.hands is not None}
    for moment_id in handed:
        first, last = (moment_id, Hand.FIRST), (moment_id, Hand.LAST)
        for side in SIDES:
            known += [Relation(first, (moment_id, side), ""), Relation((moment_id, side), last, "")]
    into: dict[Instant, list[Relation]] = {}
    for relation in known:
        into.setdefault(relation.before, [])
        into.setdefault(relation.after, []).append(relation)
    order = TopologicalSorter({a: [r.before for r in found] for a, found in into.items()})
    numbers = {place: number for number, place in enumerate(order.static_order())}
    whose: tuple[Who, ...] = (Hand.FIRST, Hand.LAST, *SIDES)
    return _Graph(
        numbers,
        tuple(tuple(numbers[name, who] for who in whose) for name in sorted(handed)),
        tuple(tuple((numbers[r.before], r) for r in into[place]) for place in numbers),
    )


def _clashes(
    graph: _Graph,
    ladder: Ladder,
    tags: Sequence[Tag],
    value: Callable[[int], int | None],
    unit: int,
) -> Iterator[Contradiction]:
    """One contradiction for each instant that must lie after a frame by which a tag has it."""
    low, high = _bounds(graph, ladder, tags, value)
    kept = _in_order(ladder, tags)
    places = tuple(graph.places)
    reach: list[_Reach | None] = []
    for number, into in enumerate(graph.into):
        own = low.get(number)
        best = None if own is None else _Reach(own.at, number, ())
        for before, relation in into:
            reached = reach[before]
            if reached is None or (relation.needs is not None and relation.needs not in kept):
                continue
            at = reached.at + relation.work * unit
            if best is None or at > best.at:
                best = _Reach(at, reached.start, (*reached.way, relation))
        reach.append(best)
        end = high.get(number)
        if best is None or end is None or best.at < end.at:
            continue
        if places[best.start][0] == places[number][0]:
            continue  # of one moment; the brackets tell that
        needs = dict.fromkeys(r.needs for r in best.way if r.needs is not None)
        late, early = low[best.start].tags, end.tags
        given = [tag for need in needs for tag in kept[need] if tag not in (*late, *early)]
        why = tuple(relation.why for relation in best.way if relation.why)
        yield Contradiction(late, early, tuple(dict.fromkeys(given)), why)


def _bounds(
    graph: _Graph, ladder: Ladder, tags: Iterable[Tag], value: Callable[[int], int | None]
) -> tuple[dict[int, _Bound], dict[int, _Bound]]:
    """For each place that the relations have: after which and by which frame tags put it."""
    low: dict[int, _Bound] = {}
    high: dict[int, _Bound] = {}
    for tag in tags:
        for place, said in _said(ladder, tag):
            number = graph.places.get(place)
            if number is None:
                continue
            after = None if said.after is None else value(said.after)
            by = None if said.by is None else value(said.by)
            if after is not None and (number not in low or after > low[number].at):
                low[number] = _Bound(after, (tag,))
            if by is not None and (number not in high or by < high[number].at):
                high[number] = _Bound(by, (tag,))
    for first, last, *sides in graph.handed:
        _of_both(low, first, sides, 1)
        _of_both(high, last, sides, -1)
    return low, high


def _said(ladder: Ladder, tag: Tag) -> Iterable[tuple[Instant, Sighting]]:
    if isinstance(tag, Fumble):
        return [((f"{tag.fumble}.fallen", None), Sighting(after=tag.at.frame))]
    return constraints_of(ladder, tag)


def _of_both(bounds: dict[int, _Bound], outer: int, sides: Sequence[int], sign: int) -> None:
    """With ``sign`` 1, the first hand is after what both are; with -1, the last is by both."""
    hands = [bounds[side] for side in sides if side in bounds]
    if len(hands) < len(sides):
        return
    at = sign * min(sign * hand.at for hand in hands)
    own = bounds.get(outer)
    if own is None or sign * at > sign * own.at:
        bounds[outer] = _Bound(at, tuple(dict.fromkeys(tag for hand in hands for tag in hand.tags)))


def _in_order(ladder: Ladder, tags: Iterable[Tag]) -> dict[str, tuple[Tag, ...]]:
    """The tags by which a checkpoint is in order: one of both hands, or one of each."""
    looks: dict[str, list[Look]] = {}
    for tag in tags:
        if isinstance(tag, Look):
            looks.setdefault(tag.checkpoint, []).append(tag)
    kept: dict[str, tuple[Tag, ...]] = {}
    for name, found in looks.items():
        checkpoint = ladder.statement(name)
        if checkpoint is None or any(look.saw != "proven" for look in found):
            continue
        by_hand = {look.hand: look for look in found}
        if None in by_hand or not checkpoint.by_hand:
            kept[name] = (by_hand[None] if None in by_hand else found[0],)
        elif all(side in by_hand for side in SIDES):
            kept[name] = tuple(by_hand[side] for side in SIDES)
    return kept


def _fewest(graph: _Graph, ladder: Ladder, clash: Contradiction) -> Contradiction:
    """The contradiction with as few tags as still contradict each other."""
    for tag in clash.tags:
        rest = [other for other in clash.tags if other != tag]
        for fewer in _clashes(graph, ladder, rest, _same, 0):
            return _fewest(graph, ladder, fewer)
    return clash
