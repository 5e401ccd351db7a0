"""Cells: what a terminal can show of a picture, and how pictures are laid on a grid of them."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray
from PIL import Image

Pixels = NDArray[np.uint8]
"""An RGB picture: height x width x 3, values 0 to 255."""

BLACK = (0, 0, 0)


@dataclass(frozen=True, eq=False)
class Cells:
    """A grid of cells: ``glyphs`` (rows x columns, code points), ``fore`` and ``back`` (RGB)."""

    glyphs: NDArray[np.uint32]
    fore: Pixels
    back: Pixels

    @property
    def size(self) -> tuple[int, int]:
        """Columns and rows."""
        rows, columns = self.glyphs.shape
        return columns, rows

    def changed_rows(self, other: "Cells | None") -> list[int]:
        """The rows in which another grid looks different; all of them where sizes differ."""
        if other is None or other.size != self.size:
            return list(range(self.glyphs.shape[0]))
        same = (
            (self.glyphs == other.glyphs).all(axis=1)
            & (self.fore == other.fore).all(axis=(1, 2))
            & (self.back == other.back).all(axis=(1, 2))
        )
        return [int(row) for row in np.flatnonzero(~same)]


def stretch_of(sub_cells: tuple[int, int]) -> float:
    """How many times as high as wide a sub-cell is, of a cell that is twice as high as wide.

    Most terminals' cells are nearly so; common practice, no source.
    """
    across, down = sub_cells
    return 2 * across / down


class CellPainter(Protocol):
    """Makes cells of pictures; ``sub_cells`` is how many it tells apart in a cell, across and down.

    A gap of ``least_gap`` sub-cells is shown wherever
    it falls.
    """

    @property
    def name(self) -> str:
        """What it paints with."""
        ...

    @property
    def sub_cells(self) -> tuple[int, int]:
        """Sub-cells of a cell, across and down."""
        ...

    @property
    def stretch(self) -> float:
        """How many times as high as wide a sub-cell is."""
        ...

    @property
    def least_gap(self) -> int:
        """The narrowest gap, in sub-cells, that surely shows."""
        ...

    def paint(self, pixels: Pixels) -> Cells:
        """Cells of a picture whose size is a whole number of sub-cells."""
        ...


@dataclass(frozen=True, slots=True)
class Fit:
    """Where a picture lies on a grid: its size in sub-cells, and source pixels per sub-cell."""

    width: int
    height: int
    scale: float
    """Source pixels that a sub-cell covers from top to bottom."""
    across: float
    """Source pixels that a sub-cell covers from left to right."""


def fit(
    source: tuple[int, int], columns: int, rows: int, painter: CellPainter, aspect: float = 1.0
) -> Fit:
    """The largest size, in sub-cells, that shows a source (width, height in pixels) whole.

    ``aspect`` is width by height of one source pixel as displayed.
    """
    across, down = painter.sub_cells
    stretch = painter.stretch
    width, height = source[0] * aspect, source[1]
    scale = max(width * stretch / (columns * across), height / (rows * down))
    fitted_width = max(1, min(columns * across, round(width * stretch / scale)))
    fitted_height = max(1, min(rows * down, round(height / scale)))
    return Fit(fitted_width, fitted_height, scale, scale / stretch / aspect)


def scaled(pixels: Pixels, width: int, height: int) -> Pixels:
    """A picture scaled by area to a width and height in pixels."""
    across, down = width % pixels.shape[1], height % pixels.shape[0]
    # whole multiples only repeat pixels, which the plainer way does in half the time
    way = Image.Resampling.BOX if across or down else Image.Resampling.NEAREST
    image = Image.fromarray(pixels).resize((width, height), way)
    return np.asarray(image)


def canvas(columns: int, rows: int, painter: CellPainter) -> Pixels:
    """A black picture of a grid's size in sub-cells."""
    across, down = painter.sub_cells
    return np.zeros((rows * down, columns * across, 3), np.uint8)


def place(target: Pixels, pixels: Pixels, left: int, top: int) -> None:
    """Lay a picture on a canvas at a place in sub-cells."""
    height, width = pixels.shape[:2]
    target[top : top + height, left : left + width] = pixels


def frame_board(
    pixels: Pixels, columns: int, rows: int, painter: CellPainter
) -> tuple[Pixels, Fit]:
    """A picture centred on a grid, in sub-cells, and how it fits."""
    height, width = pixels.shape[:2]
    fitted = fit((width, height), columns, rows, painter)
    board = canvas(columns, rows, painter)
    left = (board.shape[1] - fitted.width) // 2
    top = (board.shape[0] - fitted.height) // 2
    place(board, scaled(pixels, fitted.width, fitted.height), left, top)
    return board, fitted


def strip_board(
    pictures: Sequence[Pixels | None], columns: int, rows: int, painter: CellPainter
) -> Pixels:
    """Pictures side by side in equal shares of a grid; a missing one leaves its share black.

    Shares narrower than a cell stay black: there is no room for a picture.
    """
    board = canvas(columns, rows, painter)
    share = board.shape[1] // len(pictures)
    for index, pixels in enumerate(pictures):
        if pixels is None or share < painter.sub_cells[0]:
            continue
        size = (pixels.shape[1], pixels.shape[0])
        fitted = fit(size, max(1, (share - 1) // painter.sub_cells[0]), rows, painter)
        left = index * share + (share - fitted.width) // 2
        top = (board.shape[0] - fitted.height) // 2
        place(board, scaled(pixels, fitted.width, fitted.height), left, top)
    return board
