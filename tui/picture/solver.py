"""The exact solver: for all cells at once, the glyph and two colours that are nearest the picture.

With the colours at the means of the two parts, the squared error of a split is the cell's own
spread less |S - share T|^2 / (share (1 - share)), where S sums the *one* part and T the cell, both
over the number of sub-cells (the between-group sum of squares of any analysis of variance). So the
best split is the one with the greatest such gain, and no other glyph and colours do better.
"""

from collections.abc import Callable
from dataclasses import dataclass
from functools import partial

import numpy as np

from tui.picture.cells import Cells, Pixels, stretch_of
from tui.picture.glyphs import BLOCKS, HALVES, OCTANTS, GlyphSet
from tui.picture.sums import BlockSums, CellSums, Floats, PatternSums, Splits

FLAT_GAIN = 1.0
"""A split must lower a cell's mean squared error by more than this, in 8-bit levels squared."""

_CHANNEL_MEAN = np.full(3, 1 / 3, np.float32)


@dataclass(frozen=True, eq=False)
class Drawing:
    """Which split each cell shows (rows x columns) and its two colours, ``one`` and ``zero``."""

    split: Splits
    one: Pixels
    zero: Pixels


@dataclass(frozen=True, eq=False)
class Solution:
    """The best drawing of a picture, and what is needed to weigh any other against it."""

    glyphs: GlyphSet
    best: Drawing
    sums: CellSums

    @property
    def size(self) -> tuple[int, int]:
        """Columns and rows."""
        rows, columns = self.best.split.shape
        return columns, rows

    @property
    def pixels(self) -> Pixels:
        """The picture."""
        return self.sums.pixels

    def cost(self, drawing: Drawing) -> Floats:
        """Mean squared error of each cell, up to the same constant for every drawing of a cell.

        In 8-bit levels squared, over sub-cells and channels: rows x columns.
        """
        one_part = self.sums.of(drawing.split)
        share = self.glyphs.share[drawing.split][..., None]
        one, zero = drawing.one.astype(np.float32), drawing.zero.astype(np.float32)
        error = one * (share * one - 2 * one_part)
        error += zero * ((1 - share) * zero - 2 * (self.sums.whole - one_part))
        mean: Floats = error @ _CHANNEL_MEAN
        return mean

    def cells(self) -> Cells:
        """The best drawing as cells, *one* in the foreground."""
        best = self.best
        return Cells(self.glyphs.direct[best.split], best.one, best.zero)


def solve(glyphs: GlyphSet, sums: CellSums) -> Solution:
    """The best drawing with a set of glyphs."""
    share = glyphs.share
    spread = (share[1:] * (1 - share[1:]))[:, None]
    found = [_best_of_band(band, spread) for band in sums.bands()]
    split, difference = (np.concatenate(part) for part in zip(*found, strict=True))
    shape = sums.whole.shape[:2]
    part, mean = share[split][:, None], sums.whole.reshape(-1, 3)
    drawing = Drawing(
        split.reshape(shape),
        _levels(mean + difference / np.where(part > 0, part, 1), shape),
        _levels(mean - difference / (1 - part), shape),
    )
    return Solution(glyphs, drawing, sums)


def _best_of_band(between: Floats, spread: Floats) -> tuple[Splits, Floats]:
    """The best split of each cell (0 where none gains enough) and its between-part sum."""
    gain = np.square(between) @ _CHANNEL_MEAN
    gain /= spread
    split = gain.argmax(axis=0)
    difference = between[split, np.arange(len(split))]
    flat = gain.max(axis=0) <= FLAT_GAIN
    difference[flat] = 0
    return np.where(flat, 0, split + 1), difference


def _levels(colours: Floats, shape: tuple[int, ...]) -> Pixels:
    levels: Pixels = np.clip(colours + 0.5, 0, 255).astype(np.uint8).reshape(*shape, 3)
    return levels


@dataclass(frozen=True, eq=False)
class GlyphPainter:
    """Paints with a set of glyphs, each cell as near the picture as the set allows."""

    name: str
    glyphs: GlyphSet
    sums: Callable[[Pixels], CellSums]
    least_gap: int = 1
    """The narrowest gap, in sub-cells, that surely shows, in at least a quarter of its contrast."""

    @property
    def sub_cells(self) -> tuple[int, int]:
        """Sub-cells of a cell, across and down."""
        return self.glyphs.sub_cells

    @property
    def stretch(self) -> float:
        """How many times as high as wide a sub-cell is."""
        return stretch_of(self.sub_cells)

    def solve(self, pixels: Pixels, before: Solution | None = None) -> Solution:
        """The solution for a picture whose size is a whole number of cells.

        Where most cells are the same, to the pixel, as in a picture solved before, as they are
        where nothing moves in coded footage, only the others are solved.
        """
        if before is not None and before.glyphs is self.glyphs:
            cells = _differing(before.pixels, pixels, self.sub_cells)
            if cells is not None and isinstance(before.sums, BlockSums):
                return _renewed(before, before.sums, pixels, cells)
        return solve(self.glyphs, self.sums(pixels))

    def paint(self, pixels: Pixels) -> Cells:
        """Cells of a picture whose size is a whole number of cells."""
        return self.solve(pixels).cells()


def _differing(
    before: Pixels, pixels: Pixels, sub_cells: tuple[int, int]
) -> tuple[Splits, Splits] | None:
    """Rows and columns of the cells in which two pictures differ; None where these are many."""
    if before.shape != pixels.shape:
        return None
    across, down = sub_cells
    rows, columns = pixels.shape[0] // down, pixels.shape[1] // across
    lines = (before != pixels).reshape(rows, down, -1).any(axis=1)
    row, column = np.nonzero(lines.reshape(rows, columns, -1).any(axis=-1))
    return None if 2 * len(row) > rows * columns else (row, column)


def _renewed(
    before: Solution, sums: BlockSums, pixels: Pixels, cells: tuple[Splits, Splits]
) -> Solution:
    """A solution with some cells solved anew."""
    row, column = cells
    rows, columns = before.best.split.shape
    cut = pixels.reshape(rows, 8, columns, 8, 3)[row, :, column]
    new = solve(before.glyphs, BlockSums(cut.transpose(1, 0, 2, 3).reshape(8, -1, 3)))
    best = Drawing(before.best.split.copy(), before.best.one.copy(), before.best.zero.copy())
    best.split[cells] = new.best.split[0]
    best.one[cells], best.zero[cells] = new.best.one[0], new.best.zero[0]
    assert isinstance(new.sums, BlockSums)
    return Solution(before.glyphs, best, sums.renewed(pixels, cells, new.sums))


BLOCK_PAINTER = GlyphPainter("blocks", BLOCKS, BlockSums, least_gap=2)
OCTANT_PAINTER = GlyphPainter("octants", OCTANTS, partial(PatternSums, glyphs=OCTANTS))
HALF_PAINTER = GlyphPainter("half blocks", HALVES, partial(PatternSums, glyphs=HALVES))
