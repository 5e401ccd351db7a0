"""Pixels, tile by tile, for terminals that draw them: kitty's graphics protocol, and sixels.

Kitty's protocol: its documentation, from memory. An image with a z-index below INT32_MIN / 2 is
drawn under cells that have a background colour of their own, so a dialog covers the picture just
by being written, and a row that is erased to the default background shows it again. An image
sent again under its number takes the place of the old one at once.

Sixels: DEC's VT330/340 manual (EK-VT3XX-TP), chapter 14, and ECMA-48, from memory. Each is drawn in
its place over what was there. Pixels that a picture does not set stay as they are, so that its last
band of six lines may reach beyond the row; text that is written over a picture takes its place. The
cursor is saved and restored, for terminals do not agree on where a picture leaves it. Colours are
given in percent.
"""

import base64
import itertools
import re
import zlib
from abc import ABC, abstractmethod
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from tui.picture.cells import Cells, Pixels
from tui.picture.delta import MOVING, STILL, DeltaEncoder, Fineness, greatest
from tui.picture.escapes import RESET, RowText, forward
from tui.picture.glyphs import BLOCKS, GlyphSet
from tui.picture.palette import Palette
from tui.picture.solver import BLOCK_PAINTER, Drawing, Floats, Solution
from tui.picture.strokes import Bools

BEHIND = -(1 << 30) - 1
CHUNK = 4096
"""Bytes of base64 in one sequence, at most."""

IMAGES = 100_000
"""The numbers of images that a picture has for its own."""


@dataclass(frozen=True, eq=False)
class PixelSolution:
    """A picture with all its pixels; as cells it is drawn in blocks."""

    pixels: Pixels
    cell: tuple[int, int]
    """Width and height of a cell in pixels."""

    @cached_property
    def blocks(self) -> Solution:
        """The picture in blocks, for where pixels cannot be."""
        columns, rows = self.size
        across, down = BLOCK_PAINTER.sub_cells
        size = (columns * across, rows * down)
        scaled = Image.fromarray(self.pixels).resize(size, Image.Resampling.BOX)
        return BLOCK_PAINTER.solve(np.asarray(scaled))

    @property
    def size(self) -> tuple[int, int]:
        """Columns and rows."""
        height, width = self.pixels.shape[:2]
        return width // self.cell[0], height // self.cell[1]

    @property
    def glyphs(self) -> GlyphSet:
        """The set that blocks are made of."""
        return BLOCKS

    @property
    def best(self) -> Drawing:
        """The best drawing in blocks."""
        return self.blocks.best

    def cost(self, drawing: Drawing) -> Floats:
        """See ``Solution``."""
        return self.blocks.cost(drawing)

    def cells(self) -> Cells:
        """The picture in blocks."""
        return self.blocks.cells()


@dataclass(frozen=True, slots=True)
class PixelPainter:
    """Paints with the pixels of the terminal; ``sub_cells`` is a cell's size in pixels."""

    sub_cells: tuple[int, int]
    registers: int = 0
    """Colours that sixel has at a time; 0 where kitty's protocol is spoken."""
    name: str = "pixels"
    stretch: float = 1.0
    """Pixels of a screen are square, whatever the shape of a cell."""
    least_gap: int = 1

    def solve(self, pixels: Pixels) -> PixelSolution:
        """Nothing is to be solved."""
        return PixelSolution(pixels, self.sub_cells)

    def paint(self, pixels: Pixels) -> Cells:
        """The picture in blocks."""
        return self.solve(pixels).cells()


class TileEncoder(ABC):
    """Keeps a shadow of one picture in pixels; its methods are those of ``DeltaEncoder``.

    ``TILE`` columns of a row are the least that is sent; they take about the bytes of
    ``TILE_CELLS`` cells.
    """

    TILE, TILE_CELLS = 8, 40

    def __init__(self, size: tuple[int, int], cell: tuple[int, int], palette: Palette) -> None:
        columns, rows = self.size = size
        self._cell = cell
        self._blocks = DeltaEncoder(BLOCKS, palette, size)
        self._tiles = -(-columns // self.TILE)
        self._aim = PixelSolution(np.zeros((rows * cell[1], columns * cell[0], 3), np.uint8), cell)
        self._shadow = self._aim.pixels.copy()
        self._valid = np.zeros(rows, bool)
        self._send = np.zeros((rows, self._tiles), bool)
        self._sent = self._send.copy()
        self._blocks_aim: PixelSolution | None = None

    def invalidate(self, row: int | None = None) -> None:
        """Take nothing for granted of a row, or of all."""
        self._valid[slice(None) if row is None else row] = False

    def follow(self, solved: PixelSolution, most: int | None = None) -> list[int]:
        """Aim at the next picture of many; see ``aim``."""
        return self.aim(solved, MOVING, most)

    def aim(self, solved: PixelSolution, fineness: Fineness, most: int | None = None) -> list[int]:
        """Aim at a picture; gives the rows that have tiles to send.

        A tile is due when one of its cells is off by more than ``fineness.floor``. ``most`` limits
        what is sent of valid rows to the bytes of so many cells.
        """
        self._aim = solved
        error = self._tile_errors()
        send: Bools = (error > fineness.floor**2) & self._valid[:, None]
        if most is not None:
            send = greatest(error, send, max(1, most // self.TILE_CELLS))
        send[~self._valid] = True
        self._send = send
        return [int(row) for row in np.flatnonzero(send.any(axis=1))]

    def encode(self, rows: Iterable[int]) -> dict[int, RowText]:
        """The text of some rows, by row; rows with nothing to send are left out."""
        texts = {}
        for row in rows:
            due = self._send[row] | ~self._valid[row]
            self._sent[row] = due
            if due.any():
                texts[row] = self._row_text(row, np.flatnonzero(due).tolist())
        return texts

    def scattered(self, rows: Iterable[int], place: tuple[int, int]) -> str | None:
        """Never: tiles are placed row by row."""
        return None

    def piece(self, row: int, first: int, last: int) -> str:
        """The cells of a row from one column up to another, in blocks; the row is invalid then."""
        self.invalidate(row)
        if self._blocks_aim is not self._aim:
            self._blocks_aim = self._aim
            self._blocks.aim(self._aim, STILL)
        return self._blocks.piece(row, first, last)

    def commit(self, *rows: int) -> None:
        """Rows that were encoded have been written."""
        for row in rows:
            for tile in np.flatnonzero(self._sent[row]).tolist():
                place = self._place(row, tile)
                self._shadow[place] = self._aim.pixels[place]
            self._valid[row] |= bool(self._sent[row].all())

    def _tile_errors(self) -> Floats:
        """The mean squared error of each tile's worst cell: rows x tiles."""
        columns, rows = self.size
        width, height = self._cell
        off = np.subtract(self._aim.pixels, self._shadow, dtype=np.float32)
        np.square(off, out=off)
        lines = off.reshape(rows, height, -1).mean(axis=1)
        cells = lines.reshape(rows, columns, 3 * width).mean(axis=2)
        padded = np.zeros((rows, self._tiles * self.TILE), np.float32)
        padded[:, :columns] = cells
        worst: Floats = padded.reshape(rows, self._tiles, self.TILE).max(axis=2)
        return worst

    def _place(self, row: int, tile: int) -> tuple[slice, slice]:
        width, height = self._cell
        return (
            slice(row * height, (row + 1) * height),
            slice(tile * self.TILE * width, (tile + 1) * self.TILE * width),
        )

    @abstractmethod
    def _row_text(self, row: int, tiles: list[int]) -> RowText:
        """The text that draws some tiles of a row."""


class KittyEncoder(TileEncoder):
    """Tiles as images of kitty's protocol.

    ``first`` is the number of its first image; each view of a screen needs ``IMAGES`` numbers.
    """

    def __init__(
        self, size: tuple[int, int], cell: tuple[int, int], palette: Palette, first: int
    ) -> None:
        super().__init__(size, cell, palette)
        self._first, self._forgets = first, True
        # a depth of its own is what older versions too can delete a view's images by
        self._depth = BEHIND - first // IMAGES

    def _row_text(self, row: int, tiles: list[int]) -> RowText:
        text = "" if self._valid[row] else f"{RESET}\x1b[{self.size[0]}X"
        if self._forgets:
            self._forgets = False
            text += f"\x1b_Ga=d,q=2,d=Z,z={self._depth}\x1b\\"
        at = 0
        for tile in tiles:
            text += forward(tile * self.TILE - at) + self._image(row, tile)
            at = tile * self.TILE
        return RowText(text, at)

    def _image(self, row: int, tile: int) -> str:
        pixels = self._aim.pixels[self._place(row, tile)]
        columns = min(self.TILE, self.size[0] - tile * self.TILE)
        data = base64.b64encode(zlib.compress(pixels.tobytes(), 6)).decode("ascii")
        number = self._first + row * self._tiles + tile
        control = (
            f"a=T,q=2,f=24,o=z,s={pixels.shape[1]},v={pixels.shape[0]},i={number},p=1,"
            f"c={columns},r=1,C=1,z={self._depth},"
        )
        parts = [data[i : i + CHUNK] for i in range(0, len(data), CHUNK)]
        last = len(parts) - 1
        return "".join(
            f"\x1b_G{control if i == 0 else ''}m={int(i < last)};{part}\x1b\\"
            for i, part in enumerate(parts)
        )


MOST_COLOURS = 64
"""Colours of one picture: each costs a pass over every band that it is in."""

MOST_COLUMNS = 32
"""Columns of one picture: the fewer share its colours, the nearer these are."""

BAND = 6
_WEIGHTS = 2 ** np.arange(BAND, dtype=np.uint8)
_RUN = re.compile(rb"(.)\1{3,}", re.DOTALL)


class SixelEncoder(TileEncoder):
    """Cells as sixels; ``registers`` limits the colours of a picture.

    Cells near each other are drawn as one picture, which leaves those between them as they are:
    with other colours they would seem to change.
    """

    TILE, TILE_CELLS = 1, 5

    def __init__(
        self, size: tuple[int, int], cell: tuple[int, int], palette: Palette, registers: int
    ) -> None:
        super().__init__(size, cell, palette)
        self._colours = min(registers, MOST_COLOURS)

    def aim(self, solved: PixelSolution, fineness: Fineness, most: int | None = None) -> list[int]:
        """See ``TileEncoder``; with few colours nothing is refined below the noise of footage."""
        return super().aim(solved, MOVING if fineness.floor < MOVING.floor else fineness, most)

    def _row_text(self, row: int, tiles: list[int]) -> RowText:
        width, height = self._cell
        lines = self._aim.pixels[row * height : (row + 1) * height]
        text, at = "", 0
        for _, group in itertools.groupby(tiles, lambda tile: tile // MOST_COLUMNS):
            columns = list(group)
            first, last = columns[0], columns[-1]
            drawn = np.zeros(last + 1 - first, bool)
            drawn[np.subtract(columns, first)] = True
            part = lines[:, first * width : (last + 1) * width]
            picture = sixels(part, drawn.repeat(width), self._colours)
            text += f"{forward(first - at)}\x1b7{picture}\x1b8"
            at = first
        return RowText(text, at)


def sixels(pixels: Pixels, drawn: Bools, colours: int) -> str:
    """Some pixel columns of a picture in at most so many colours, as one control string.

    All other columns stay as they are on the screen.
    """
    chosen = Image.fromarray(pixels[:, drawn]).quantize(
        colours, Image.Quantize.MEDIANCUT, dither=Image.Dither.NONE
    )
    listed = np.array(chosen.getpalette("RGB"), np.uint16).reshape(-1, 3)
    height, width = pixels.shape[:2]
    numbers = np.full((height, width), -1, np.int16)
    numbers[:, drawn] = np.asarray(chosen)
    shares = ((listed * 100 + 127) // 255).tolist()
    used = np.unique(numbers[:, drawn]).tolist()
    palette = "".join("#{};2;{};{};{}".format(number, *shares[number]) for number in used)
    bands = [_band(numbers[top : top + BAND]) for top in range(0, height, BAND)]
    return f'\x1bP0;1q"1;1;{width};{height}{palette}{"-".join(bands)}\x1b\\'


def _band(numbers: NDArray[np.int16]) -> str:
    """Six lines or fewer: a pass for each colour that is in them."""
    weights = _WEIGHTS[: len(numbers), None]
    passes = []
    for number in np.unique(numbers[numbers >= 0]).tolist():
        sums = ((numbers == number) * weights).sum(axis=0, dtype=np.uint8) + np.uint8(63)
        data = sums.tobytes().rstrip(b"?")
        short = _RUN.sub(lambda run: b"!%d%c" % (len(run[0]), run[1][0]), data)
        passes.append(f"#{number}{short.decode('ascii')}")
    return "$".join(passes)
