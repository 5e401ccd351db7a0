"""A row of a picture as Textual's compositor handles it: ready text; segments only on demand."""

from collections.abc import Iterable, Iterator, Sequence
from typing import Protocol

from rich.console import Console
from rich.segment import Segment
from textual.color import Color
from textual.filter import LineFilter
from textual.strip import Strip


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
    """The cells of a row from ``first`` up to ``last``, of ``width``."""

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

    def apply_filter(self, filter: LineFilter, background: Color) -> Strip:  # noqa: A002
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
