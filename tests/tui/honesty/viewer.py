"""A picture taken the whole way to the glass: lens, solver, palette, encoder, terminal, glyphs.

What the encoder writes is read by an emulator that is not ours (pyte), and its cells are drawn from
the names that Unicode gives the glyphs. Pixels go through the emulator of these tests.
"""

import unicodedata
from collections.abc import Callable
from dataclasses import dataclass, field
from functools import cache
from typing import Any

import numpy as np
import pyte
from numpy.typing import NDArray

from tests.tui.picture.emulator import Emulator, pixels_shown
from tests.tui.picture.rasters import mask_of_name
from tui.picture.cells import Fit, Pixels
from tui.picture.choice import Choice
from tui.picture.delta import STILL, Encoder
from tui.picture.glyphs import OCTANTS, Mask
from tui.picture.lens import Lens, Viewing, closer_board, part_of, surely_shows
from tui.picture.palette import INDEXED_16
from tui.picture.pixels import PixelPainter
from tui.widgets.pictures import encoder_for

_NAMES = ("black", "red", "green", "brown", "blue", "magenta", "cyan", "white")
_BRIGHT = tuple(f"bright{name}" for name in _NAMES)
BASIC = dict(zip((*_NAMES, *_BRIGHT), INDEXED_16._colours.tolist(), strict=True))
"""What pyte calls the sixteen colours, and what they look like."""
BASIC["bfightmagenta"] = BASIC["brightmagenta"]  # pyte's own slip, for the background


_SLANT = np.tri(8, dtype=bool)
WEDGES = {"\u25e3": _SLANT, "\u25e2": _SLANT[:, ::-1], "\u25e4": _SLANT[::-1],
          "\u25e5": _SLANT[::-1, ::-1]}  # fmt: skip
"""Glyphs with a slanted edge, which the picture is never drawn with."""


@cache
def glyph_mask(glyph: str) -> Mask:
    """Which of 8 x 8 parts of a cell a glyph paints."""
    if glyph in " \u2588":
        return np.full((8, 8), glyph != " ")
    if glyph in WEDGES:
        return WEDGES[glyph]
    if ord(glyph) in OCTANTS.known and not 0x2580 <= ord(glyph) <= 0x259F:
        return np.kron(OCTANTS.known[ord(glyph)], np.ones((2, 4), bool))
    return mask_of_name(unicodedata.name(glyph))


@dataclass
class Viewer:
    """A view of some columns and rows that shows one picture after another."""

    choice: Choice
    size: tuple[int, int]
    lens: Lens
    board: Pixels = field(init=False)
    fitted: Fit = field(init=False)
    promise: float = field(init=False)
    _encoder: Encoder | None = None

    def __post_init__(self) -> None:
        self._pyte = pyte.Screen(*self.size)
        self._stream = pyte.Stream(self._pyte)
        self._ours = Emulator(*self.size, cell=self.sub_cells)

    @property
    def is_pixels(self) -> bool:
        return isinstance(self.choice.painter, PixelPainter)

    def show(self, frame: Pixels) -> None:
        """Step to a frame."""
        painter = self.choice.painter
        part = part_of(frame, (self.lens.width, self.lens.height), self.lens.box)
        self.board, self.fitted = closer_board([part], Viewing(), *self.size, painter)
        self.promise = surely_shows(self.fitted, part, self.lens.box, painter)
        self._solved = painter.solve(self.board)
        if self._encoder is None:
            self._encoder = encoder_for(self.choice, 1, self._solved)
        self._write(self._encoder.follow(self._solved))

    def rest(self) -> None:
        """What comes while no key is pressed."""
        assert self._encoder is not None
        for _ in range(3):
            self._write(self._encoder.aim(self._solved, STILL))

    def _write(self, rows: list[int]) -> None:
        assert self._encoder is not None
        written = self._encoder.scattered(rows, (0, 0))
        if written is None:
            texts = self._encoder.encode(rows).items()
            written = "".join(f"\x1b[{row + 1};1H{text.text}" for row, text in texts)
        if self.is_pixels:
            self._ours.feed(written)
        else:
            self._stream.feed(written)
        self._encoder.commit(*rows)

    @property
    def sub_cells(self) -> tuple[int, int]:
        return self.choice.painter.sub_cells if self.is_pixels else (8, 8)

    def seen(self) -> Pixels:
        """What is on the glass: ``sub_cells`` pixels a cell."""
        if self.is_pixels:
            return pixels_shown(self._ours, self.sub_cells, (0, 0), self.size)
        columns, rows = self.size
        cells = [self._pyte.buffer[row][column] for row in range(rows) for column in range(columns)]
        masks = _each(glyph_mask, [cell.data for cell in cells])[..., None]
        fore = _each(_rgb, [cell.fg for cell in cells])[:, None, None]
        back = _each(_rgb, [cell.bg for cell in cells])[:, None, None]
        grid = np.where(masks, fore, back).reshape(rows, columns, 8, 8, 3)
        return grid.transpose(0, 2, 1, 3, 4).reshape(rows * 8, columns * 8, 3).astype(np.uint8)

    def places(self) -> tuple[NDArray[np.int_], NDArray[np.int_]]:
        """The row and the column of the footage at the middle of each row and column of the glass.

        -1 where no footage is.
        """
        shape = self.size[1] * self.sub_cells[1], self.size[0] * self.sub_cells[0]
        left, top, right, bottom = self.lens.box
        high, wide = self.board.shape[:2]
        found = []
        for count, whole, inside, first, last in (
            (shape[0], high, self.fitted.height, top, bottom),
            (shape[1], wide, self.fitted.width, left, right),
        ):
            at = (np.arange(count) + 0.5) * whole / count - (whole - inside) // 2
            place = np.floor(first + at * (last - first) / inside).astype(int)
            found.append(np.where((at < 0) | (at >= inside), -1, place))
        return found[0], found[1]


def _each(make: Callable[[str], Any], names: list[str]) -> NDArray[Any]:
    """What is made of each name; of each only once."""
    numbers = {name: number for number, name in enumerate(dict.fromkeys(names))}
    return np.array([make(name) for name in numbers])[[numbers[name] for name in names]]


def _rgb(name: str) -> tuple[int, int, int]:
    if name == "default":
        return 0, 0, 0
    if name in BASIC:
        red, green, blue = BASIC[name]
        return red, green, blue
    return int(name[:2], 16), int(name[2:4], 16), int(name[4:], 16)
