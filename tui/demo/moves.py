"""What happens on the table, as data: moves with exact instants, and the tracks that they leave.

Instants are in frames as exact fractions: an instant t first shows in frame ``ceil(t)``.
"""

from dataclasses import dataclass, field
from fractions import Fraction
from math import ceil

from sessions.evidence.sighting import Sighting
from sessions.rules.moments import Side
from tui.demo.layout import Point, Shape

Instant = Fraction
"""Frames since the beginning of the footage."""


def bracket(instant: Instant) -> Sighting:
    """The frames that bracket an instant: not yet in ``after``, seen in ``by``."""
    by = ceil(instant)
    return Sighting(by - 1, by)


@dataclass(frozen=True, slots=True)
class Leg:
    """A straight path from ``start`` to ``end``, bent upward by ``rise`` pixels at its middle."""

    begin: Instant
    end: Instant
    source: Point
    target: Point
    rise: float = 0.0


@dataclass(frozen=True, slots=True)
class Move:
    """What one hand does with a group of cups; a move without ``lift`` only touches them.

    ``part`` names what it is for, such as ``f1.s2.up`` or ``f1.d2``.
    """

    part: str
    hand: Side
    cups: tuple[int, ...]
    touch: Instant
    lift: Instant | None = None
    place: Instant | None = None
    release: Instant | None = None


@dataclass
class Track:
    """Where one cup or hand is: at rest at the end of each leg until the next begins."""

    home: Point
    legs: list[Leg] = field(default_factory=list)

    @property
    def now(self) -> Point:
        """Where it is after all legs so far."""
        return self.legs[-1].target if self.legs else self.home

    def go(self, begin: Instant, end: Instant, target: Point, rise: float = 0.0) -> None:
        """Add a leg; it must not begin before the one before it ends."""
        if self.legs and begin < self.legs[-1].end:
            raise ValueError(f"a leg begins at {begin}, before {self.legs[-1].end}")
        self.legs.append(Leg(begin, end, self.now, target, rise))


@dataclass(frozen=True, slots=True)
class Hook:
    """A finger of a hand on the pad that lies on a cup, from ``begin`` to ``end``."""

    hand: Side
    begin: Instant
    end: Instant
    cup: int


@dataclass
class Tracks:
    """Everything that can be seen to move or change, for the whole footage."""

    cups: list[Track]
    hands: dict[Side, Track]
    shapes: dict[Side, list[tuple[Instant, Shape]]]
    layers: list[list[tuple[Instant, int]]]
    competitor: Track
    hooks: list[Hook] = field(default_factory=list)
    turns: list[tuple[Instant, int]] = field(default_factory=list)
    cards: list[tuple[Instant, str]] = field(default_factory=list)
    resets: list[Instant] = field(default_factory=list)
    clocks: list[tuple[Instant, Instant]] = field(default_factory=list)
