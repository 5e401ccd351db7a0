"""One painting of a picture: what the compositor asked for, and the text of it."""

from collections.abc import Callable
from functools import cached_property

from rich.segment import Segment

from tui.picture.cells import Cells
from tui.picture.delta import Encoder, Solved
from tui.picture.escapes import forward
from tui.widgets.cellsegments import cell_segments, plain_segments


class Painting:
    """The rows of a view in one pass of the compositor; see ``picturestrip.Rows``.

    ``own`` are the rows that the view itself refreshed: these are brought up to date. Where the
    compositor wants others besides, someone else has changed the screen, and all that it asks for
    is sent whole. ``sent`` is told the bytes of the painting and gives what is to follow it.
    """

    def __init__(
        self,
        encoder: Encoder,
        solved: Solved,
        own: set[int],
        height: int,
        sent: Callable[[int], str],
        *,
        coloured: bool,
    ) -> None:
        self._encoder, self._solved, self._coloured = encoder, solved, coloured
        self._own, self._height, self._sent = own, height, sent
        self._asked: list[int] = []
        self._is_cut = False
        self._texts: dict[int, str] | None = None
        self._last = -1
        self._size = 0

    @property
    def was_whole(self) -> bool:
        """Whether everything was written whole, as others wanted it."""
        return self._texts is not None and self._is_foreign and self._is_full

    def asked(self, row: int) -> None:
        """A row will be written whole."""
        self._asked.append(row)

    def cut(self, row: int) -> None:
        """Only parts of a row will be written: nothing can be taken for granted of it."""
        self._is_cut = True
        self._encoder.invalidate(row)

    def row_text(self, row: int) -> str:
        """The text that brings a row up to date. The row counts as written from then on."""
        texts = self._all_texts()
        if row not in texts:
            self._encoder.invalidate(row)
            texts[row] = self._padded(row)
        text = texts[row]
        self._encoder.commit(row)
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
    def _is_full(self) -> bool:
        return len(self._asked) == self._height

    def _all_texts(self) -> dict[int, str]:
        """The texts of all rows asked for, made when the first is written."""
        if self._texts is None:
            if self._is_foreign:
                for row in self._asked:
                    self._encoder.invalidate(row)
            self._own.difference_update(self._asked)
            # where all rows are written, what is beside them may follow without a move
            width = self._encoder.size[0] if self._is_full else 0
            encoded = self._encoder.encode(self._asked)
            self._last = max(encoded, default=-1)
            self._size = sum(len(text.text.encode()) for text in encoded.values())
            self._texts = {row: forward(width) for row in self._asked}
            for row, text in encoded.items():
                self._texts[row] = text.text + forward(width - text.end)
        return self._texts

    def _padded(self, row: int) -> str:
        text = self._encoder.encode([row])[row]
        return text.text + forward(self._encoder.size[0] - text.end)
