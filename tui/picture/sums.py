"""Sums of what each split of a cell paints, for all cells of a picture at once.

All of them are *means*: the sum over a split's sub-cells, divided by the sub-cells of a cell.
"""

from collections.abc import Iterator
from copy import copy
from typing import Any, Protocol

import numpy as np
from numpy.typing import NDArray

from tui.picture.cells import Pixels
from tui.picture.glyphs import BLOCKS, GlyphSet

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
