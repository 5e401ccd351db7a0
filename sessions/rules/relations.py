"""The order of a run's moments in the world, generated from an event's formations.

A relation says that one moment is never later than another. It holds always, or only while a
checkpoint that it leans on is tagged as in order: a fault, or what nobody looked at, gives nothing
to rely on. So a true fault never contradicts a true tag. Common practice, no source; what two hands
may do at once is deliberately left free: letting go of one stack against letting go of the next,
two hands against the take-down, a formation done against the rise of the next one's stacks or its
single cups, wrists, going on after a fall, and when a stack falls.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

from sessions.rules.events import EventDefinition, Formation, Hand
from sessions.rules.moments import Instant

BUILD_UNITS = {3: 1, 6: 2, 10: 4, 15: 6}
"""Units of work to build a pyramid, for the shortest time that it takes; from memory."""

TAKE_DOWN_UNITS = 1
"""Units of work to take a stack down; from memory."""


@dataclass(frozen=True, slots=True)
class Relation:
    """``before`` is never later than ``after``, and ``why`` says so in words.

    ``needs`` is the checkpoint that must be in order for it to hold. ``work`` counts the units of
    work that lie between the two.
    """

    before: Instant
    after: Instant
    why: str
    needs: str | None = None
    work: int = 0


def relations_of(event: EventDefinition) -> Iterator[Relation]:
    """Every relation of an event's moments, without those of fumbles."""
    start, stop = _clock(event)
    first, last = ("start", Hand.FIRST), ("start", Hand.LAST)
    if start == first:
        yield Relation(first, stop, "the clock starts before it stops")
    else:
        yield Relation(last, stop, "the clock starts before it stops")
    yield Relation(start, ("stop.wrist", Hand.FIRST), "what the stop shows comes after the start")
    why = "hands lie flat on the pad only once they are on it"
    yield Relation(("stop", Hand.LAST), ("stop.flat", Hand.LAST), why)
    for number, row in enumerate(event.rows, 1):
        yield from _building(number, row)
        yield from _taking_down(number, row)
        if number == 1:
            yield from _from_the_start(event, row)
        if number < len(event.rows):
            yield from _into(number, row, event.rows[number])
            yield from _passing(number, len(event.rows), stop)
    number, row = len(event.rows), event.rows[-1]
    yield Relation(
        (f"f{number}.d{len(row.pyramids)}.begin", None),
        ("stop.clear", Hand.LAST),
        "the last take-down begins before the hands are clear of the cups",
        f"f{number}.completed",
        TAKE_DOWN_UNITS,
    )


def _clock(event: EventDefinition) -> tuple[Instant, Instant]:
    return ("start", event.clock.starts), ("stop", event.clock.stops)


def _from_the_start(event: EventDefinition, row: Formation) -> Iterator[Relation]:
    for position in row.pyramids:
        rise = (f"f1.s{position}.rise", None)
        yield Relation(("start.grip", Hand.FIRST), rise, "a cup is touched before a stack rises")
        yield Relation(("start.move", Hand.FIRST), rise, "a stack that rises moves")
        if event.clock.starts is Hand.FIRST:
            why = "a hand leaves the pad before a stack rises"
            yield Relation(("start", Hand.FIRST), rise, why)
    if len(row.pyramids) > 1:
        why = "both hands on a stack are off the pad"
        yield Relation(("start", Hand.LAST), ("f1.d1.two_hands", Hand.LAST), why)


def _building(number: int, row: Formation) -> Iterator[Relation]:
    name, pyramids = f"f{number}", row.pyramids
    work = {position: BUILD_UNITS.get(row.stacks[position - 1], 1) for position in pyramids}
    rise = {position: (f"{name}.s{position}.rise", None) for position in pyramids}
    for position in pyramids:
        let_go = (f"{name}.s{position}.let_go", Hand.LAST)
        why = "a stack rises before it is let go of"
        yield Relation(rise[position], let_go, why, work=work[position])
        why = "a formation is complete after its stacks have risen"
        yield Relation(rise[position], (f"{name}.done", None), why, work=work[position])
    for one, following in pairwise(pyramids):
        why = "the stacks of a formation are built one after the other"
        complete = f"{name}.completed"
        yield Relation(rise[one], rise[following], why, complete, work[one])
    if len(pyramids) > 1:
        built = pyramids[-1]
        both = (f"{name}.d1.two_hands", Hand.LAST)
        why = "the take-down follows the building"
        yield Relation(rise[built], both, why, f"{name}.s{built}.let-go", work[built])


def _taking_down(number: int, row: Formation) -> Iterator[Relation]:
    name, last = f"f{number}", len(row.pyramids)
    begin = {place: (f"{name}.d{place}.begin", None) for place in range(1, last + 1)}
    for place, following in pairwise(begin):
        why = "take-downs are counted as they begin"
        yield Relation(begin[place], begin[following], why, work=TAKE_DOWN_UNITS)
        if following < last:
            both = (f"{name}.d{following}.two_hands", Hand.LAST)
            why = "hands come to a stack to take it down after the take-down before has begun"
            yield Relation(begin[place], both, why, work=TAKE_DOWN_UNITS)
    if last > 1:
        why = "the last take-down is reached after the one before it has begun"
        yield Relation(begin[last - 1], (f"{name}.down.place", None), why)
        why = "no take-down comes before the first"
        yield Relation(begin[1], (f"{name}.down.skip", None), why)
    for place in begin:
        why = "a formation is complete after its take-downs have begun"
        yield Relation(begin[place], (f"{name}.done", None), why, work=TAKE_DOWN_UNITS)
    why = "a column closes after its take-down has begun"
    yield Relation(begin[last], (f"{name}.column", None), why, work=TAKE_DOWN_UNITS)


def _into(number: int, row: Formation, following: Formation) -> Iterator[Relation]:
    """Where the row before has every cup in its pyramids, the next one's first cup is from them."""
    if row.has_singles:
        return
    name, complete = f"f{number + 1}", f"f{number}.completed"
    begin = (f"f{number}.d1.begin", None)
    why = "every cup stands in the formation before until its take-down begins"
    for position in following.pyramids:
        rise = (f"{name}.s{position}.rise", None)
        yield Relation(begin, rise, why, complete, TAKE_DOWN_UNITS)
    if following.has_singles:
        yield Relation(begin, (f"{name}.singles.let_go", Hand.LAST), why, complete, TAKE_DOWN_UNITS)


def _passing(number: int, rows: int, stop: Instant) -> Iterator[Relation]:
    passed = (f"f{number}.passed", None)
    yield Relation(passed, stop, "a formation is passed at the latest as the clock stops")
    for later in range(number + 1, rows + 1):
        why = "a formation is passed at the latest as a later one is done"
        yield Relation(passed, (f"f{later}.done", None), why)
