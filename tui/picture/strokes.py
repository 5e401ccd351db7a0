"""Writing scattered cells ink by ink, instead of row by row.

Moving the cursor to a neighbouring row takes two or three bytes, changing a colour sixteen. Cells
that are scattered over a picture, as those that changed from one frame to the next are, are
therefore written in the order of their colours: all that the two colours in force serve, from top
to bottom; then one colour is changed, to what serves most of the rest.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from tui.picture.glyphs import GlyphSet
from tui.picture.inks import Inks, choose_inks, packed
from tui.picture.pens import Bools, Pens, Wanted
from tui.picture.sums import Splits

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
    stroke, cells = np.nonzero(_unpacked([stroke.cells for stroke in strokes], ways.count))
    straight = _unpacked([stroke.straight for stroke in strokes], ways.count)
    fore, back = np.array([(stroke.fore, stroke.back) for stroke in strokes]).T
    pens = Pens(
        inks.colours[fore[stroke]],
        inks.colours[back[stroke]],
        _new(fore[stroke]),
        _new(back[stroke]),
        ~straight[stroke, cells],
    )
    return wanted.at(cells), pens


@dataclass(frozen=True, eq=False)
class _Ways:
    """The ways to write each cell, and which of them each ink serves as foreground and background.

    Ways are the bits of a number: the lowest ``count`` are the cells written straight, the next as
    many the cells written with the inverse glyph.
    """

    count: int
    fore: Sequence[int]
    back: Sequence[int]


@dataclass(frozen=True, slots=True)
class _Stroke:
    """Cells written with one pair of inks, and which of them straight, as bits."""

    fore: int
    back: int
    cells: int
    straight: int


def _ways(glyphs: GlyphSet, wanted: Wanted) -> tuple[Inks, _Ways]:
    share = glyphs.share[wanted.split]
    two = np.flatnonzero(share > 0)
    slack = np.where(share > 0, wanted.slack, 2 * wanted.slack)
    reach = np.concatenate([3 * slack[two] / share[two], 3 * slack / (1 - share)])
    inks = choose_inks(np.concatenate([wanted.one[two], wanted.zero]), reach)
    zero = inks.serve[len(two) :].T
    one = np.ones_like(zero)
    one[:, two] = inks.serve[: len(two)].T
    has_inverse = glyphs.inverse[wanted.split] > 0
    return inks, _Ways(
        len(share),
        packed(np.concatenate([one, zero & has_inverse], axis=1)),
        packed(np.concatenate([zero, one & has_inverse], axis=1)),
    )


def _strokes(ways: _Ways) -> Iterator[_Stroke]:
    """Strokes that write each cell once."""
    left = (1 << 2 * ways.count) - 1
    lower = (1 << ways.count) - 1
    pair = None
    while left:
        pair = _next_pair(ways, left, pair)
        served = left & ways.fore[pair[0]] & ways.back[pair[1]]
        straight = served & lower
        cells = straight | served >> ways.count
        yield _Stroke(*pair, cells, straight)
        left &= ~(cells | cells << ways.count)


def _next_pair(ways: _Ways, left: int, pair: tuple[int, int] | None) -> tuple[int, int]:
    """The pair that serves most of what is left, with an ink in force if that serves any."""
    if pair is not None:
        fore, back = pair
        best_back, with_fore = _most(ways.back, left & ways.fore[fore])
        best_fore, with_back = _most(ways.fore, left & ways.back[back])
        if with_fore or with_back:
            return (fore, best_back) if with_fore >= with_back else (best_fore, back)
    fore, _ = _most(ways.fore, left)
    return fore, _most(ways.back, left & ways.fore[fore])[0]


def _most(inks: Sequence[int], left: int) -> tuple[int, int]:
    """The ink that serves most of what is left, and how many."""
    counts = [(left & ink).bit_count() for ink in inks]
    most = max(counts)
    return counts.index(most), most


def _unpacked(numbers: Sequence[int], count: int) -> Bools:
    """The lowest bits of numbers: numbers x count."""
    size = -(-count // 8)
    octets = b"".join(number.to_bytes(size, "little") for number in numbers)
    rows = np.frombuffer(octets, np.uint8).reshape(len(numbers), size)
    return np.unpackbits(rows, axis=1, count=count, bitorder="little").astype(bool)


def _new(pen: Splits) -> Bools:
    """Where a pen changes."""
    new = np.ones(len(pen), bool)
    new[1:] = pen[1:] != pen[:-1]
    return new
