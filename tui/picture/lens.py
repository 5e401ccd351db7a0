"""The lens: which part of the frame is shown, how bright, beside or against which other frame.

Its state is kept apart from what it makes of pictures: a part, its tones, a cross, and what moved
between two frames.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from enum import StrEnum
from fractions import Fraction
from math import floor
from typing import Final

import numpy as np
from PIL import Image, ImageFilter

from sessions.rules.ladder import Kind
from tui.picture.cells import CellPainter, Fit, Pixels, canvas, fit, place, scaled

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
class MarkedPoint:
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
    marker: MarkedPoint | None = None
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
        here = MarkedPoint(frame, self.region.x, self.region.y)
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


LEADING, TRAILING = (255, 80, 40), (70, 130, 255)
"""Where the later frame is brighter, and where it is darker, than the one before."""

LUMA: Final = np.array([0.2126, 0.7152, 0.0722], np.float32)
"""Weights of red, green and blue in luma. Source: ITU-R BT.709-6, item 3.2."""

NOISE = 10.0
"""Differences of luma up to this, in steps of 255, are taken for noise of the camera."""


def toned(pixels: Pixels, brightness: int, contrast: int, local: bool) -> Pixels:
    """A picture with other brightness and contrast, in steps; ``local`` lifts fine differences."""
    if local:
        lifted = Image.fromarray(np.ascontiguousarray(pixels)).filter(
            ImageFilter.UnsharpMask(radius=24, percent=150, threshold=0)
        )
        pixels = np.asarray(lifted)
    if not brightness and not contrast:
        return pixels
    levels = np.arange(256, dtype=np.float32) / 255
    levels = levels ** (2.0 ** (-brightness / 3))
    levels = (levels - 0.5) * 2.0 ** (contrast / 3) + 0.5
    table: Pixels = (levels.clip(0, 1) * 255).round().astype(np.uint8)
    return table[pixels]


def difference(before: Pixels, after: Pixels) -> Pixels:
    """What moved between two pictures of one size, over the later one in dimmed grey.

    Where the later picture is brighter it is red, where it is darker blue: a bright thing on dark
    ground has a red leading edge and a blue trailing one.
    """
    luma_before, luma_after = (picture.astype(np.float32) @ LUMA for picture in (before, after))
    change = luma_after - luma_before
    strength = ((np.abs(change) - NOISE) / 60).clip(0, 1)[..., None]
    grey = np.repeat(luma_after[..., None] * 0.35, 3, axis=2)
    colour = np.where((change > 0)[..., None], LEADING, TRAILING).astype(np.float32)
    mixed: Pixels = (grey * (1 - strength) + colour * strength).round().astype(np.uint8)
    return mixed


def crossed(pixels: Pixels, at: tuple[Fraction, Fraction]) -> Pixels:
    """A picture with a small cross, left open at the point that it is about.

    The point is given as shares of the picture from the left and from the top.
    """
    marked = pixels.copy()
    height, width = marked.shape[:2]
    middle_x, middle_y = (
        min(floor(at[0] * width), width - 1),
        min(floor(at[1] * height), height - 1),
    )
    reach, open_by = max(4, width // 24), max(2, width // 96)
    for start, stop in ((-reach, -open_by), (open_by + 1, reach + 1)):
        marked[middle_y, max(0, middle_x + start) : max(0, middle_x + stop)] = (255, 255, 0)
        marked[max(0, middle_y + start) : max(0, middle_y + stop), middle_x] = (255, 255, 0)
    return marked


GAP = 1
"""Columns at least that stay black between two pictures, so that they do not look like one."""


@dataclass(frozen=True, slots=True)
class Viewing:
    """How pictures are to be shown; see ``looking`` for the tones."""

    brightness: int = 0
    contrast: int = 0
    local: bool = False
    cross: tuple[Fraction, Fraction] | None = None
    """Where a cross is drawn, if it is: shares of the picture from the left and from the top."""
    aspect: Fraction = Fraction(1)
    """Width by height of one pixel of the pictures as displayed."""
    against: bool = False
    """Whether two pictures are shown as what moved between them, instead of side by side."""


def closer_board(
    pictures: Sequence[Pixels], wish: Viewing, columns: int, rows: int, painter: CellPainter
) -> tuple[Pixels, Fit]:
    """One picture, or two of one size, centred on a grid in sub-cells, and how each fits.

    What moved is computed after scaling: between sub-cells as they are shown, not between pixels
    that nobody can see. Local contrast has no part in it: it changes the surroundings of whatever
    moves, and these would seem to move.
    """
    shares = 1 if wish.against else len(pictures)
    height, width = pictures[-1].shape[:2]
    columns_each = columns if shares == 1 else max(1, (columns - GAP) // 2)
    fitted = fit((width, height), columns_each, rows, painter, float(wish.aspect))
    is_difference = wish.against and len(pictures) == 2
    local = wish.local and not is_difference
    shown = [_made(pixels, wish, fitted, local) for pixels in pictures]
    if is_difference:
        shown = [difference(*shown)]
    if wish.cross is not None:
        shown = [crossed(pixels, wish.cross) for pixels in shown]
    board = canvas(columns, rows, painter)
    share = columns_each * painter.sub_cells[0]
    top, aside = (board.shape[0] - fitted.height) // 2, (share - fitted.width) // 2
    for left, pixels in zip((0, board.shape[1] - share), shown, strict=False):
        place(board, pixels, left + aside, top)
    return board, fitted


def part_of(pixels: Pixels, footage: tuple[int, int], box: tuple[int, int, int, int]) -> Pixels:
    """What a box holds (left, top, right, bottom in pixels of the footage) of a picture of it.

    ``footage`` is its width and height in pixels; the picture may be smaller.
    """
    height, width = pixels.shape[:2]
    across, down = width / footage[0], height / footage[1]
    left, top, right, bottom = box
    x, y = round(left * across), round(top * down)
    return pixels[y : max(y + 1, round(bottom * down)), x : max(x + 1, round(right * across))]


def surely_shows(
    fitted: Fit, part: Pixels, box: tuple[int, int, int, int], painter: CellPainter
) -> float:
    """Pixels of the footage that the narrowest gap which surely shows must have, in any direction.

    ``box`` (left, top, right, bottom in pixels of the footage) is what ``part`` shows of it. Where
    that has fewer pixels, enlarging them shows no more.
    """
    height, width = map(int, part.shape[:2])
    down, across = (box[3] - box[1]) / height, (box[2] - box[0]) / width
    coarseness = max(fitted.scale * down, fitted.across * across) * painter.least_gap
    merged = max(down, across)
    return max(coarseness, merged) if merged > 1 else coarseness


def _made(pixels: Pixels, wish: Viewing, fitted: Fit, local: bool) -> Pixels:
    small = scaled(pixels, fitted.width, fitted.height)
    return toned(small, wish.brightness, wish.contrast, local)
