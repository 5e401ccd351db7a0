"""A picture in cells; only rows that changed are drawn again."""

import itertools
from functools import lru_cache

import numpy as np
from rich.color import Color
from rich.segment import Segment
from rich.style import Style
from textual.geometry import Region
from textual.strip import Strip
from textual.widget import Widget

from tui.picture.cells import Cells


class CellsView(Widget):
    """Shows a grid of cells the size of the widget."""

    ALLOW_SELECT = False

    def __init__(self, *, id: str) -> None:  # noqa: A002 - Textual's own name
        super().__init__(id=id)
        self._cells: Cells | None = None

    def show(self, cells: Cells) -> None:
        """Draw a grid, touching only the rows that differ from what is shown."""
        before, self._cells = self._cells, cells
        rows = cells.changed_rows(before)
        if len(rows) == cells.size[1]:
            self.refresh()
        elif rows:
            self.refresh(*[Region(0, row, cells.size[0], 1) for row in rows])

    def render_line(self, y: int) -> Strip:
        """One row of cells."""
        if self._cells is None or y >= self._cells.size[1]:
            return Strip.blank(self.size.width)
        return Strip(_segments(self._cells, y), self._cells.size[0])


def _segments(cells: Cells, row: int) -> list[Segment]:
    """Segments of one row; neighbours that look alike share one."""
    glyphs, fore, back = cells.glyphs[row], cells.fore[row], cells.back[row]
    same = (fore[1:] == fore[:-1]).all(axis=1) & (back[1:] == back[:-1]).all(axis=1)
    starts = [0, *(int(i) + 1 for i in np.flatnonzero(~same)), len(glyphs)]
    segments = []
    for first, last in itertools.pairwise(starts):
        text = "".join(map(chr, glyphs[first:last].tolist()))
        segments.append(Segment(text, _style(tuple(fore[first]), tuple(back[first]))))
    return segments


@lru_cache(maxsize=65536)
def _style(fore: tuple[int, int, int], back: tuple[int, int, int]) -> Style:
    return Style(color=Color.from_rgb(*map(int, fore)), bgcolor=Color.from_rgb(*map(int, back)))
