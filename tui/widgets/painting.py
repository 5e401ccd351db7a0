"""One painting of a picture: what the compositor asked for, and the text of it, row by row."""

import itertools
from collections.abc import Callable, Iterable, Iterator, Sequence
from functools import cached_property, lru_cache
from typing import Protocol

import numpy as np
from rich.color import Color
from rich.console import Console
from rich.segment import Segment
from rich.style import Style
from textual.color import Color as ScreenColor
from textual.filter import LineFilter
from textual.strip import Strip

from tui.picture.cells import Cells
from tui.picture.delta import Encoder, Solved
from tui.picture.escapes import cursor_to, forward


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


class Painting:
    """The rows of a view in one pass of the compositor; see ``Rows``.

    ``own`` are the rows that the view itself refreshed: these are brought up to date, all of them
    by the text of the first that is asked for, so that the library need not move from row to row.
    Where the compositor wants others besides, someone else has changed the screen, and all that it
    asks for is sent whole; of its own rows the view is then told by ``left`` that some are left.

    ``place`` is the view's row and column on the screen, ``open_rows`` which of its rows are
    known to be written whole, and ``sent`` is told the bytes of the painting and gives what is to
    follow it.
    """

    def __init__(
        self,
        encoder: Encoder,
        solved: Solved,
        own: set[int],
        open_rows: set[int],
        height: int,
        place: tuple[int, int],
        sent: Callable[[int], str],
        left: Callable[[], object],
        *,
        coloured: bool,
    ) -> None:
        self._encoder, self._solved, self._coloured = encoder, solved, coloured
        self._own, self._open, self._height, self._place = own, open_rows, height, place
        self._sent, self._left = sent, left
        self._asked: list[int] = []
        self._is_cut = False
        self._texts: dict[int, str] | None = None
        self._last = -1
        self._size = 0
        self._carried: dict[int, list[int]] = {}

    @property
    def was_whole(self) -> bool:
        """Whether everything was written whole, as others wanted it."""
        everything = len(self._asked) == self._encoder.size[1]
        return self._texts is not None and self._is_foreign and everything

    def asked(self, row: int) -> None:
        """A row will be written whole."""
        self._asked.append(row)
        self._open.add(row)

    def cut(self, row: int) -> None:
        """Only parts of a row will be written: nothing can be taken for granted of it."""
        self._is_cut = True
        self._open.discard(row)
        self._encoder.invalidate(row)

    def row_text(self, row: int) -> str:
        """The text that brings a row up to date. The row counts as written from then on."""
        texts = self._all_texts()
        if row not in texts:
            self._encoder.invalidate(row)
            texts[row] = self._padded(row)
        text = texts[row]
        if rows := self._carried.pop(row, [row]):
            self._encoder.commit(*rows)
        if row == self._last:
            self._last = -1
            text += self._sent(self._size)
        texts[row] = forward(self._encoder.size[0])
        return text

    def piece_text(self, row: int, first: int, last: int) -> str:
        """The text of a part of a row, whole."""
        self._all_texts().pop(row, None)
        return self._encoder.piece(row, first, last)

    def segments(self, row: int, first: int, last: int) -> list[Segment]:
        """A part of a row for someone who draws it his way, we do not know where."""
        self._encoder.invalidate(row)
        self._own.discard(row)
        draw = cell_segments if self._coloured else plain_segments
        return draw(self._cells, row, first, last)

    @cached_property
    def _cells(self) -> Cells:
        return self._solved.cells()

    @cached_property
    def _is_foreign(self) -> bool:
        return self._is_cut or not self._own.issuperset(self._asked)

    @cached_property
    def _width(self) -> int:
        """Columns after which something may follow without a move: where all rows are written."""
        return self._encoder.size[0] if len(self._asked) == self._height else 0

    def _all_texts(self) -> dict[int, str]:
        """The texts of all rows asked for, made when the first is written."""
        if self._texts is None:
            self._texts = {row: forward(self._width) for row in self._asked}
            if self._is_foreign:
                self._own.difference_update(self._asked)
                self._texts |= self._apart()
                if self._own:
                    self._left()
            elif self._own:
                self._texts |= self._together()
                self._own.clear()
        return self._texts

    def _apart(self) -> dict[int, str]:
        """Each row for itself, whole."""
        for row in self._asked:
            self._encoder.invalidate(row)
        encoded = self._encoder.encode(self._asked)
        self._last = max(encoded, default=-1)
        self._size = sum(len(text.text.encode()) for text in encoded.values())
        width = self._width
        return {row: text.text + forward(width - text.end) for row, text in encoded.items()}

    def _together(self) -> dict[int, str]:
        """What changed in the view's own rows, as the text of the first that was asked for."""
        (top, left), rows = self._place, sorted(self._own)
        text = self._encoder.scattered(rows, self._place)
        if text is None:
            encoded = self._encoder.encode(rows).items()
            text = "".join(cursor_to(top + row, left) + part.text for row, part in encoded)
        if not text:
            return {}
        self._last, self._size = self._asked[0], len(text.encode())
        self._carried = {row: [] for row in self._asked} | {self._last: rows}
        back = cursor_to(top + self._last, left + self._width) if self._width else ""
        return {self._last: text + back}

    def _padded(self, row: int) -> str:
        text = self._encoder.encode([row])[row]
        return text.text + forward(self._encoder.size[0] - text.end)


class Rows(Protocol):
    """What one painting of the view knows of its rows."""

    def asked(self, row: int) -> None:
        """A row will be written whole."""
        ...

    def cut(self, row: int) -> None:
        """Something lies over a row, or beside it, so that only parts of it are written."""
        ...

    def row_text(self, row: int) -> str:
        """The text that brings a row up to date, wherever it leaves the cursor."""
        ...

    def piece_text(self, row: int, first: int, last: int) -> str:
        """The text of a part of a row, whole."""
        ...

    def segments(self, row: int, first: int, last: int) -> list[Segment]:
        """A part of a row for someone who writes it in another way."""
        ...


class PictureStrip(Strip):
    """A row as the compositor handles it: ready text, and segments only on demand.

    The cells of a row from ``first`` up to ``last``, of ``width``.
    """

    __slots__ = ("_first", "_last", "_row", "_rows", "_width")

    def __init__(self, rows: Rows, row: int, first: int, last: int, width: int) -> None:
        self._rows, self._row = rows, row
        self._first, self._last, self._width = first, last, width
        super().__init__((), last - first)

    @property
    def _segments(self) -> list[Segment]:
        """What the library's own methods work on; whoever reads it draws the row his way."""
        return self._rows.segments(self._row, self._first, self._last)

    @_segments.setter
    def _segments(self, segments: Iterable[Segment]) -> None:
        """The constructor's empty list is not kept."""

    @property
    def cell_count(self) -> int:
        """Number of cells."""
        return self._last - self._first

    def __bool__(self) -> bool:
        return self._last > self._first

    def __len__(self) -> int:
        return self._last - self._first

    def __iter__(self) -> Iterator[Segment]:
        return iter(self._segments)

    def divide(self, cuts: Iterable[int]) -> Sequence[Strip]:
        """The strip in parts; this is how the compositor asks for a row."""
        width = self._last - self._first
        ends = [cut for cut in cuts if cut <= width]
        if ends == [width] and self._is_whole:
            self._rows.asked(self._row)
            return [self]
        self._rows.cut(self._row)
        starts = [0, *ends[:-1]]
        return [self._part(start, end) for start, end in zip(starts, ends, strict=True)]

    def crop(self, start: int, end: int | None = None) -> Strip:
        """The cells from ``start`` up to ``end``."""
        width = self._last - self._first
        first, last = max(0, start), width if end is None else min(end, width)
        if (first, last) == (0, width):
            return self
        return self._part(first, max(first, last))

    def apply_filter(self, filter: LineFilter, background: ScreenColor) -> Strip:  # noqa: A002
        """The picture is not filtered: its palette is the terminal's own."""
        return self

    def apply_offsets(self, x: int, y: int) -> Strip:
        """The picture has no text to select."""
        return self

    def render(self, console: Console) -> str:
        """The escape text, which begins at the left edge and ends at the right."""
        if self._is_whole:
            return self._rows.row_text(self._row)
        if not self:
            return ""
        return self._rows.piece_text(self._row, self._first, self._last)

    @property
    def _is_whole(self) -> bool:
        return (self._first, self._last) == (0, self._width)

    def _part(self, first: int, last: int) -> "PictureStrip":
        begin = self._first
        return PictureStrip(self._rows, self._row, begin + first, begin + last, self._width)
