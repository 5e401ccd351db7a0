"""Steadiness: what does not change in the footage does not change on the screen.

Two glyphs, or two listed colours, are often about as near to a cell's picture, and noise alone
would turn one into the other and back: a movement that is not in the footage. So a cell stays with
what it was drawn as until its picture differs by more than noise from the one it was drawn for;
that one is remembered, so that slow changes add up and nothing drifts.
"""

import numpy as np

from tui.picture.cells import Pixels
from tui.picture.glyphs import GlyphSet
from tui.picture.pens import Bools
from tui.picture.solver import Drawing
from tui.picture.sums import Floats, Splits

NOISE = 6.0
"""Root mean square of a cell's change, in 8-bit levels, up to which it is taken for noise."""


class Steady:
    """Remembers what each cell of a grid was drawn as, and for which picture."""

    def __init__(self, glyphs: GlyphSet, size: tuple[int, int]) -> None:
        columns, rows = size
        self._shape = rows, columns
        self._share = glyphs.share
        self._for: Pixels = np.zeros((rows, 1, columns, 1, 3), np.uint8)
        one, zero = np.zeros((2, rows, columns, 3), np.uint8)
        self._drawn = Drawing(np.zeros(self._shape, np.intp), one, zero)

    def unchanged(self, pixels: Pixels, cells: Bools) -> Bools:
        """Which of some drawn cells have the picture that they were drawn for, but for noise."""
        now = self._cut(pixels)
        same = np.zeros(self._shape, bool)
        if now.shape == self._for.shape:
            row, column = np.nonzero(cells)
            off = np.subtract(now[row, :, column], self._for[row, :, column], dtype=np.float32)
            same[row, column] = np.square(off).mean(axis=(1, 2, 3)) <= NOISE**2
        return same

    def hold(self, aim: Drawing, cells: Bools) -> None:
        """Aim some cells at what they were drawn as."""
        aim.split[cells] = self._drawn.split[cells]
        aim.one[cells], aim.zero[cells] = self._drawn.one[cells], self._drawn.zero[cells]

    def settle(self, cells: Bools, shadow: Drawing) -> None:
        """What is shown in some cells is as near as what they were aimed at: let it stay."""
        np.copyto(self._drawn.one, shadow.one, where=cells[..., None])
        np.copyto(self._drawn.zero, shadow.zero, where=cells[..., None])

    def off(self, shadow: Drawing, cells: Bools) -> Floats:
        """How far some cells, shown with the glyph that they were drawn as, are from it.

        Mean squared difference in 8-bit levels, for each of them in reading order: the colours of
        the terminal may differ, since changing them costs bytes.
        """
        share = self._share[shadow.split[cells]]
        one, zero = (
            np.square(np.subtract(shown[cells], meant[cells], dtype=np.float32)).mean(axis=-1)
            for shown, meant in ((shadow.one, self._drawn.one), (shadow.zero, self._drawn.zero))
        )
        distance: Floats = share * one + (1 - share) * zero
        return distance

    def drew(self, cells: tuple[Splits, Splits], pixels: Pixels, aim: Drawing) -> None:
        """Cells (their rows and columns) were drawn, aimed at this, for this picture."""
        now = self._cut(pixels)
        if now.shape != self._for.shape:
            self._for = np.zeros_like(now)
        row, column = cells
        self._for[row, :, column] = now[row, :, column]
        self._drawn.split[cells] = aim.split[cells]
        self._drawn.one[cells], self._drawn.zero[cells] = aim.one[cells], aim.zero[cells]

    def _cut(self, pixels: Pixels) -> Pixels:
        """The picture in cells: rows x lines x columns x pixels of a line x 3."""
        rows, columns = self._shape
        height, width = pixels.shape[:2]
        return pixels.reshape(rows, height // rows, columns, width // columns, 3)
