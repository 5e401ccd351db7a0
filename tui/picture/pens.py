"""Choosing the pens: with which colours cells are written, changing them as seldom as can be.

A terminal writes with a foreground and a background that stay until they are changed, and changing
one costs more bytes than a glyph. A cell is therefore written with the colours in force where that
adds no more than a tolerated error, and with foreground and background exchanged where the set has
the inverse glyph and that saves a change.
"""

from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import NDArray

from tui.picture.cells import Pixels
from tui.picture.glyphs import GlyphSet
from tui.picture.sums import Floats, Splits

Bools = NDArray[np.bool_]

_UNKNOWN = -1000.0
"""A level that no colour is near to: at the start of a row no pen is known."""


@dataclass(frozen=True, eq=False)
class Wanted:
    """Cells to be written: where they are (n) and what they show.

    ``slack`` is what each of a cell's colours may add to its mean squared error.
    """

    row: Splits
    column: Splits
    split: Splits
    one: Pixels
    zero: Pixels
    slack: Floats

    def at(self, places: Splits) -> "Wanted":
        """Some of the cells, in another order."""
        return Wanted(*(getattr(self, part.name)[places] for part in fields(self)))


@dataclass(frozen=True, eq=False)
class Pens:
    """How each wanted cell is written: its colours (n x 3), which are new, and which way round."""

    fore: Pixels
    back: Pixels
    new_fore: Bools
    new_back: Bools
    inverse: Bools

    @property
    def one(self) -> Pixels:
        """The colour that *one* really gets."""
        return np.where(self.inverse[:, None], self.back, self.fore)

    @property
    def zero(self) -> Pixels:
        """The colour that *zero* really gets."""
        return np.where(self.inverse[:, None], self.fore, self.back)


def choose_pens(glyphs: GlyphSet, wanted: Wanted) -> Pens:
    """Pens for wanted cells in reading order, all rows side by side.

    Each colour of a cell adds no more than its ``slack`` to its mean squared error.
    """
    count = len(wanted.row)
    colours = np.stack([wanted.one, wanted.zero]).astype(np.float32)
    share = glyphs.share[wanted.split]
    weights = np.stack([share, 1 - share])[:, None] / 3
    exchangeable = glyphs.inverse[wanted.split] > 0
    pens, new = np.empty((2, count, 3), np.float32), np.empty((2, count), bool)
    inverse = np.empty(count, bool)
    in_force = np.full((2, int(wanted.row.max(initial=0)) + 1, 3), _UNKNOWN, np.float32)
    for places in _side_by_side(wanted.row):
        rows = wanted.row[places]
        held, asked = in_force[:, rows], colours[:, places]
        added = np.square(asked[:, None] - held[None]).sum(axis=-1) * weights[:, :, places]
        change = added > wanted.slack[places]
        turned = exchangeable[places] & _better_turned(change, added)
        straight = ~turned
        new_fore = np.where(straight, change[0, 0], change[1, 0])
        new_back = np.where(straight, change[1, 1], change[0, 1])
        fore = np.where(straight[:, None], asked[0], asked[1])
        back = np.where(straight[:, None], asked[1], asked[0])
        held[0][new_fore], held[1][new_back] = fore[new_fore], back[new_back]
        in_force[:, rows] = pens[:, places] = held
        new[0, places], new[1, places], inverse[places] = new_fore, new_back, turned
    levels = np.clip(pens, 0, 255).astype(np.uint8)
    return Pens(levels[0], levels[1], new[0], new[1], inverse)


def _better_turned(change: Bools, added: Floats) -> Bools:
    """Whether exchanging the colours needs fewer changes, or as many and adds less error."""
    straight = change[0, 0].astype(int) + change[1, 1]
    turned = change[1, 0].astype(int) + change[0, 1]
    left = np.where(change, 0, added)
    nearer = left[1, 0] + left[0, 1] < left[0, 0] + left[1, 1]
    better: Bools = (turned < straight) | ((turned == straight) & nearer)
    return better


def _side_by_side(row: Splits) -> list[Splits]:
    """The places of every row's first cell, every row's second cell, and so on."""
    starts = np.searchsorted(row, row)
    rank = np.arange(len(row)) - starts
    order = np.argsort(rank, kind="stable")
    ends = np.flatnonzero(np.diff(rank[order])) + 1
    return np.split(order, ends) if len(row) else []
