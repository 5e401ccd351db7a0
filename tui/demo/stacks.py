"""How the hands build a stack, take it down, and put it right after a fumble.

A slot is (half cup pitches to the right of the column, rows up). Going up, the hands take the cups
of the column from its top; its lowest cup stays where it is. Going down, all cups in one slot are
slid onto those in another, until the column is closed.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field

from sessions.rules.moments import SIDES, Side
from tui.demo.conductor import OTHER, Conductor, Instant, Move
from tui.demo.layout import CUP_HEIGHT, NEST, Point, Slot, place

UP: dict[int, tuple[tuple[Side, Slot], ...]] = {
    3: (("right", (2, 0)), ("left", (1, 1))),
    6: (
        ("right", (2, 0)),
        ("left", (-2, 0)),
        ("right", (1, 1)),
        ("left", (-1, 1)),
        ("right", (0, 2)),
    ),
    10: (
        ("right", (2, 0)),
        ("left", (-2, 0)),
        ("right", (4, 0)),
        ("left", (-1, 1)),
        ("right", (3, 1)),
        ("left", (1, 1)),
        ("right", (2, 2)),
        ("left", (0, 2)),
        ("right", (1, 3)),
    ),
}
"""By size: which hand takes the next cup from the top of the column, and to which slot."""

DOWN: dict[int, tuple[tuple[Side, Slot, Slot], ...]] = {
    3: (("left", (1, 1), (0, 0)), ("right", (2, 0), (0, 0))),
    6: (
        ("right", (0, 2), (1, 1)),
        ("left", (-1, 1), (-2, 0)),
        ("right", (1, 1), (2, 0)),
        ("left", (-2, 0), (0, 0)),
        ("right", (2, 0), (0, 0)),
    ),
    10: (
        ("right", (3, 1), (4, 0)),
        ("left", (1, 1), (0, 0)),
        ("right", (4, 0), (2, 0)),
        ("left", (-2, 0), (0, 0)),
        ("right", (2, 0), (0, 0)),
    ),
}
"""By size: which hand slides the cups of one slot onto another (the 10 without its top four)."""

TOP_OF_TEN: tuple[tuple[Side, Slot, Slot | None], ...] = (
    ("right", (1, 3), (2, 2)),
    ("left", (0, 2), (-1, 1)),
    ("right", (2, 2), None),
    ("left", (-1, 1), None),
)
"""The 10's top four, which go in twos onto the single cups on either side."""


_ALL = slice(None)


@dataclass
class PaintedStack:
    """One stack on the table: the cups in each slot, lowest first, and where its column stands."""

    x: float
    slots: dict[Slot, list[int]] = field(default_factory=dict)

    @property
    def column(self) -> list[int]:
        """The cups of the column, lowest first."""
        return self.slots.setdefault((0, 0), [])

    @property
    def size(self) -> int:
        """Cups of the stack, wherever they stand."""
        return sum(len(cups) for cups in self.slots.values())

    def take(self, count: int) -> list[int]:
        """Remove the top cups of the column; gives them lowest first."""
        split = len(self.column) - count
        taken = self.column[split:]
        del self.column[split:]
        return taken

    @property
    def foot(self) -> Point:
        """Where the lowest cup of the column stands."""
        return place(self.x, (0, 0))

    def opening(self, slot: Slot) -> Point:
        """Where the next cup of a slot goes: on the table, or nested over the cups there."""
        return place(self.x, slot).moved(0, -NEST * len(self.slots.get(slot, ())))


def build(
    conductor: Conductor,
    stack: PaintedStack,
    part: str,
    *,
    steps: slice = _ALL,
    flip: bool = False,
    first_at: Instant | None = None,
    first_touched: Instant | None = None,
    keep_last: bool = False,
) -> list[Move]:
    """Take a column up into its pyramid, or some ``steps`` of it.

    ``flip`` lets the other hand begin, the other way round; ``first_at`` and ``first_touched``
    set the instants of the first lifting and of the contact before it; ``keep_last`` keeps hold
    of the last cup until the hand is told to let go.
    """
    moves: list[Move] = []
    chosen = UP[stack.size][steps]
    for number, (hand, slot) in enumerate(chosen, 1):
        if flip:
            hand, slot = OTHER[hand], (-slot[0], slot[1])
        cup = stack.take(1)
        at, touched = (None, None) if moves else (first_at, first_touched)
        spot = place(stack.x, slot)
        keep = keep_last and number == len(chosen)
        moves.append(conductor.carry(hand, cup, spot, part, at=at, touched=touched, keep=keep))
        stack.slots[slot] = cup
    return moves


def take_down(
    conductor: Conductor,
    stack: PaintedStack,
    part: str,
    *,
    steps: Sequence[tuple[Side, Slot, Slot]] | None = None,
    two_hands: bool = True,
    second_late: int | None = None,
    linger: int = 0,
) -> list[Move]:
    """Slide a pyramid together into its column; ``linger`` delays the closing of the column.

    ``second_late`` brings the second hand so many frames after the take-down has begun.
    """
    steps = DOWN[stack.size] if steps is None else steps
    touched: dict[int, Instant] = {}
    if two_hands and second_late is None:
        other = next(i for i, step in enumerate(steps) if step[0] != steps[0][0])
        touched = {i: conductor.touch(steps[i][0], stack.slots[steps[i][1]][0]) for i in (0, other)}
        conductor.wait(max(touched.values()) + 1)
    moves = []
    for number, (hand, source, target) in enumerate(steps):
        late = linger if number == len(steps) - 1 else 0
        ends, who = ((stack, source), (stack, target)), (hand, part)
        moves.append(slide(conductor, *ends, who, touched=touched.get(number), linger=late))
        lift = moves[0].lift
        if second_late is not None and number == 0 and lift is not None:
            conductor.wait(lift + second_late)
    return moves


def slide(
    conductor: Conductor,
    source: tuple[PaintedStack, Slot],
    target: tuple[PaintedStack, Slot],
    who: tuple[Side, str],
    *,
    touched: Instant | None = None,
    linger: int = 0,
    rise: float = 22,
) -> Move:
    """Slide all cups of one slot onto those of another, with a hand and for a part."""
    (stack, slot), (onto, goal) = source, target
    cups = stack.slots.pop(slot)
    opening = onto.opening(goal)
    onto.slots.setdefault(goal, []).extend(cups)
    hand, part = who
    return conductor.carry(hand, cups, opening, part, touched=touched, linger=linger, rise=rise)


def top_of_ten_down(
    conductor: Conductor, ten: PaintedStack, singles: tuple[PaintedStack, PaintedStack], part: str
) -> None:
    """Take the 10's top four cups, in twos, onto the single cups on either side."""
    for hand, source, target in TOP_OF_TEN:
        onto = (ten, target) if target else (singles[SIDES.index(hand)], (0, 0))
        slide(conductor, (ten, source), onto, (hand, part), rise=22 if target else 60)


FALL = 9
"""Frames that a cup takes to fall from a stack to the table."""


def _fall(conductor: Conductor, stack: PaintedStack, across: float) -> tuple[int, Instant]:
    """The top cup of a pyramid falls to the table beside it; gives the cup and the instant."""
    slot = max(stack.slots, key=lambda s: s[1])
    cup = stack.slots.pop(slot)[0]
    begin = conductor.now + 1
    conductor.drift(cup, begin, begin + FALL, (across, slot[1] * CUP_HEIGHT))
    conductor.wait(begin + FALL + 2)
    return cup, begin


def repair_beside_another(
    conductor: Conductor, fallen: PaintedStack, standing: PaintedStack, cured: bool
) -> Instant:
    """The right hand puts a 6's top cup back while the left hand rests on the 3 beside it.

    ``cured``: both let go, the 6 is taken down, and built again without touching the other.
    Gives the instant at which the cup falls.
    """
    cup, fell = _fall(conductor, fallen, 165)
    rested = conductor.rest_on("left", standing.slots[1, 1][0], "x1.rest")
    conductor.wait(rested + 2)
    back = conductor.carry("right", [cup], place(fallen.x, (0, 2)), "x1.repair", rise=120)
    fallen.slots[0, 2] = [cup]
    assert back.release is not None
    conductor.let_go("left", back.release + 4)
    conductor.wait(back.release + 5)
    if cured:
        take_down(conductor, fallen, "x1.cure.down")
        build(conductor, fallen, "x1.cure.up")
    conductor.wait(conductor.now + 1)
    return fell


def start_over(conductor: Conductor, columns: list[PaintedStack]) -> tuple[Instant, Instant]:
    """Two stacks are built, the second loses its top cup, all is taken down again.

    Gives the instants at which the cup falls and from which the event is begun again.
    """
    first, second = columns[:2]
    for stack in (first, second):
        moves = build(conductor, stack, "over.up")
        conductor.wait(max(m.release for m in moves if m.release) + 1)
    cup, fell = _fall(conductor, second, 165)
    take_down(conductor, second, "over.down", steps=DOWN[6][1:])
    conductor.carry("right", [cup], second.opening((0, 0)), "over.down")
    second.column.append(cup)
    take_down(conductor, first, "over.down")
    conductor.wait(conductor.now + 1)
    return fell, conductor.now + 1
