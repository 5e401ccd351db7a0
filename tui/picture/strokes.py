"""Writing scattered cells ink by ink, instead of row by row.

Moving the cursor to a neighbouring row takes two or three bytes, changing a colour sixteen. Cells
that are scattered over a picture, as those that changed from one frame to the next are, are
therefore written in the order of their colours: all that the two colours in force serve, from top
to bottom; then one colour is changed, to what serves most of the rest.
"""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from tui.picture.glyphs import GlyphSet
from tui.picture.inks import Inks, choose_inks
from tui.picture.pens import Bools, Pens, Wanted
from tui.picture.sums import Floats, Splits

MOST_INKS = 150
"""With more inks than so many, cells have too little in common for seeking an order to pay."""


def in_strokes(glyphs: GlyphSet, wanted: Wanted) -> tuple[Wanted, Pens] | None:
    """Wanted cells in the order in which they are best written, and their pens.

    Each colour of a cell adds no more than its ``slack``; the cell of one colour twice as much.
    None where another order than reading order does not pay.
    """
    inks, ways = _ways(glyphs, wanted)
    if len(inks.colours) > MOST_INKS:
        return None
    strokes = list(_strokes(ways))
    cells = np.concatenate([stroke.cells for stroke in strokes])
    lengths = [len(stroke.cells) for stroke in strokes]
    starts = np.cumsum([0, *lengths[:-1]])
    fore, back = np.array([(stroke.fore, stroke.back) for stroke in strokes]).T
    pens = Pens(
        inks.colours[np.repeat(fore, lengths)],
        inks.colours[np.repeat(back, lengths)],
        _new(fore, starts, len(cells)),
        _new(back, starts, len(cells)),
        np.concatenate([stroke.inverse for stroke in strokes]),
    )
    return wanted.at(cells), pens


@dataclass(frozen=True, eq=False)
class _Ways:
    """The ways to write each cell, and which inks serve each as foreground and background.

    1 where an ink serves: inks x twice the cells, first all written straight, then all with the
    inverse glyph; there an ink serves only where a cell has one.
    """

    fore: Floats
    back: Floats


@dataclass(frozen=True, eq=False)
class _Stroke:
    """Cells written with one pair of inks, from top to bottom."""

    fore: int
    back: int
    cells: Splits
    inverse: Bools


def _ways(glyphs: GlyphSet, wanted: Wanted) -> tuple[Inks, _Ways]:
    share = glyphs.share[wanted.split]
    two = np.flatnonzero(share > 0)
    slack = np.where(share > 0, wanted.slack, 2 * wanted.slack)
    reach = np.concatenate([3 * slack[two] / share[two], 3 * slack / (1 - share)])
    inks = choose_inks(np.concatenate([wanted.one[two], wanted.zero]), reach)
    serve = inks.serve.T.astype(np.float32)
    one, zero = np.ones((len(serve), len(share)), np.float32), serve[:, len(two) :]
    one[:, two] = serve[:, : len(two)]
    has_inverse = glyphs.inverse[wanted.split] > 0
    return inks, _Ways(
        np.concatenate([one, zero * has_inverse], axis=1),
        np.concatenate([zero, one * has_inverse], axis=1),
    )


def _strokes(ways: _Ways) -> Iterator[_Stroke]:
    """Strokes that write each cell once."""
    left = np.ones(ways.fore.shape[1], np.float32)
    both = left.reshape(2, -1)
    fore = back = -1
    while left.any():
        fore, back = _next_inks(ways, left, fore, back)
        straight, turned = (left * ways.fore[fore] * ways.back[back]).reshape(2, -1)
        cells = np.flatnonzero(straight + turned)
        yield _Stroke(fore, back, cells, straight[cells] == 0)
        both[:, cells] = 0


def _next_inks(ways: _Ways, left: Floats, fore: int, back: int) -> tuple[int, int]:
    """The pair that serves most of what is left, with an ink in force if that serves any."""
    if fore >= 0:
        with_fore = ways.back @ (left * ways.fore[fore])
        with_back = ways.fore @ (left * ways.back[back])
        best_back, best_fore = int(with_fore.argmax()), int(with_back.argmax())
        if with_fore[best_back] >= max(with_back[best_fore], 1):
            return fore, best_back
        if with_back[best_fore]:
            return best_fore, back
    fore = int((ways.fore @ left).argmax())
    return fore, int((ways.back @ (left * ways.fore[fore])).argmax())


def _new(pen: Splits, starts: Splits, count: int) -> Bools:
    """Where a pen changes, among ``count`` cells in strokes that begin at ``starts``."""
    new = np.zeros(count, bool)
    new[starts[1:]] = pen[1:] != pen[:-1]
    new[0] = True
    return new
