"""Cells drawn as an ideal terminal would, in sub-cells, and pictures to draw."""

import numpy as np
from numpy.typing import NDArray

from tui.picture.cells import Cells, Pixels
from tui.picture.glyphs import GlyphSet, Mask

Values = NDArray[np.float64]


def raster(cells: Cells, glyphs: GlyphSet) -> Pixels:
    """One pixel a sub-cell."""
    across, down = glyphs.sub_cells
    painted = glyphs.paints(cells.glyphs)[..., None]
    fore, back = cells.fore[:, :, None, None], cells.back[:, :, None, None]
    grid = np.where(painted, fore, back).transpose(0, 2, 1, 3, 4)
    columns, rows = cells.size
    return grid.reshape(rows * down, columns * across, 3)


def cell_errors(pixels: Pixels, cells: Cells, glyphs: GlyphSet) -> Values:
    """Mean squared error of each cell against the picture that it was made of."""
    across, down = glyphs.sub_cells
    columns, rows = cells.size
    squared = (raster(cells, glyphs).astype(float) - pixels) ** 2
    means: Values = squared.reshape(rows, down, columns, across, 3).mean(axis=(1, 3, 4))
    return means


def random_picture(seed: int, width: int, height: int) -> Pixels:
    """Noise over soft shapes, so that every split is the best one somewhere."""
    rng = np.random.default_rng(seed)
    coarse = rng.integers(0, 256, (height // 4 + 1, width // 4 + 1, 3))
    soft = np.kron(coarse, np.ones((4, 4, 1)))[:height, :width]
    noise = rng.normal(0, rng.choice([2, 20, 60]), (height, width, 3))
    return np.clip(soft + noise, 0, 255).astype(np.uint8)


EIGHTHS = {
    "ONE EIGHTH": 1, "ONE QUARTER": 2, "THREE EIGHTHS": 3, "HALF": 4,
    "FIVE EIGHTHS": 5, "THREE QUARTERS": 6, "SEVEN EIGHTHS": 7,
}  # fmt: skip


def mask_of_name(name: str) -> Mask:
    """The mask of a block element by its name in the Unicode Character Database."""
    mask = np.zeros((8, 8), bool)
    if name.startswith("QUADRANT "):
        for corner in name.removeprefix("QUADRANT ").split(" AND "):
            row, column = corner.split()
            mask[slice(4) if row == "UPPER" else slice(4, 8),
                 slice(4) if column == "LEFT" else slice(4, 8)] = True  # fmt: skip
        return mask
    side, _, amount = name.removesuffix(" BLOCK").partition(" ")
    k = EIGHTHS[amount]
    mask[{"UPPER": slice(k), "LOWER": slice(8 - k, 8)}.get(side, slice(None)),
         {"LEFT": slice(k), "RIGHT": slice(8 - k, 8)}.get(side, slice(None))] = True  # fmt: skip
    return mask
