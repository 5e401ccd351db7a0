"""In which order and with which colours cells are written, so that it takes few bytes.

A terminal writes with a foreground and a background that stay until they are changed, and changing
one costs more bytes than a glyph: sixteen, where moving the cursor to a neighbouring row takes two
or three. Cells in reading order are therefore written with the colours in force where that adds no
more than a tolerated error, and with foreground and background exchanged where the set has the
inverse glyph and that saves a change.

Cells that are scattered over a picture, as those that changed from one frame to the next are, are
written in the order of their colours instead: all that the two colours in force serve, from top to
bottom; then one colour is changed, to what serves most of the rest. Which few colours (inks) stand
in for all others is a set cover; the greedy choice, the ink that serves most of what is left, is
within a logarithmic factor of the best (V. Chvatal, A greedy heuristic for the set-covering
problem, 1979, from memory).
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import NDArray

from tui.picture.cells import Pixels
from tui.picture.glyphs import GlyphSet
from tui.picture.solver import Floats, Splits

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


_ROOT_3 = 3**0.5


@dataclass(frozen=True, eq=False)
class Inks:
    """Colours to write with (inks x 3), and which of them serve each colour asked for."""

    colours: Pixels
    serve: Bools
    """Asked colours x inks."""


def choose_inks(asked: Pixels, reach: Floats) -> Inks:
    """Few inks of which at least one lies near enough to each colour asked for (n x 3).

    ``reach`` is how far an ink may be from each, in 8-bit levels, as squared distance in RGB.
    """
    candidates = asked[_one_of_each(asked, reach)]
    serve = _distances(asked, candidates) <= reach[:, None]
    chosen = _cover(serve)
    return Inks(candidates[chosen], serve[:, chosen])


def _one_of_each(asked: Pixels, reach: Floats) -> Splits:
    """One colour for each box of the grid in which all colours are in reach of each other."""
    width = 1 + int(min(float(np.sqrt(reach.min(initial=0))) / _ROOT_3, 255.0))
    box = (asked // np.uint8(min(width, 255))).astype(np.int32) @ np.array(
        [65536, 256, 1], np.int32
    )
    _, first = np.unique(box, return_index=True)
    return first


def _distances(asked: Pixels, candidates: Pixels) -> Floats:
    """Squared distances of all colours from all candidates."""
    left, right = asked.astype(np.float32), candidates.astype(np.float32)
    lengths = np.square(left).sum(axis=1)[:, None] + np.square(right).sum(axis=1)
    distances: Floats = lengths - 2 * (left @ right.T)
    return distances


def _cover(serve: Bools) -> list[int]:
    """Candidates, so chosen that each colour is served; the greedy set cover."""
    weights = serve.astype(np.float32)
    counts = weights.sum(axis=0)
    left = np.ones(len(serve), bool)
    chosen = []
    while counts.size and counts[best := int(counts.argmax())] > 0:
        chosen.append(best)
        served = np.flatnonzero(left & serve[:, best])
        left[served] = False
        counts -= weights[served].sum(axis=0)
    return chosen


def packed(sets: Bools) -> list[int]:
    """Sets (sets x members) as the bits of numbers, of which many can be counted at once.

    The first member is the lowest bit.
    """
    rows = np.packbits(sets, axis=1, bitorder="little")
    return [int.from_bytes(row.tobytes(), "little") for row in rows]


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
