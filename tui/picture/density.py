"""Painting without colours: the lighter a cell, the denser its glyph."""

from dataclasses import dataclass

import numpy as np

from tui.picture.cells import Cells, Pixels, stretch_of
from tui.picture.glyphs import GlyphSet
from tui.picture.solver import Drawing
from tui.picture.sums import Floats

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
