"""The panels of the bench: ladder, runs, cups, time line, ruling and status."""

from collections.abc import Sequence

from rich.text import Text

from sessions.ruling.ruling import Standing
from tui.bench.finishing import numbers_text
from tui.bench.rows import ClockRow, CupRow, LadderRow, RunRow, TimelineRow
from tui.widgets.panels import AMBER, GREY, MARKS, SKY, STANDINGS, WHITE, Panel, style

_DIM = {"open": GREY}


class LadderPanel(Panel):
    """The checkpoints of the run, what is due next always in sight."""

    def show_rows(self, rows: Sequence[LadderRow]) -> None:
        """Draw the part of the ladder around the checkpoint that is next."""
        if not rows:
            self.show([Text("Ladder", style(SKY, bold=True)), Text("Nothing is due.", style(GREY))])
            return
        done = sum(row.state not in ("due", "open", "conflict") for row in rows)
        height = max(1, self.size.height - 1)
        at = next((i for i, row in enumerate(rows) if row.chosen), len(rows) - 1)
        first = max(0, min(at - height // 3, len(rows) - height))
        lines = [Text(f"Ladder {done}/{len(rows)} tagged", style(SKY, bold=True))]
        lines[0].append(_hidden(first, len(rows) - first - height), style(GREY))
        lines += [self._line(row) for row in rows[first : first + height]]
        self.show(lines)

    def _line(self, row: LadderRow) -> Text:
        mark, colour = MARKS[row.state]
        room = max(4, self.size.width - len(row.frames) - len(_hurry(row)) - 3)
        title = row.title if len(row.title) <= room else row.title[: room - 1] + "…"
        line = Text.assemble((f"{mark} ", style(colour, bold=True)))
        words = style(SKY, reverse=True) if row.chosen else style(_DIM.get(row.state, WHITE))
        line.append(f"{title:<{room}} ", words)
        line.append(row.frames, style(GREY))
        line.append(_hurry(row), style(AMBER))
        return line


def checkpoint_line(row: LadderRow) -> str:
    """A checkpoint of the ladder as one line of a list: mark, title and frames."""
    return f"{MARKS[row.state][0]} {row.title:<44.44} {row.frames}{_hurry(row)}"


def _hurry(row: LadderRow) -> str:
    """Whether less time lies before or after the tag than the work usually takes."""
    return " short" if row.hurried else ""


def _hidden(above: int, below: int) -> str:
    """How many rows are out of sight."""
    parts = [f"  ↑{above}" if above > 0 else "", f"  ↓{below}" if below > 0 else ""]
    return "".join(parts)


class RunsPanel(Panel):
    """The runs of the footage with their numbers as they will be counted."""

    def show_rows(self, rows: Sequence[RunRow], clock: ClockRow | None = None) -> None:
        """Draw the runs and the clock; the run worked on is marked, and always in sight."""
        height = max(1, self.size.height - 1 - (clock is not None))
        at = next((i for i, row in enumerate(rows) if row.here), len(rows) - 1)
        first = max(0, min(at - height // 2, len(rows) - height))
        lines = [Text(f"Runs {len(rows)}", style(SKY, bold=True))]
        lines += [self._line(row) for row in rows[first : first + height]]
        if clock is not None:
            lines.append(self._clock(clock))
        self.show(lines)

    @staticmethod
    def _clock(row: ClockRow) -> Text:
        """The reading and what the picture leaves possible, in the narrowest panel's width."""
        mark, colour = MARKS[row.state]
        relation = " against " if row.state == "fault" else " fits " if row.reading else "picture "
        words = f"{row.reading}{relation}{row.by_picture}"
        return Text.assemble((f"{mark} ", style(colour, bold=True)), (words, style(colour)))

    def _line(self, row: RunRow) -> Text:
        line = Text.assemble(("▸ " if row.here else "  ", style(SKY, bold=True)))
        line.append(f"{row.run} {row.counts_as:<10}", style(WHITE))
        standing = "" if row.standing is Standing.UNCOUNTED else row.standing.value
        line.append(f"{standing:<7} ", style(STANDINGS[row.standing], bold=True))
        line.append(f"{row.time:<6} ", style(WHITE))
        if len(row.frames) <= self.size.width - line.cell_len:
            line.append(row.frames, style(GREY))
        return line


class CupsPanel(Panel):
    """The cups by where they stand, each with the state of its maker's mark."""

    def show_rows(self, rows: Sequence[CupRow]) -> None:
        """Draw a line for all cups, and one for the cup in hand and those still to be looked at."""
        cleared = sum(row.state == "proven" for row in rows)
        line = Text.assemble((f"Marks {cleared}/{len(rows)} ", style(SKY, bold=True)))
        for row in rows:
            mark, colour = MARKS[row.state]
            shown = str(row.cup) if row.here else mark
            line.append(shown, style(colour, bold=True, reverse=row.here))
        self.show([line, self._evidence(rows)])

    @staticmethod
    def _evidence(rows: Sequence[CupRow]) -> Text:
        here = next((row for row in rows if row.here), None)
        left = [row.cup for row in rows if row.is_left]
        at = "not seen" if here is None or here.at is None else f"at {here.at}"
        at = "never appeared" if here is not None and here.never else at
        line = Text(f"cup {here.cup} {at}" if here else "", style(WHITE))
        if left:
            line.append(f", left {numbers_text(left).replace(' ', '')}", style(AMBER))
        return line


class TimelinePanel(Panel):
    """The footage from left to right: runs and tags above, what was seen below."""

    def show_row(self, row: TimelineRow) -> None:
        """Draw the time line over the panel's width."""
        width = max(1, self.size.width)
        self.show([self._tags(row, width), self._seen(row, width)])

    @staticmethod
    def _tags(row: TimelineRow, width: int) -> Text:
        cells = [("·", style(GREY))] * width
        for first, last, counts in row.runs:
            for column in range(_column(first, row, width), _column(last, row, width) + 1):
                cells[column] = ("━" if counts else "┄", style(SKY if counts else GREY))
        for frame, state in row.ticks:
            mark, colour = MARKS[state]
            cells[_column(frame, row, width)] = (mark, style(colour, bold=True))
        at = _column(row.position, row, width)
        cells[at] = (cells[at][0], style(WHITE, bold=True, reverse=True))
        return Text.assemble(*cells)

    @staticmethod
    def _seen(row: TimelineRow, width: int) -> Text:
        line = Text()
        for column in range(width):
            first = column * row.frames // width
            last = max(first + 1, (column + 1) * row.frames // width)
            seen = sum(max(0, min(b + 1, last) - max(a, first)) for a, b in row.seen)
            share = seen / (last - first)
            glyph = "█" if share == 1 else "▄" if share >= 0.5 else "▂" if share > 0 else " "
            line.append(glyph, style(GREY))
        return line


def _column(frame: int, row: TimelineRow, width: int) -> int:
    return min(width - 1, frame * width // max(1, row.frames))
