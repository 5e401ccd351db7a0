"""Fumbles and what is made of them: repairs, cures, and starting over."""

from tui.demo.conductor import Conductor
from tui.demo.layout import CUP_HEIGHT, place
from tui.demo.moves import Instant
from tui.demo.stacks import DOWN, Stack, build, take_down

FALL = 9
"""Frames that a cup takes to fall from a stack to the table."""


def _fall(conductor: Conductor, stack: Stack, across: float) -> tuple[int, Instant]:
    """The top cup of a pyramid falls to the table beside it; gives the cup and the instant."""
    slot = max(stack.slots, key=lambda s: s[1])
    cup = stack.slots.pop(slot)[0]
    begin = conductor.now + 1
    conductor.drift(cup, begin, begin + FALL, (across, slot[1] * CUP_HEIGHT))
    conductor.wait(begin + FALL + 2)
    return cup, begin


def repair_beside_another(
    conductor: Conductor, fallen: Stack, standing: Stack, cured: bool
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


def start_over(conductor: Conductor, columns: list[Stack]) -> tuple[Instant, Instant]:
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
