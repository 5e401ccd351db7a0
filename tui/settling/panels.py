"""The panels of the settling screen: both frames, who said what, one time line, the list."""

from collections.abc import Sequence

from rich.text import Text
from textual.app import ComposeResult

from sessions.sanitize import sanitize
from tui.bench.rows import State
from tui.picture.cells import Pixels
from tui.picture.source import DecodedFrame
from tui.settling.rows import Around, DisputeRow, Span
from tui.widgets.panels import GREY, MARKS, SKY, WHITE, Panel, style
from tui.widgets.picturepane import PicturePane

LABEL = 9
"""Cells for who, and which of the two instants, at the left of the time line."""

WIDEST = 6
"""The most cells of a frame on the time line."""

WIDE = 100
"""Cells from which on there is room for the words of an instant beside its bracket."""

EMPTY, BETWEEN, OPEN = "·", "━", "╌"
"""Frames outside a bracket, within it, and beyond an end that nobody looked for."""


class HalvesPanel(Panel):
    """A line in two halves: which frames the pictures show, or what each side says of them."""

    def show_frames(self, labels: Sequence[str]) -> None:
        """Draw which frame each picture is."""
        self._show([Text(sanitize(label), style(SKY)) for label in labels])

    def show_captions(self, captions: Sequence[tuple[str, State]], keys: Sequence[str]) -> None:
        """Draw what each side says, each in its half, after the key that takes it."""
        said = zip(keys, captions, strict=False)  # nothing is said where nothing differs
        marked = [(key, MARKS[state], words) for key, (words, state) in said]
        self._show(
            [
                Text.assemble(
                    (f"{key} ", style(SKY, bold=True)),
                    (f"{mark} {words}", style(colour, bold=True)),
                )
                for key, (mark, colour), words in marked
            ]
        )

    def _show(self, halves: Sequence[Text]) -> None:
        line = Text()
        for half in halves:
            half.truncate(max(1, self.size.width // 2 - 1), overflow="ellipsis", pad=True)
            line.append_text(half).append(" ")
        self.show([line])


class AroundPanel(Panel):
    """The frames around a difference from left to right: a scale, and a line for each instant."""

    def show_around(self, around: Around | None) -> None:
        """Draw the brackets of both sides; each frame has a column where there is room."""
        if around is None:
            self.show([])
            return
        width = max(1, self.size.width - LABEL)
        words = width // 2 if self.size.width >= WIDE else 0
        scale = _Scale(around, width - words)
        lines = [scale.numbers(), *(self._line(span, scale, words) for span in around.spans)]
        self.show(lines)

    @staticmethod
    def _line(span: Span, scale: "_Scale", words: int) -> Text:
        name = sanitize(span.reviewer)
        name = name if len(name) <= LABEL - 5 else name[: LABEL - 6] + "…"
        _, colour = MARKS[span.state]
        line = Text(f"{name:<{LABEL - 5}} {span.label:<4}", style(WHITE))
        line.append_text(scale.bracket(span, colour))
        if words:
            told = sanitize(f" {_ends(span)} {span.words}")
            line.append(told, style(GREY))
        return line


class _Scale:
    """Columns for frames: several each where there is room, else several frames to a column."""

    def __init__(self, around: Around, width: int) -> None:
        self.first, self.frames = around.first, around.last - around.first + 1
        each = max(1, min(WIDEST, width // self.frames))
        self.width = min(max(1, width), self.frames * each)

    def column(self, frame: int) -> int:
        at = (frame - self.first) * self.width // self.frames
        return max(0, min(at, self.width - 1))

    def numbers(self) -> Text:
        """Frame numbers, as many as fit."""
        line = [*"frame".ljust(LABEL + self.width + LABEL)]
        free = 0
        for frame in range(self.first, self.first + self.frames):
            column, text = self.column(frame), str(frame)
            if column >= free:
                at = LABEL + column
                line[at : at + len(text)] = text
                free = column + len(text) + 1
        return Text("".join(line).rstrip(), style(SKY))

    def bracket(self, span: Span, colour: str) -> Text:
        """One instant: ``(`` not yet, ``]`` surely; the named frame stands out."""
        cells = [EMPTY] * self.width
        if (span.after, span.by) != (None, None):
            begin = 0 if span.after is None else self.column(span.after)
            end = self.width - 1 if span.by is None else self.column(span.by)
            fill = BETWEEN if span.after is not None and span.by is not None else OPEN
            cells[begin : end + 1] = [fill] * (end + 1 - begin)
            if span.after is not None:
                cells[begin] = "("
            if span.by is not None:
                cells[end] = "]"
        line = Text.assemble(*((c, style(GREY if c == EMPTY else colour)) for c in cells))
        if span.frame is not None:
            at = self.column(span.frame)
            line.stylize(style(colour, bold=True, reverse=True), at, at + 1)
        return line


def _ends(span: Span) -> str:
    if (span.after, span.by) == (None, None):
        return ""
    after = "?" if span.after is None else str(span.after)
    return f"({after},{'?' if span.by is None else span.by}]"


class DisputesPanel(Panel):
    """The differences to settle, the one at hand always in sight."""

    def show_rows(self, rows: Sequence[DisputeRow]) -> None:
        """Draw the part of the list around the difference at hand."""
        height = max(1, self.size.height)
        at = next((i for i, row in enumerate(rows) if row.here), 0)
        first = max(0, min(at - height // 2, len(rows) - height))
        self.show([self._line(row) for row in rows[first : first + height]])

    @staticmethod
    def _line(row: DisputeRow) -> Text:
        mark, colour = MARKS[row.state]
        line = Text.assemble((f"{mark} ", style(colour, bold=True)))
        line.append(row.title, style(SKY if row.here else WHITE, reverse=row.here))
        line.append(f"  {row.outcome}" if row.outcome else "", style(GREY))
        return line


class SidesPane(PicturePane):
    """Draws the frame that each side names; any two, where the bench shows neighbours."""

    sides: tuple[int, int] = (0, 0)

    def compose(self) -> ComposeResult:
        """Both frames on one view."""
        yield self._pictures.frame_view("frame")

    @property
    def missing(self) -> int | None:
        """The first of the two frames that the source has not decoded yet."""
        whole = self._source.peek if self._lens.is_whole else self._source.peek_full
        return next((frame for frame in self.sides if whole(frame) is None), None)

    def draw_sides(self) -> None:
        """Draw both frames if they are at hand."""
        self.draw(self.sides[1])

    def _parts(self, frame: int) -> list[tuple[DecodedFrame, Pixels, bool]]:
        parts = [self._part(number) for number in self.sides]
        found = [part for part in parts if part is not None]
        return found if len(found) == len(parts) else []
