"""Escape sequences for cells.

Sequences: ECMA-48 (CUP, CUU, CUD, CUF, CUB, BS, SGR, REP). A vertical tab moves down one row in the
same column: xterm's control sequences say "treated the same as LF", as on the VT100, from memory. A
line feed itself would be made a new line by the operating system.
"""

from dataclasses import dataclass
from functools import cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from tui.picture.glyphs import GlyphSet
from tui.picture.palette import Palette
from tui.picture.strokes import Bools, Pens, Wanted

RESET = "\x1b[m"


@dataclass(frozen=True, slots=True)
class RowText:
    """What to write at the left end of a row, and the column at which it leaves the cursor."""

    text: str
    end: int


def forward(cells: int) -> str:
    """Moves the cursor to the right, writing nothing."""
    if cells <= 0:
        return ""
    return "\x1b[C" if cells == 1 else f"\x1b[{cells}C"


def row_texts(
    glyphs: GlyphSet, palette: Palette, wanted: Wanted, pens: Pens, *, repeats: bool
) -> dict[int, RowText]:
    """The text of every row with wanted cells, by row; each begins and ends without colours.

    With ``repeats``, runs of one glyph are written with REP where that is shorter.
    """
    pieces = _pieces(glyphs, palette, wanted, pens, repeats=repeats)
    pieces[:, 0] = _moves(wanted, _follow(wanted))
    end = RESET if pens.new_fore.any() or pens.new_back.any() else ""
    rows, starts = np.unique(wanted.row, return_index=True)
    stops = np.append(starts, len(wanted.row))[1:]
    return {
        int(row): RowText(
            "".join(pieces[start:stop].ravel()) + end, int(wanted.column[stop - 1]) + 1
        )
        for row, start, stop in zip(rows, starts, stops, strict=True)
    }


def scattered_text(
    glyphs: GlyphSet,
    palette: Palette,
    wanted: Wanted,
    pens: Pens,
    place: tuple[int, int],
    columns: int,
    *,
    repeats: bool,
) -> str:
    """The text of cells in any order, of a picture so wide; it ends without colours.

    ``place`` is the picture's row and column on the screen, from 0. The cursor may be anywhere.
    """
    pieces = _pieces(glyphs, palette, wanted, pens, repeats=repeats)
    row, column = wanted.row, wanted.column
    moved = ~_follow(wanted)
    down, right = np.diff(row, prepend=0), np.diff(column, prepend=0) - 1
    # where the cursor is after the last column differs between terminals
    known = np.append(False, column[:-1] + 1 < columns)
    steps = zip(
        np.flatnonzero(moved).tolist(),
        known[moved].tolist(),
        down[moved].tolist(),
        right[moved].tolist(),
        (row[moved] + place[0]).tolist(),
        (column[moved] + place[1]).tolist(),
        strict=True,
    )
    for index, is_known, rows, cells, *at in steps:
        to = cursor_to(*at)
        pieces[index, 0] = min(to, _step(rows, cells), key=len) if is_known else to
    return "".join(pieces.ravel()) + RESET


@cache
def cursor_to(row: int, column: int) -> str:
    """Moves the cursor to a row and column of the screen, from 0."""
    return f"\x1b[{row + 1};{column + 1}H"


@cache
def _step(down: int, right: int) -> str:
    """Moves the cursor by rows and columns within the screen."""
    if down > 0:
        vertical = min("\v" * down, f"\x1b[{down}B", key=len)
    else:
        vertical = f"\x1b[{-down}A" if down < -1 else "\x1b[A" * -down
    if right < 0:
        return vertical + min("\b" * -right, f"\x1b[{-right}D", key=len)
    return vertical + forward(right)


def _pieces(
    glyphs: GlyphSet, palette: Palette, wanted: Wanted, pens: Pens, *, repeats: bool
) -> NDArray[Any]:
    """The texts of cells (n x 3): room for a move, colours, glyph."""
    pieces = np.full((len(wanted.row), 3), "", object)
    codes = np.where(
        pens.inverse, glyphs.inverse[wanted.split], glyphs.direct[wanted.split]
    ).tolist()
    pieces[:, 1] = _colours(palette, pens)
    pieces[:, 2] = [chr(code) for code in codes]
    if repeats:
        same = _follow(wanted) & ~pens.new_fore & ~pens.new_back
        same[1:] &= np.equal(codes[1:], codes[:-1])
        _repeat(pieces, same)
    return pieces


def _follow(wanted: Wanted) -> Bools:
    """Whether a cell comes straight after the one before it."""
    follows = np.zeros(len(wanted.row), bool)
    follows[1:] = (np.diff(wanted.row) == 0) & (np.diff(wanted.column) == 1)
    return follows


def _moves(wanted: Wanted, follows: Bools) -> list[str]:
    before = np.concatenate([[-1], wanted.column[:-1]])
    before[np.diff(wanted.row, prepend=-1) != 0] = -1
    gaps = np.where(follows, 0, wanted.column - before - 1)
    return [forward(gap) for gap in gaps.tolist()]


def _colours(palette: Palette, pens: Pens) -> NDArray[Any]:
    """The SGR sequences of cells; empty where no colour is new."""
    texts = np.full(len(pens.fore), "", object)
    both = pens.new_fore & pens.new_back
    fore, back = pens.new_fore & ~both, pens.new_back & ~both
    texts[fore] = "\x1b[" + palette.foreground(pens.fore[fore]) + "m"
    texts[back] = "\x1b[" + palette.background(pens.back[back]) + "m"
    first, second = palette.foreground(pens.fore[both]), palette.background(pens.back[both])
    texts[both] = "\x1b[" + first + ";" + second + "m"
    return texts


def _repeat(pieces: NDArray[Any], same: Bools) -> None:
    """Put REP in the place of cells that are the same as the one before."""
    edges = np.flatnonzero(np.diff(same, prepend=False, append=False))
    for start, stop in edges.reshape(-1, 2).tolist():
        sequence = f"\x1b[{stop - start}b"
        if len(sequence) < (stop - start) * len(pieces[start, 2].encode()):
            pieces[start:stop] = ""
            pieces[start, 2] = sequence
