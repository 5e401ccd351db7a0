"""Where things stand in the picture, in pixels of a picture 1280 wide and 720 high.

The camera faces the competitor across the table, slightly from above; "left" and "right" are
always those of the picture. A cup's place is the middle of its rim on the table; a hand's place is
the middle of its palm.
"""

from typing import Literal, NamedTuple

from sessions.rules.moments import Side

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
PAD = (290, 336, 990, 442)
PALM_ON_PAD: dict[Side, Point] = {"left": Point(542, 386), "right": Point(738, 386)}
SHOULDER: dict[Side, Point] = {"left": Point(530, 70), "right": Point(750, 70)}
AT_REST: dict[Side, Point] = {"left": Point(455, 262), "right": Point(825, 262)}
ABOVE_PAD = -38
DISPLAY = (520, 626, 760, 706)
CARD = (1080, 430, 1180, 540)
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
