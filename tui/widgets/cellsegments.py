"""Rows of cells as the library's segments."""

import itertools
from functools import lru_cache

import numpy as np
from rich.color import Color
from rich.segment import Segment
from rich.style import Style

from tui.picture.cells import Cells


def cell_segments(cells: Cells, row: int, first: int = 0, last: int | None = None) -> list[Segment]:
    """Segments of a part of a row; neighbours that look alike share one."""
    place = slice(first, last)
    glyphs, fore, back = cells.glyphs[row, place], cells.fore[row, place], cells.back[row, place]
    same = (fore[1:] == fore[:-1]).all(axis=1) & (back[1:] == back[:-1]).all(axis=1)
    starts = [0, *(int(i) + 1 for i in np.flatnonzero(~same)), len(glyphs)]
    return [
        Segment(_text(glyphs[begin:end]), _style(tuple(fore[begin]), tuple(back[begin])))
        for begin, end in itertools.pairwise(starts)
    ]


def plain_segments(cells: Cells, row: int, first: int, last: int) -> list[Segment]:
    """A part of a row without colours."""
    return [Segment(_text(cells.glyphs[row, first:last]))]


def _text(glyphs: np.ndarray) -> str:
    return "".join(map(chr, glyphs.tolist()))


@lru_cache(maxsize=65536)
def _style(fore: tuple[int, int, int], back: tuple[int, int, int]) -> Style:
    return Style(color=Color.from_rgb(*map(int, fore)), bgcolor=Color.from_rgb(*map(int, back)))
