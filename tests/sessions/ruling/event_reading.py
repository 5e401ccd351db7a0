"""A reading of its own of what an event asks for, to hold the program's ladder against.

The checkpoints, how the two hands are judged and the order of a run's moments are written down here
once more, from the trade's common practice (no source), and from nothing of the program but an
event's settings.
"""

from collections.abc import Iterable, Iterator, Sequence
from functools import cache
from itertools import pairwise
from typing import NamedTuple

from sessions.record.entries import Fumble
from sessions.rules.events import EventDefinition

Node = tuple[str, str | None]
"""A moment, and whose: ``left``, ``right``, ``first``, ``last`` or nobody's in particular."""

TOUCHES = 4
"""Touches of another stack in one repair that the program judges."""


class Check(NamedTuple):
    """One checkpoint by its moments; ``each`` where every hand is judged by its own instants."""

    id: str
    met: str
    due: str
    each: bool = False
    cure: str | None = None
    cures: str | None = None
    since: tuple[str, ...] = ()
    follows: str | None = None


# -- what an event asks for


def rows_of(event: EventDefinition) -> list[list[int]]:
    return [[int(size) for size in text.split("-")] for text in event.formations]


def built(row: Sequence[int]) -> list[int]:
    """Places, from 1, of the stacks that are built up: those of more than one cup."""
    return [place for place, size in enumerate(row, 1) if size > 1]


def steps(event: EventDefinition, fumbles: Iterable[Fumble] = ()) -> list[str | Check]:
    """The whole ladder of a run: its checkpoints, and by name the two moments to sight."""
    return list(_steps(event, tuple((f.fumble, f.phase, f.stack) for f in fumbles)))


@cache
def _steps(
    event: EventDefinition, fumbles: tuple[tuple[str, str, str], ...]
) -> tuple[str | Check, ...]:
    first_starts = event.clock.starts.value == "first hand"
    last_stops = event.clock.stops.value == "last hand"
    found: list[str | Check] = [
        "start",
        Check("start.flat", "start", "start.wrist"),
        Check("start.grip", "start", "start.grip", each=first_starts),
        Check("start.still", "start", "start.move", each=first_starts),
    ]
    rows = rows_of(event)
    for number, row in enumerate(rows, 1):
        found += _formation(event, number, row, is_last=number == len(rows))
    known = set(stacks_that_can_fall(event))
    for name, phase, stack in fumbles:
        if stack in known:
            found += _fumble(name, phase)
    found += [
        Check("stop.free", "stop.clear", "stop", each=last_stops),
        "stop",
        Check("stop.flat", "stop.flat", "stop.wrist", each=True),
        Check("exact", "stop", "extra"),
    ]
    return tuple(found)


def stacks_that_can_fall(event: EventDefinition) -> Iterator[str]:
    for number, row in enumerate(rows_of(event), 1):
        if 1 in row:
            yield f"f{number}.singles"
        for place in built(row):
            yield f"f{number}.s{place}"


def _formation(
    event: EventDefinition, number: int, row: Sequence[int], *, is_last: bool
) -> Iterator[Check]:
    f, stacks = f"f{number}", built(row)
    first = f"{f}.s{stacks[0]}.rise"
    if 1 in row:
        yield Check(f"{f}.singles", f"{f}.singles.let_go", first)
    elif number > 1:
        yield Check(f"{f}.column", f"f{number - 1}.column", first)
    onwards = [f"{f}.s{place}.rise" for place in stacks[1:]] + [f"{f}.d1.begin"]
    for place, onward in zip(stacks, onwards, strict=True):
        yield Check(f"{f}.s{place}.let-go", f"{f}.s{place}.let_go", onward)
    for taken in range(1, len(stacks)):
        yield Check(f"{f}.d{taken}.two-hands", f"{f}.d{taken}.two_hands", f"{f}.d{taken}.begin")
    if len(stacks) > 1 and event.order.take_down != "any":
        yield Check(f"{f}.order", f"{f}.down.place", f"{f}.down.skip")
    yield Check(f"{f}.completed", f"{f}.done", "stop" if is_last else f"{f}.passed")


def _fumble(x: str, phase: str) -> Iterator[Check]:
    if phase == "down":
        yield Check(f"{x}.closed", f"{x}.closed", "stop")
        return
    yield Check(f"{x}.repaired", f"{x}.repaired", f"{x}.onward")
    yield Check(f"{x}.let-go", f"{x}.let_go", f"{x}.onward")
    names = ["", *(f"-{touch}" for touch in range(2, TOUCHES + 1))]
    for before, n in zip([None, *names], names, strict=False):
        right = f"{x}.again{n}" if n else f"{x}.repaired"
        touch, cure = f"{x}.one-stack{n}", f"{x}.cured{n}"
        follows = None if before is None else f"{x}.one-stack{before}"
        yield Check(touch, right, f"{x}.other_stack{n}", cure=cure, follows=follows)
        since = (f"{x}.other_stack{n}", right)
        yield Check(cure, cure, "stop", cures=touch, since=since)


def deciding(event: EventDefinition, moment: str) -> str | None:
    """Which hand's instant a moment is, of those that two hands take part in."""
    if moment in ("start", "stop"):
        clock = event.clock.starts if moment == "start" else event.clock.stops
        return clock.value.split()[0]
    part = moment.rpartition(".")[2].partition("-")[0]
    if part in ("let_go", "two_hands") or moment in ("stop.clear", "stop.flat"):
        return "last"
    if part == "other_stack" or moment in ("start.wrist", "start.grip", "start.move", "stop.wrist"):
        return "first"
    return None


# -- the order of a run's moments


class Order(NamedTuple):
    """``before`` is never later than ``after``, while the checkpoint ``needs`` is in order."""

    before: Node
    after: Node
    needs: str | None = None


def orders(event: EventDefinition, fumbles: Iterable[Fumble] = ()) -> set[Order]:
    """What comes before what in the world, whatever is tagged as a fault."""
    found = {
        Order(_node(event, "start"), _node(event, "stop")),
        Order(_node(event, "start"), _node(event, "stop.wrist")),
        Order(("stop", "last"), _node(event, "stop.flat")),
    }
    for number in range(1, len(event.formations) + 1):
        found |= set(_formation_orders(event, number))
    for fumble in fumbles:
        found |= set(_fumble_orders(fumble.fumble, fumble.phase, event))
    return found


def _node(event: EventDefinition, moment: str) -> Node:
    return moment, deciding(event, moment)


def _formation_orders(event: EventDefinition, number: int) -> Iterator[Order]:
    rows = rows_of(event)
    f, row = f"f{number}", rows[number - 1]
    stacks, whole, last = built(row), f"{f}.completed", len(built(row))

    def at(moment: str) -> Node:
        return _node(event, f"{f}.{moment}")

    rises = [at(f"s{place}.rise") for place in stacks]
    downs = [at(f"d{taken}.begin") for taken in range(1, last + 1)]
    done = [Order(node, at("done")) for node in (*rises, *downs)]
    let_go = [Order(at(f"s{place}.rise"), at(f"s{place}.let_go")) for place in stacks]
    in_turn = [Order(one, other, whole) for one, other in pairwise(rises)]
    counted = [Order(one, other) for one, other in pairwise(downs)]
    hands = [Order(downs[n - 2], at(f"d{n}.two_hands")) for n in range(2, last)]
    yield from (*done, *let_go, *in_turn, *counted, *hands, Order(downs[-1], at("column")))
    if last > 1:
        yield Order(rises[-1], at("d1.two_hands"), f"{f}.s{stacks[-1]}.let-go")
        yield Order(downs[-2], at("down.place"))
        yield Order(downs[0], at("down.skip"))
    if number == 1:
        yield from _first_orders(event, rises, at("d1.two_hands") if last > 1 else None)
    if number == len(rows):
        yield Order(downs[-1], _node(event, "stop.clear"), whole)
        return
    yield Order(at("passed"), _node(event, "stop"))
    yield from (Order(at("passed"), _node(event, f"f{n}.done")) for n in _later(number, rows))
    if 1 not in row:  # then every cup of the next formation stands in a pyramid of this one
        following, g = rows[number], f"f{number + 1}"
        begun = [f"{g}.s{place}.rise" for place in built(following)]
        begun += [f"{g}.singles.let_go"] if 1 in following else []
        yield from (Order(downs[0], _node(event, moment), whole) for moment in begun)


def _later(number: int, rows: Sequence[object]) -> range:
    return range(number + 1, len(rows) + 1)


def _first_orders(
    event: EventDefinition, rises: Iterable[Node], take_down: Node | None
) -> Iterator[Order]:
    """From the start to the first formation."""
    for rise in rises:
        yield Order(_node(event, "start.grip"), rise)
        yield Order(_node(event, "start.move"), rise)
        if event.clock.starts.value == "first hand":
            yield Order(_node(event, "start"), rise)
    if take_down is not None:
        yield Order(("start", "last"), take_down)


def _fumble_orders(x: str, phase: str, event: EventDefinition) -> Iterator[Order]:
    def at(moment: str) -> Node:
        return f"{x}.{moment}", deciding(event, f"{x}.{moment}")

    fallen = at("fallen")
    if phase == "down":
        yield Order(fallen, at("closed"))
        return
    yield Order(fallen, at("repaired"))
    yield Order(fallen, at("let_go"), f"{x}.repaired")
    yield Order(fallen, at("cured"))
    rights = [at("repaired"), *(at(f"again-{n}") for n in range(2, TOUCHES + 1))]
    touches = [at("other_stack"), *(at(f"other_stack-{n}") for n in range(2, TOUCHES + 1))]
    for chain in (rights, touches):
        yield from (Order(one, other) for one, other in pairwise(chain))
