"""The lens: which part of the frame is looked at, how bright, and beside what. Pure state."""

from dataclasses import dataclass, field, replace
from enum import StrEnum
from fractions import Fraction
from math import floor

from sessions.rules.ladder import Kind

ZOOMS = (1, 2, 3, 4, 6, 8, 12, 16)
"""How many times the lens enlarges; 1 is the whole frame."""

TONES = range(-6, 7)
"""Steps of brightness and of contrast; 0 leaves the picture as it is."""


class Pair(StrEnum):
    """How the frame and the one before it are shown."""

    OFF = "off"
    SIDE = "side by side"
    DIFFERENCE = "difference"


@dataclass(frozen=True, slots=True)
class Region:
    """A part of the frame: its centre in pixels of the footage, and the enlargement."""

    x: Fraction
    y: Fraction
    zoom: int = 1

    def box(self, width: int, height: int) -> tuple[int, int, int, int]:
        """Left, top, right and bottom in pixels of a frame of this size, held inside it."""
        across, down = max(1, width // self.zoom), max(1, height // self.zoom)
        # never to the nearest: a step of one pixel moves what is shown by one pixel
        left = max(0, min(floor(self.x) - across // 2, width - across))
        top = max(0, min(floor(self.y) - down // 2, height - down))
        return left, top, left + across, top + down


@dataclass(frozen=True, slots=True)
class Marker:
    """A point of the footage, in pixels, marked in one frame."""

    frame: int
    x: Fraction
    y: Fraction


@dataclass
class Lens:
    """What the reviewer looks at in a frame of ``width`` by ``height`` pixels.

    The lens is kept for each kind of checkpoint, since a kind is always seen at the same place.
    """

    width: int
    height: int
    aspect: Fraction = Fraction(1)
    """Width by height of one of these pixels as displayed."""
    region: Region = field(init=False)
    brightness: int = 0
    contrast: int = 0
    local: bool = False
    pair: Pair = Pair.OFF
    marker: Marker | None = None
    _kept: dict[Kind | None, Region] = field(default_factory=dict)
    _kind: Kind | None = None

    def __post_init__(self) -> None:
        self.region = self._whole()

    def _whole(self) -> Region:
        return Region(Fraction(self.width // 2), Fraction(self.height // 2))

    @property
    def is_whole(self) -> bool:
        """Whether the whole frame is shown."""
        return self.region.zoom == 1

    @property
    def is_toned(self) -> bool:
        """Whether brightness or contrast is changed."""
        return bool(self.brightness or self.contrast or self.local)

    @property
    def state(self) -> tuple[object, ...]:
        """Everything that changes what is seen."""
        marked = self.marker is not None
        return self.region, self.brightness, self.contrast, self.local, self.pair, marked

    @property
    def box(self) -> tuple[int, int, int, int]:
        """The part shown, in pixels of the footage."""
        return self.region.box(self.width, self.height)

    def toggle(self, kind: Kind | None) -> None:
        """Take up the lens where it was last used for a kind of checkpoint, or lay it down."""
        self._kind = kind
        if not self.is_whole:
            self._kept[kind] = self._kept[None] = self.region
            self.region = self._whole()
        else:
            self.region = self._kept.get(kind) or self._kept.get(None) or self._magnified(4)

    def follow(self, kind: Kind | None) -> None:
        """Another kind of checkpoint is due: a lens that is in use goes to that kind's place."""
        if kind is self._kind:
            return
        before, self._kind = self._kind, kind
        if not self.is_whole:
            self._kept[before] = self.region
            self.region = self._kept.get(kind, self.region)

    def _magnified(self, zoom: int) -> Region:
        return replace(self.region, zoom=zoom)

    def zoom(self, steps: int) -> None:
        """Enlarge more or less."""
        at = ZOOMS.index(self.region.zoom) + steps
        self.region = self._magnified(ZOOMS[max(0, min(at, len(ZOOMS) - 1))])

    def move(self, across: int, down: int) -> None:
        """Move by eighths of what is shown."""
        left, top, right, bottom = self.box
        self.nudge(across * max(1, (right - left) // 8), down * max(1, (bottom - top) // 8))

    def nudge(self, across: int, down: int) -> None:
        """Move by pixels of the footage, held inside the frame.

        While something is measured the centre goes on to the frame's edge, though what is shown
        does not. Otherwise it stays in the middle of what is shown, so that the way back is seen
        at once.
        """
        x, y = self.region.x, self.region.y
        if self.marker is None and not self.is_whole:
            left, top, right, bottom = self.box
            x, y = Fraction(left + (right - left) // 2), Fraction(top + (bottom - top) // 2)
        self.region = replace(
            self.region,
            x=max(Fraction(0), min(x + across, Fraction(self.width - 1))),
            y=max(Fraction(0), min(y + down, Fraction(self.height - 1))),
        )

    def brighten(self, steps: int) -> None:
        """Change the brightness."""
        self.brightness = max(TONES[0], min(self.brightness + steps, TONES[-1]))

    def harden(self, steps: int) -> None:
        """Change the contrast."""
        self.contrast = max(TONES[0], min(self.contrast + steps, TONES[-1]))

    def toggle_local(self) -> None:
        """Bring out small differences in dark or pale places, or stop doing so."""
        self.local = not self.local

    def show_pair(self, pair: Pair) -> None:
        """Show the frame with the one before it, or alone again."""
        self.pair = Pair.OFF if self.pair is pair else pair

    @property
    def aim(self) -> tuple[Fraction, Fraction]:
        """Where the pixel at the centre lies in what is shown: shares from the left and the top.

        It is in the middle, but for where what is shown is held inside the frame.
        """
        left, top, right, bottom = self.box
        half = Fraction(1, 2)  # the middle of its pixel
        across = (floor(self.region.x) + half - left) / (right - left)
        down = (floor(self.region.y) + half - top) / (bottom - top)
        return across, down

    def mark(self, frame: int) -> None:
        """Mark the point in the middle of the lens, or forget the mark at the same point."""
        here = Marker(frame, self.region.x, self.region.y)
        self.marker = None if self.marker == here else here

    def moved(self) -> tuple[Fraction, Fraction] | None:
        """Pixels across and down from the marked point to the middle of the lens."""
        if self.marker is None:
            return None
        return self.region.x - self.marker.x, self.region.y - self.marker.y

    def plain(self) -> None:
        """The whole frame again, alone and as it is; where the lens was is remembered."""
        if not self.is_whole:
            self.toggle(self._kind)
        self.brightness = self.contrast = 0
        self.local, self.pair, self.marker = False, Pair.OFF, None

    def words(self, frame: int | None = None) -> str:
        """What is changed against the plain whole frame; a pair with its ``frame`` and the other.

        Where the lens looks at two frames that were chosen otherwise, none is given.
        """
        left, top, *_ = self.box
        parts = [] if self.is_whole else [f"lens {self.region.zoom}x at {left},{top}"]
        if self.pair is not Pair.OFF:
            parts.append(self._pair_words(frame))
        if self.is_toned:
            local = " local" if self.local else ""
            parts.append(f"light {self.brightness:+d} contrast {self.contrast:+d}{local}")
        if (moved := self.moved()) is not None and self.marker is not None:
            across, down = (float(value) for value in moved)
            parts.append(f"{across:+.0f},{down:+.0f} px from the mark in {self.marker.frame}")
        return ", ".join(parts)

    def _pair_words(self, frame: int | None) -> str:
        if frame is None:
            return self.pair.value
        return f"{self.pair.value} {frame - 1},{frame}" if frame else "no frame before this one"
