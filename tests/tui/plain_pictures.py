"""Pictures in half blocks, drawn anew by the library: what a bench shows, read without an emulator.

Each cell is two square pixels, one above the other: the upper in the foreground's colour, the lower
in the background's.
"""

import numpy as np
from textual.strip import Strip
from textual.widget import Widget

from tui.picture.cells import CellPainter, Cells, Pixels
from tui.widgets.painting import cell_segments

UPPER_HALF = 0x2580


class HalfBlocks:
    """Two sub-cells a cell, painted as they are."""

    name = "half blocks"
    sub_cells = (1, 2)
    stretch = 1.0
    least_gap = 1

    def paint(self, pixels: Pixels) -> Cells:
        """Cells of a picture with an even number of pixel rows."""
        upper, lower = pixels[0::2], pixels[1::2]
        glyphs = np.full(upper.shape[:2], UPPER_HALF, np.uint32)
        return Cells(glyphs, np.ascontiguousarray(upper), np.ascontiguousarray(lower))


class CellsView(Widget):
    """Shows a grid of cells the size of the widget."""

    ALLOW_SELECT = False

    def __init__(self, *, id: str) -> None:  # noqa: A002 - Textual's own name
        super().__init__(id=id)
        self._cells: Cells | None = None

    def show(self, cells: Cells) -> None:
        """Draw a grid."""
        self._cells = cells
        self.refresh()

    def render_line(self, y: int) -> Strip:
        """One row of cells."""
        if self._cells is None or y >= self._cells.size[1]:
            return Strip.blank(self.size.width)
        return Strip(cell_segments(self._cells, y), self._cells.size[0])


class PlainPictures:
    """Ways to draw on views of cells, which always have room for a picture."""

    idle = True
    note = doubt = ""

    def __init__(self, painter: CellPainter) -> None:
        self.painter = painter
        self.words = painter.name

    def frame_view(self, name: str) -> Widget:
        """A view of cells."""
        return CellsView(id=name)

    strip_view = frame_view

    def ready(self, view: Widget) -> bool:
        """A view takes every picture."""
        return True

    def show(self, view: Widget, board: Pixels) -> None:
        """Paint, and let the library draw."""
        assert isinstance(view, CellsView)
        view.show(self.painter.paint(board))
