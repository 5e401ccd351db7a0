"""Where things stand in the picture, in pixels of a picture 1280 wide and 720 high.

The camera faces the competitor across the table, slightly from above; "left" and "right" are
always those of the picture. The place of a cup is the middle of its rim on the table, and the
place of a hand is the middle of its palm. A box is left, top, right, bottom; its right and bottom
edges lie outside it.
"""

from collections.abc import Iterable
from typing import Literal, NamedTuple

from sessions.rules.moments import Side

Box = tuple[int, int, int, int]


def overlap(a: Box, b: Box) -> bool:
    """Whether two boxes share a pixel."""
    return a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]


def union(a: Box, b: Box) -> Box:
    """The smallest box around both."""
    return min(a[0], b[0]), min(a[1], b[1]), max(a[2], b[2]), max(a[3], b[3])


def within(box: Box, size: tuple[int, int]) -> Box | None:
    """The part of a box inside a picture, grown to even numbers; None where there is none."""
    left, top = max(0, box[0]) // 2 * 2, max(0, box[1]) // 2 * 2
    right, bottom = min(size[0], -(-box[2] // 2) * 2), min(size[1], -(-box[3] // 2) * 2)
    return (left, top, right, bottom) if left < right and top < bottom else None


def joined(boxes: Iterable[Box], size: tuple[int, int]) -> list[Box]:
    """Boxes that cover the same pixels of a picture and do not overlap each other."""
    apart: list[Box] = []
    for box in filter(None, (within(box, size) for box in boxes)):
        while near := next((other for other in apart if overlap(box, other)), None):
            apart.remove(near)
            box = union(box, near)
        apart.append(box)
    return apart


WIDTH, HEIGHT = 1280, 720
RATE = 60
"""Frames a second of the footage."""

LEAGUE = "Lantern Quay Stacking League"
"""An invented league; every clip, claim and truth names it as invented."""


class Point(NamedTuple):
    """A place in the picture, in pixels from its upper left corner."""

    x: float
    y: float

    def moved(self, dx: float, dy: float) -> "Point":
        """The place ``dx`` to the right and ``dy`` down."""
        return Point(self.x + dx, self.y + dy)


Slot = tuple[int, int]
"""A place within a stack: half cup pitches to the right of its column, and rows up."""

GROW = 1.25
"""Cups and hands are drawn in units of this many pixels."""

CUP_WIDTH, CUP_TOP, CUP_HEIGHT = 54 * GROW, 40 * GROW, 62 * GROW
PITCH = 72
NEST = 13
FRONT = 592
COLUMN_X = {"left": 320.0, "middle": 604.0, "right": 890.0}
PAD_AREA = (290, 336, 990, 442)
PALM_ON_PAD: dict[Side, Point] = {"left": Point(542, 386), "right": Point(738, 386)}
SHOULDER: dict[Side, Point] = {"left": Point(530, 70), "right": Point(750, 70)}
AT_REST: dict[Side, Point] = {"left": Point(455, 262), "right": Point(825, 262)}
ABOVE_PAD = -38
DISPLAY_AREA = (520, 626, 760, 706)
CARD_AREA = (1080, 430, 1180, 540)
TABLE_TOP, TABLE_FRONT = 318, 612
OFF_STAGE = 780.0
"""Pixels to the right at which the competitor is out of the picture."""

Shape = Literal["open", "grip", "flat", "wrist"]
SHAPES: tuple[Shape, ...] = ("open", "grip", "flat", "wrist")


def place(x: float, slot: Slot) -> Point:
    """The place of a cup in a slot of the stack whose column stands at ``x``."""
    across, row = slot
    return Point(x + across * PITCH / 2, FRONT - row * CUP_HEIGHT)


def outward(side: Side) -> int:
    """-1 for the left hand, 1 for the right: the way that the hand leaves a cup."""
    return -1 if side == "left" else 1


def grip(side: Side, cup: Point) -> Point:
    """Where the palm is when the hand holds a cup, from its own side."""
    return cup.moved(42 * GROW * outward(side), -36 * GROW)


def clear_of(side: Side, palm: Point) -> Point:
    """Where the palm is when the hand has just come clear of what it held."""
    return palm.moved(36 * outward(side), -18)


def mirrored(point: Point) -> Point:
    """The place seen in a mirror; the stage is symmetric about the middle of the picture."""
    return Point(WIDTH - point.x, point.y)
