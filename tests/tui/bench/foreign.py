"""The bench on a terminal that is not ours: pyte, by others, takes all that is written."""

from collections.abc import Iterator
from typing import Any

import pyte
from rich.color import ColorType
from rich.segment import Segment
from textual import events
from textual.app import App
from textual.drivers.headless_driver import HeadlessDriver
from textual.geometry import Region, Size

from tests.tui.picture.emulator import Emulator, Shown

Cell = tuple[str, str, str]
"""Glyph, foreground and background; colours as six hexadecimal digits, or ``default``."""


class ForeignDriver(HeadlessDriver):
    """Feeds pyte, which answers where its cursor is."""

    @property
    def is_headless(self) -> bool:
        """The library draws only where a terminal is."""
        return False

    def __init__(self, *arguments: Any, **options: Any) -> None:
        super().__init__(*arguments, **options)
        columns, rows = self._size or (80, 24)
        self.screen = pyte.Screen(columns, rows)
        setattr(self.screen, "write_process_input", self._answer)  # noqa: B010 - pyte's own way
        self._stream = pyte.Stream(self.screen)

    def write(self, data: str) -> None:
        """Let pyte draw it."""
        self._stream.feed(data)

    def _answer(self, data: str) -> None:
        if data.endswith("R"):
            place = self.screen.cursor
            self._app.post_message(events.CursorPosition(place.x, place.y))

    def resize(self, width: int, height: int) -> None:
        """A terminal's new size; all that was on it is overwritten by something else."""
        self._size = (width, height)
        self.screen.resize(height, width)
        for row in range(height):
            self._stream.feed(f"\x1b[{row + 1};1H\x1b[31;42m" + "?" * width)
        size = Size(width, height)
        self._app.post_message(events.Resize(size, size))


def on_glass(screen: pyte.Screen, row: int, column: int) -> Cell:
    """What pyte shows in a cell."""
    cell = screen.buffer[row][column]
    colours = (cell.bg, cell.fg) if cell.reverse else (cell.fg, cell.bg)
    return cell.data, *colours


def meant(app: App[Any]) -> list[list[Cell]]:
    """What the library's compositor would draw now, row by row."""
    return [
        [cell for segment in strip for cell in _cells(segment)]
        for strip in app.screen._compositor.render_strips()
    ]


def _cells(segment: Segment) -> Iterator[Cell]:
    style = segment.style
    fore, back = (None, None) if style is None else (style.color, style.bgcolor)
    colours = [
        "default"
        if colour is None or colour.type is ColorType.DEFAULT
        else colour.get_truecolor().hex.removeprefix("#")
        for colour in (fore, back)
    ]
    if style is not None and style.reverse:
        colours.reverse()
    for glyph in segment.text:
        yield glyph, colours[0], colours[1]


def picture_of(screen: pyte.Screen, place: Region) -> Emulator:
    """A part of what pyte shows, as our own emulator would hold it."""
    ours = Emulator(place.width, place.height)
    for row in range(place.height):
        for column in range(place.width):
            glyph, *colours = on_glass(screen, place.y + row, place.x + column)
            fore, back = (
                None
                if name == "default"
                else (int(name[:2], 16), int(name[2:4], 16), int(name[4:], 16))
                for name in colours
            )
            ours.cells[row, column] = Shown(glyph, fore, back)
    return ours
