"""The conductor: turns "this hand takes these cups there" into moves with exact instants.

Instants are in frames, as exact fractions: an instant t first shows in frame ``ceil(t)``. The
conductor keeps to what physics asks for: a hand does one thing at a time and takes time to travel;
a cup is lifted after it was set down; cups are lifted and set down in the order in which they are
asked for.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from math import ceil, hypot

from sessions.evidence.sighting import Sighting
from sessions.rules.moments import SIDES, Side
from tui.demo.layout import (
    ABOVE_PAD,
    AT_REST,
    NEST,
    OFF_STAGE,
    PALM_ON_PAD,
    Point,
    Shape,
    clear_of,
    grip,
    mirrored,
)

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


OTHER: dict[Side, Side] = {"left": "right", "right": "left"}

APPROACH = 2
"""Frames of a hand's last way to a cup or to the pad, and of its first way off."""


@dataclass(frozen=True, slots=True)
class Tempo:
    """How fast the hands work: ``slowness`` 1 is a fast run, 2 takes about twice as long."""

    slowness: Fraction = Fraction(1)

    def travel(self, source: Point, target: Point) -> int:
        """Frames that a free hand needs between two places."""
        return max(2, ceil(_distance(source, target) / 100 * self.slowness))

    def carry(self, source: Point, target: Point) -> int:
        """Frames that a hand needs to bring cups from one place to another."""
        return max(4, ceil((1 + _distance(source, target) / 80) * self.slowness))

    @property
    def gap(self) -> int:
        """Frames between two liftings."""
        return ceil(4 * self.slowness)


def _distance(a: Point, b: Point) -> float:
    return hypot(a.x - b.x, a.y - b.y)


class Conductor:
    """Lets two hands move cups, and keeps the moves and the tracks.

    ``mirror`` performs everything the other way round: places are mirrored and hands are swapped.
    """

    def __init__(self, cups: Sequence[Point], mirror: bool = False) -> None:
        self.mirror = mirror
        self.tempo = Tempo()
        self.moves: list[Move] = []
        begun = Instant(1, 2)
        away = {side: AT_REST[side].moved(OFF_STAGE, 0) for side in SIDES}
        self.tracks = Tracks(
            cups=[Track(self._seen(place)) for place in cups],
            hands={side: Track(away[side]) for side in SIDES},
            shapes={side: [(Instant(-1), "open")] for side in SIDES},
            layers=[[(Instant(-1), layer)] for layer in range(len(cups))],
            competitor=Track(Point(OFF_STAGE, 0)),
        )
        self._layer = len(cups)
        self._free: dict[Side, Instant] = dict.fromkeys(SIDES, begun)
        self._settled = [begun] * len(cups)
        self._last_lift = begun
        self._last_place = begun
        self._not_before = begun
        self._held: dict[Side, Move] = {}

    @property
    def now(self) -> Instant:
        """The instant at which all that was asked for is done."""
        return max(*self._free.values(), self._last_place)

    def side(self, hand: Side) -> Side:
        """The hand in the picture that plays this hand's part."""
        return OTHER[hand] if self.mirror else hand

    def _seen(self, point: Point) -> Point:
        return mirrored(point) if self.mirror else point

    def wait(self, until: Instant) -> None:
        """Nothing is touched or lifted before this instant."""
        self._not_before = until
        self._last_lift = max(self._last_lift, until - self.tempo.gap)

    def align(self, until: Instant) -> None:
        """Both hands stay where they are until this instant."""
        for side in SIDES:
            self._free[side] = max(self._free[side], until)
        self.wait(until)

    def touch(self, hand: Side, cup: int, earliest: Instant | None = None) -> Instant:
        """The hand goes to a cup and takes hold of it; gives the instant of contact."""
        side = self.side(hand)
        palm = grip(side, self.tracks.cups[cup].now)
        ready = self.travel(side, clear_of(side, palm))
        earliest = self._not_before if earliest is None else earliest
        touched = max(ready + APPROACH, self._settled[cup] + 1, earliest)
        self._go(side, touched - APPROACH, touched, palm)
        self.shape(side, touched, "grip")
        return touched

    def travel(self, side: Side, target: Point) -> Instant:
        """A free hand goes somewhere in the air; gives the instant of arrival."""
        begin = self._free[side]
        source = self.tracks.hands[side].now
        end = begin + self.tempo.travel(source, target)
        # over whatever stands between, so that passing a cup does not look like touching it
        self._go(side, begin, end, target, rise=_distance(source, target) / 4)
        return end

    def carry(
        self,
        hand: Side,
        cups: Sequence[int],
        target: Point,
        part: str,
        *,
        touched: Instant | None = None,
        rise: float = 46,
        at: Instant | None = None,
        linger: int = 0,
        keep: bool = False,
    ) -> Move:
        """The hand takes a nest of cups (lowest first) to a place, and comes clear of it.

        ``at`` lifts at that instant exactly; ``linger`` lifts so many frames later; ``keep``
        keeps hold of the cups until ``let_go``.
        """
        side, target = self.side(hand), self._seen(target)
        touched = self.touch(hand, cups[0]) if touched is None else touched
        settled = max(self._settled[cup] for cup in cups)
        lift = at or linger + max(touched + 1, self._last_lift + self.tempo.gap, settled + 1)
        frames = self.tempo.carry(self.tracks.cups[cups[0]].now, target)
        placed = max(lift + frames, self._last_place + 2)
        self._bring(side, cups, target, (lift, placed), rise)
        self._last_lift, self._last_place = lift, placed
        move = Move(part, side, tuple(cups), touched, lift, placed)
        self._held[side] = move
        return move if keep else self.let_go(hand, placed + 1)

    def let_go(self, hand: Side, at: Instant) -> Move:
        """The hand comes clear of the cups that it keeps hold of."""
        side = self.side(hand)
        held = self._held.pop(side)
        move = Move(held.part, side, held.cups, held.touch, held.lift, held.place, at)
        self.moves.append(move)
        self.shape(side, at, "open")
        self._go(side, at, at + APPROACH, clear_of(side, self.tracks.hands[side].now))
        return move

    def rest_on(self, hand: Side, cup: int, part: str) -> Instant:
        """The hand takes hold of a cup and keeps it where it is, until ``let_go``."""
        touched = self.touch(hand, cup)
        self._held[self.side(hand)] = Move(part, self.side(hand), (cup,), touched)
        return touched

    def drift(self, cup: int, begin: Instant, end: Instant, by: tuple[float, float]) -> None:
        """A cup moves without being carried: it is dragged, or it falls."""
        across = -by[0] if self.mirror else by[0]
        self.tracks.cups[cup].go(begin, end, self.tracks.cups[cup].now.moved(across, by[1]))
        self._settled[cup] = end

    def hook(self, hand: Side, begin: Instant, end: Instant, cup: int) -> None:
        """A finger of the hand lies on a cup, while the palm is elsewhere."""
        side = self.side(hand)
        self.tracks.hooks.append(Hook(side, begin, end, cup))
        self.moves.append(Move("hook", side, (cup,), begin, release=end))

    def to_pad(self, hand: Side, shape: Shape = "flat", phase: Fraction = Fraction(0)) -> Instant:
        """The hand goes to the pad; gives the instant of contact, ``phase`` frames later."""
        side = self.side(hand)
        palm = PALM_ON_PAD[side]
        above = self.travel(side, palm.moved(0, ABOVE_PAD))
        contact = above + APPROACH + phase
        self._go(side, above, contact, palm)
        self.shape(side, contact, shape)
        return contact

    def off_pad(self, hand: Side, at: Instant) -> None:
        """The hand comes off the pad."""
        side = self.side(hand)
        self.shape(side, at, "open")
        self._go(side, at, at + APPROACH, self.tracks.hands[side].now.moved(0, ABOVE_PAD))

    def shape(self, side: Side, at: Instant, shape: Shape) -> None:
        """The hand takes a shape at an instant."""
        self.tracks.shapes[side].append((at, shape))

    def freed(self, hand: Side) -> Instant:
        """The instant from which the hand has nothing more to do."""
        return self._free[self.side(hand)]

    def _go(self, side: Side, begin: Instant, end: Instant, target: Point, rise: float = 0) -> None:
        self.tracks.hands[side].go(begin, end, target, rise)
        self._free[side] = end

    def _bring(
        self,
        side: Side,
        cups: Sequence[int],
        target: Point,
        times: tuple[Instant, Instant],
        rise: float,
    ) -> None:
        lift, placed = times
        offset = self.tracks.hands[side].now
        source = self.tracks.cups[cups[0]].now
        for height, cup in enumerate(cups):
            goal = target.moved(0, -NEST * height)
            self.tracks.cups[cup].go(lift, placed, goal, rise)
            self._settled[cup] = placed
            self.tracks.layers[cup].append((lift, self._layer))
            self._layer += 1
        palm = offset.moved(target.x - source.x, target.y - source.y)
        self.tracks.hands[side].go(lift, placed, palm, rise)
        self._free[side] = placed
