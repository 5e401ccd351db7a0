"""The encoder: it remembers what the terminal shows, and sends only the cells that matter.

What does not change in the footage does not change on the screen. Two glyphs, or two listed
colours, are often about as near to a cell's picture, and noise alone would turn one into the other
and back: a movement that is not in the footage. So a cell stays with what it was drawn as until its
picture differs by more than noise from the one that it was drawn for; that one is remembered, so
that slow changes add up and nothing drifts.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any, Protocol

import numpy as np

from tui.picture.cells import Cells, Pixels
from tui.picture.escapes import RowText, forward, row_texts, scattered_text
from tui.picture.glyphs import GlyphSet
from tui.picture.palette import NO_COLOUR, Palette
from tui.picture.solver import Drawing, Floats, Splits
from tui.picture.strokes import Bools, Pens, Wanted, choose_pens, in_strokes

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


class Solved(Protocol):
    """A picture solved for a set of glyphs."""

    @property
    def glyphs(self) -> GlyphSet:
        """The set."""
        ...

    @property
    def best(self) -> Drawing:
        """The best drawing."""
        ...

    @property
    def size(self) -> tuple[int, int]:
        """Columns and rows."""
        ...

    @property
    def pixels(self) -> Pixels:
        """The picture itself: a whole number of pixels a cell."""
        ...

    def cost(self, drawing: Drawing) -> Floats:
        """The error of each cell, but for a constant of the cell: rows x columns."""
        ...

    def cells(self) -> Cells:
        """The best drawing as cells."""
        ...


class Encoder(Protocol):
    """Keeps a shadow of one picture on the terminal.

    ``aim`` says which rows have something to send, ``encode`` gives their text, and ``commit`` is
    told of each row that was really written. Errors are always taken against the picture that is
    aimed at, so nothing drifts. A row that something else may have written on is made invalid, and
    sent whole the next time.
    """

    @property
    def size(self) -> tuple[int, int]:
        """Columns and rows."""
        ...

    def invalidate(self, row: int | None = None) -> None:
        """Take nothing for granted of a row, or of all."""
        ...

    def follow(self, solved: Any, most: int | None = None) -> list[int]:
        """Aim at the next picture of many, in the fineness that suits it; see ``aim``."""
        ...

    def aim(self, solved: Any, fineness: "Fineness", most: int | None = None) -> list[int]:
        """Aim at a picture; gives the rows that have cells to send.

        ``most`` limits the cells sent of valid rows to those that gain most.
        """
        ...

    def encode(self, rows: Iterable[int]) -> dict[int, RowText]:
        """The text of some rows, by row; rows with nothing to send are left out."""
        ...

    def scattered(self, rows: Iterable[int], place: tuple[int, int]) -> str | None:
        """The text of some rows together, wherever the cursor is; None where ``encode`` is better.

        ``place`` is the picture's row and column on the screen, from 0.
        """
        ...

    def piece(self, row: int, first: int, last: int) -> str:
        """The text of the cells of a row from one column up to another, whole.

        The row is invalid from then on: what is beside the piece is not known.
        """
        ...

    def commit(self, *rows: int) -> None:
        """Rows that were encoded have been written."""
        ...


@dataclass(frozen=True, slots=True)
class Fineness:
    """How near the picture the terminal is kept, in 8-bit levels.

    A cell is sent when that lowers its mean squared error by more than its bound: ``floor``
    squared, and ``masking`` times the spread of its own two colours, for beside a strong edge small
    errors are not seen: an edge that crosses a cell exceeds that once it moves by ``masking`` / 4
    of the cell's width. Each of a cell's colours may add ``tolerance`` of the bound; as that is
    less than half, a cell just sent is never due again at once.
    """

    floor: float
    masking: float
    tolerance: float


MOVING = Fineness(5.0, 0.1, 0.48)
"""While pictures follow each other: what is left shows on no even ground, and moves no edge."""

ROUGH = Fineness(10.0, 0.1, 0.48)
"""For the first look at a picture that has little to do with the one before."""

MUCH = 0.25
"""The share of cells from which on a picture has little to do with the one before."""

FEW = 600
"""The cells up to which it pays to seek the order of writing with the fewest colours."""

STILL = Fineness(1.0, 0.0, 0.25)
"""At rest: as near as the glyphs allow, to the eye and to a screenshot."""


class DeltaEncoder:
    """The encoder of cells; see ``Encoder``."""

    def __init__(
        self, glyphs: GlyphSet, palette: Palette, size: tuple[int, int], *, repeats: bool = False
    ) -> None:
        columns, rows = size
        self.size = size
        self._glyphs, self._palette, self._repeats = glyphs, palette, repeats
        self._shadow = _black(rows, columns)
        self._coming = _black(rows, columns)
        self._valid = np.zeros(rows, bool)
        self._aim = self._shadow
        self._steady = Steady(glyphs, size)
        self._pixels = np.zeros((rows, columns, 3), np.uint8)
        self._send = np.zeros((rows, columns), bool)
        self._sent = self._send.copy()
        self._fineness = STILL

    def invalidate(self, row: int | None = None) -> None:
        """Take nothing for granted of a row, or of all."""
        if row is None:
            self._valid[:] = False
        else:
            self._valid[row] = False

    def follow(self, solved: Solved, most: int | None = None) -> list[int]:
        """Aim at the next picture of many, in the fineness that suits it; see ``aim``."""
        rows = self.aim(solved, MOVING, most)
        if np.count_nonzero(self._send) > MUCH * self._send.size:
            return self.aim(solved, ROUGH)
        return rows

    def aim(self, solved: Solved, fineness: Fineness, most: int | None = None) -> list[int]:
        """Aim at a picture; gives the rows that have cells to send.

        ``most`` limits the cells sent of valid rows to those that gain most.
        """
        best = solved.best
        shown = self._palette.shown
        self._aim = Drawing(best.split.copy(), *(shown(c).copy() for c in (best.one, best.zero)))
        self._pixels = solved.pixels
        self._fineness = fineness
        gain = solved.cost(self._shadow) - solved.cost(self._aim)
        self._steady.settle(gain <= STILL.floor**2, self._shadow)
        send = (gain > fineness.floor**2) & self._valid[:, None]
        send[send] = gain[send] > self._bound(np.nonzero(send))
        held = self._steady.unchanged(self._pixels, send)
        self._steady.hold(self._aim, held)
        gain[held] = self._steady.off(self._shadow, held)
        send[held] = gain[held] > self._bound(np.nonzero(held))
        if most is not None:
            send = greatest(gain, send, most)
        send[~self._valid] = True
        self._send = send
        return [int(row) for row in np.flatnonzero(send.any(axis=1))]

    def encode(self, rows: Iterable[int]) -> dict[int, RowText]:
        """The text of some rows, by row; rows with nothing to send are left out."""
        return self._texts(self._due(rows))

    def scattered(self, rows: Iterable[int], place: tuple[int, int]) -> str | None:
        """The text of some rows together, wherever the cursor is; None where ``encode`` is better.

        ``place`` is the picture's row and column on the screen, from 0.
        """
        due = self._due(rows)
        if self._palette is NO_COLOUR or not 0 < np.count_nonzero(due) <= FEW:
            return None
        strokes = in_strokes(self._glyphs, self._wanted(due))
        if strokes is None:
            return None
        wanted, pens = strokes
        self._come(wanted, pens)
        return scattered_text(
            self._glyphs, self._palette, wanted, pens, place, self.size[0], repeats=self._repeats
        )

    def piece(self, row: int, first: int, last: int) -> str:
        """The text of the cells of a row from one column up to another, whole.

        The row is invalid from then on: what is beside the piece is not known.
        """
        self.invalidate(row)
        wanted = np.zeros_like(self._send)
        wanted[row, first:last] = True
        text = self._texts(wanted)[row].text
        return text[len(forward(first)) :]

    def commit(self, *rows: int) -> None:
        """Rows that were encoded have been written."""
        sent = np.zeros_like(self._sent)
        chosen = list(rows)
        sent[chosen] = self._sent[chosen]
        self._valid[chosen] |= sent[chosen].all(axis=1)
        row, column = where = np.nonzero(sent)
        self._shadow.split[where] = self._coming.split[where]
        self._shadow.one[where] = self._coming.one[where]
        self._shadow.zero[where] = self._coming.zero[where]
        self._steady.drew((row, column), self._pixels, self._aim)

    def _due(self, rows: Iterable[int]) -> Bools:
        """The cells of some rows that are to be sent."""
        due = np.zeros_like(self._send)
        chosen = list(rows)
        due[chosen] = self._send[chosen] | ~self._valid[chosen, None]
        self._sent[chosen] = due[chosen]
        return due

    def _texts(self, cells: Bools) -> dict[int, RowText]:
        wanted = self._wanted(cells)
        if self._palette is NO_COLOUR:
            wanted.slack[:] = np.inf
        pens = choose_pens(self._glyphs, wanted)
        self._come(wanted, pens)
        return row_texts(self._glyphs, self._palette, wanted, pens, repeats=self._repeats)

    def _wanted(self, cells: Bools) -> Wanted:
        row, column = where = np.nonzero(cells)
        split, one, zero = self._aim.split[where], self._aim.one[where], self._aim.zero[where]
        slack = self._fineness.tolerance * self._bound(where)
        return Wanted(row, column, split, one, zero, slack)

    def _bound(self, cells: tuple[Splits, ...]) -> Floats:
        """The bounds of some cells, see ``Fineness``."""
        share = self._glyphs.share[self._aim.split[cells]]
        apart = self._aim.one[cells].astype(np.float32) - self._aim.zero[cells]
        spread = share * (1 - share) * np.square(apart).mean(axis=-1)
        bound: Floats = self._fineness.floor**2 + self._fineness.masking * spread
        return bound

    def _come(self, wanted: Wanted, pens: Pens) -> None:
        """Remember what is going to be shown."""
        where = wanted.row, wanted.column
        self._coming.split[where] = wanted.split
        self._coming.one[where], self._coming.zero[where] = pens.one, pens.zero


def greatest(gain: Floats, due: Bools, most: int) -> Bools:
    """Of what is due, the ``most`` that gain most."""
    places = np.flatnonzero(due)
    if len(places) <= most:
        return due
    best = places[np.argpartition(gain.ravel()[places], -most)[-most:]]
    chosen = np.zeros(due.size, bool)
    chosen[best] = True
    return chosen.reshape(due.shape)


def _black(rows: int, columns: int) -> Drawing:
    one, zero = np.zeros((2, rows, columns, 3), np.uint8)
    return Drawing(np.zeros((rows, columns), np.intp), one, zero)
