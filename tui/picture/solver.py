"""The painters: for all cells at once, the glyph and the colours that are nearest the picture.

The exact solver puts both colours at the means of the two parts of a cell. The squared error of a
split is then the cell's own spread less |S - share T|^2 / (share (1 - share)), where S sums the
*one* part and T the cell, both over the number of sub-cells (the between-group sum of squares of
any analysis of variance). So the best split is the one with the greatest such gain, and no other
glyph and colours do better. Without colours, the lighter a cell is, the denser is its glyph.
"""

from collections.abc import Callable, Iterator
from copy import copy
from dataclasses import dataclass
from functools import partial
from typing import Any, Protocol

import numpy as np
from numpy.typing import NDArray

from tui.picture.cells import Cells, Pixels, stretch_of
from tui.picture.glyphs import BLOCKS, HALVES, OCTANTS, GlyphSet

Floats = NDArray[np.floating[Any]]
"""Single precision: exact enough for sums of 64 levels, and twice as fast."""

Splits = NDArray[np.intp]

_BAND_CELLS = 640
"""Cells of a band, so that the sums of all octants stay in the processor's cache."""


class CellSums(Protocol):
    """What the splits of a picture's cells sum to."""

    pixels: Pixels
    """The picture."""
    whole: Floats
    """The mean of each cell: rows x columns x 3."""

    def bands(self) -> Iterator[Floats]:
        """The between-part sums of splits 1 and up, a band of cells at a time, in reading order.

        Each is splits x cells x 3: the sum of *one* less its share of the whole.
        """
        ...

    def of(self, split: Splits) -> Floats:
        """The sum of the *one* part of one split in each cell: rows x columns x 3."""
        ...


class PatternSums:
    """Sums for any set of glyphs, from the picture's sub-cells themselves."""

    def __init__(self, pixels: Pixels, glyphs: GlyphSet) -> None:
        self.pixels = pixels
        across, down = glyphs.sub_cells
        rows, columns = pixels.shape[0] // down, pixels.shape[1] // across
        cut = pixels.reshape(rows, down, columns, across, 3).transpose(1, 3, 0, 2, 4)
        parts = cut.reshape(down * across, rows, columns, 3) * np.float32(1 / (across * down))
        self.whole: Floats = parts.sum(axis=0)
        self._parts = parts
        self._masks = glyphs.masks.reshape(len(glyphs.masks), -1)

    def bands(self) -> Iterator[Floats]:
        """See ``CellSums``."""
        count = len(self._parts)
        centred = (self._parts - self.whole / count).reshape(count, -1)
        masks = self._masks[1:].astype(np.float32)
        for first in range(0, centred.shape[1], 3 * _BAND_CELLS):
            band = masks @ centred[:, first : first + 3 * _BAND_CELLS]
            yield band.reshape(len(masks), -1, 3)

    def of(self, split: Splits) -> Floats:
        """See ``CellSums``."""
        painted = self._masks[split].transpose(2, 0, 1)[..., None]
        total: Floats = (self._parts * painted).sum(axis=0)
        return total


def _adder(count: int, wanted: slice) -> Floats:
    """The matrix that sums some of ``count`` neighbouring RGB pixels, channel by channel."""
    matrix = np.zeros((count, 3, 3), np.float32)
    matrix[wanted] = np.eye(3)
    return matrix.reshape(-1, 3) / 64


_HALF_LINE = _adder(4, slice(4))
_BOTH_HALVES = 64 * _adder(2, slice(2))


class BlockSums:
    """Sums for ``BLOCKS``: all its splits come of a cell's eight half lines and eight columns."""

    def __init__(self, pixels: Pixels) -> None:
        self.pixels = pixels
        rows, columns = pixels.shape[0] // 8, pixels.shape[1] // 8
        values = pixels.astype(np.float32)
        lower = _from_below((values.reshape(-1, 12) @ _HALF_LINE).reshape(rows, 8, -1))
        means = np.empty((len(BLOCKS.masks), rows, columns, 3), np.float32)
        np.matmul(lower.reshape(-1, 6), _BOTH_HALVES, out=means[1:9].reshape(-1, 3))
        self.whole: Floats = means[8].copy()
        upright = values.reshape(rows, 8, -1).sum(axis=1).reshape(rows, columns, 8, 3)
        upright *= np.float32(1 / 64)
        means[8] = upright[:, :, 0]
        for k in range(1, 7):
            np.add(means[7 + k], upright[:, :, k], out=means[8 + k])
        _put_corners(means, lower)
        means[0] = 0
        self._means: Floats = means

    def renewed(
        self, pixels: Pixels, cells: tuple[Splits, Splits], new: "BlockSums"
    ) -> "BlockSums":
        """The sums of a picture that differs in some cells, whose sums are the only row of others.

        ``cells`` are their rows and columns.
        """
        sums = copy(self)
        sums.pixels, sums.whole, sums._means = pixels, self.whole.copy(), self._means.copy()
        sums.whole[cells] = new.whole[0]
        sums._means[:, cells[0], cells[1]] = new._means[:, 0]
        return sums

    def bands(self) -> Iterator[Floats]:
        """See ``CellSums``."""
        share = BLOCKS.share[1:, None, None]
        splits = len(share)
        yield self._means[1:].reshape(splits, -1, 3) - share * self.whole.reshape(-1, 3)

    def of(self, split: Splits) -> Floats:
        """See ``CellSums``."""
        place = split.ravel() * split.size + np.arange(split.size)
        chosen: Floats = self._means.reshape(-1, 3).take(place, axis=0).reshape(*split.shape, 3)
        return chosen


def _from_below(lines: Floats) -> Floats:
    """Of rows x 8 lines x values: the lowest line, the lowest two, and so on, of every row."""
    lower = np.empty((8, lines.shape[0], lines.shape[2]), np.float32)
    lower[0] = lines[:, 7]
    for k in range(1, 8):
        np.add(lower[k - 1], lines[:, 7 - k], out=lower[k])
    return lower


def _put_corners(means: Floats, lower: Floats) -> None:
    """The quadrants and their diagonal, the last five splits of ``BLOCKS``."""
    shape = (*means.shape[1:3], 2, 3)
    bottom, whole = lower[3].reshape(shape), lower[7].reshape(shape)
    top = whole - bottom
    means[15], means[16] = top[:, :, 0], top[:, :, 1]
    means[17], means[18] = bottom[:, :, 0], bottom[:, :, 1]
    np.add(means[15], means[18], out=means[19])


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


_LUMA = np.array([0.299, 0.587, 0.114], np.float32)
"""Rec. ITU-R BT.601: the weights of red, green and blue in luma."""


def _ramp(name: str, glyphs: str) -> GlyphSet:
    """Glyphs from empty to dense; their masks are never drawn."""
    codes = np.array([ord(glyph) for glyph in glyphs], np.uint32)
    return GlyphSet(name, np.zeros((len(codes), 1, 1), bool), codes, np.zeros_like(codes))


SHADES = _ramp("shades", " ░▒▓█")
"""The shades of the block elements."""

LETTERS = _ramp("letters", " .:-=+*#%@")
"""Plain ASCII, for terminals that know no other."""


@dataclass(frozen=True, eq=False)
class DensitySolution:
    """The densest glyph that a cell's lightness asks for."""

    glyphs: GlyphSet
    best: Drawing
    pixels: Pixels
    luma: Floats

    @property
    def size(self) -> tuple[int, int]:
        """Columns and rows."""
        rows, columns = self.best.split.shape
        return columns, rows

    def cost(self, drawing: Drawing) -> Floats:
        """Squared error of each cell's lightness, in 8-bit levels squared: rows x columns."""
        shown = drawing.split * (255 / (len(self.glyphs.direct) - 1))
        cost: Floats = np.square(shown - self.luma)
        return cost

    def cells(self) -> Cells:
        """White glyphs on black."""
        return Cells(self.glyphs.direct[self.best.split], self.best.one, self.best.zero)


@dataclass(frozen=True, eq=False)
class DensityPainter:
    """Paints light as dense glyphs; one sub-cell a cell."""

    name: str
    glyphs: GlyphSet
    sub_cells: tuple[int, int] = (1, 1)
    stretch: float = stretch_of((1, 1))
    least_gap: int = 2

    def solve(self, pixels: Pixels) -> DensitySolution:
        """The solution for a picture with a pixel for each cell."""
        luma = pixels.astype(np.float32) @ _LUMA
        steps = len(self.glyphs.direct) - 1
        split = np.rint(luma * (steps / 255)).astype(np.intp)
        white = np.full((*split.shape, 3), 255, np.uint8)
        return DensitySolution(
            self.glyphs, Drawing(split, white, np.zeros_like(white)), pixels, luma
        )

    def paint(self, pixels: Pixels) -> Cells:
        """Cells of a picture with a pixel for each cell."""
        return self.solve(pixels).cells()


SHADE_PAINTER = DensityPainter("shades", SHADES)
LETTER_PAINTER = DensityPainter("letters", LETTERS)
