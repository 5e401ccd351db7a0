"""A small terminal of our own: what a stream of text and escape sequences leaves on the screen.

It knows what the picture is written with (ECMA-48: CUP, CUF, SGR, REP) and what Textual writes
around it, and refuses what it does not know, so that nothing passes unseen.
"""

import re
from dataclasses import dataclass, field

import numpy as np

from tui.picture.cells import Pixels
from tui.picture.delta import Solved

Colour = tuple[int, int, int] | int | None
"""RGB, a number of the palette of 256, or the default."""

_TOKEN = re.compile(
    r"\x1b\[([0-9;?<>=$ ]*)([@-~])|\x1b\](?:[^\x07\x1b]*)(?:\x07|\x1b\\)|([^\x1b])", re.S
)


@dataclass(frozen=True)
class Shown:
    """One cell."""

    glyph: str = " "
    fore: Colour = None
    back: Colour = None


@dataclass
class Emulator:
    """A screen of columns x rows."""

    columns: int
    rows: int
    x: int = 0
    y: int = 0
    fore: Colour = None
    back: Colour = None
    reverse: bool = False
    last: str = " "
    reports: int = 0
    cells: dict[tuple[int, int], Shown] = field(default_factory=dict)

    def feed(self, text: str) -> None:
        """Take what a program writes."""
        at = 0
        while at < len(text):
            token = _TOKEN.match(text, at)
            if token is None:
                raise AssertionError(f"not understood: {text[at : at + 20]!r}")
            at = token.end()
            parameters, final, glyph = token.groups()
            if glyph is not None:
                self._write(glyph)
            elif final is not None:
                self._control(parameters, final)

    def at(self, row: int, column: int) -> Shown:
        """The cell at a place."""
        return self.cells.get((row, column), Shown())

    def _write(self, glyph: str) -> None:
        if glyph == "\n":
            self.y = min(self.y + 1, self.rows - 1)
        elif glyph == "\r":
            self.x = 0
        else:
            if self.x >= self.columns:
                self.x, self.y = 0, min(self.y + 1, self.rows - 1)
            colours = (self.back, self.fore) if self.reverse else (self.fore, self.back)
            self.cells[self.y, self.x] = Shown(glyph, *colours)
            self.last = glyph
            self.x += 1

    def _control(self, parameters: str, final: str) -> None:
        if final == "m" and parameters[:1] not in "<>=?":
            self._colours(parameters)
        elif final == "m" or final in "hlptqrcu" or (parameters[:1] in "<>=?" and parameters):
            pass
        elif final == "H":
            y, x = (int(n) for n in (parameters or "1;1").split(";"))
            self.y, self.x = min(y, self.rows) - 1, min(x, self.columns) - 1
        elif final == "C":
            self.x = min(self.x + int(parameters or 1), self.columns)
        elif final == "b":
            for _ in range(int(parameters or 1)):
                self._write(self.last)
        elif final == "n":
            self.reports += 1
        elif final == "J":
            self.cells.clear()
        else:
            raise AssertionError(f"not understood: CSI {parameters} {final}")

    def _colours(self, parameters: str) -> None:
        numbers = [int(n or 0) for n in parameters.split(";")]
        while numbers:
            number = numbers.pop(0)
            if number == 0:
                self.fore, self.back, self.reverse = None, None, False
            elif number in (7, 27):
                self.reverse = number == 7
            elif number in (38, 48):
                colour = self._extended(numbers)
                self.fore, self.back = (colour, self.back) if number == 38 else (self.fore, colour)
            elif 30 <= number <= 37 or 90 <= number <= 97:
                self.fore = number - 30 if number < 40 else number - 82
            elif 40 <= number <= 47 or 100 <= number <= 107:
                self.back = number - 40 if number < 50 else number - 92
            elif number == 39:
                self.fore = None
            elif number == 49:
                self.back = None

    @staticmethod
    def _extended(numbers: list[int]) -> Colour:
        if numbers.pop(0) == 5:
            return numbers.pop(0)
        return numbers.pop(0), numbers.pop(0), numbers.pop(0)


def error_shown(
    screen: Emulator, picture: Solved, listed: Pixels | None = None, at: tuple[int, int] = (0, 0)
) -> float:
    """By how much the worst cell on the screen is worse than the best drawing of a picture.

    ``at`` is the picture's row and column on the screen, ``listed`` the colours of its palette.
    A cell that shows no glyph of the picture's set is infinitely worse.
    """
    glyphs, shape = picture.glyphs, picture.best.split.shape
    split, one, zero = np.zeros(shape, int), *np.zeros((2, *shape, 3), np.uint8)
    for row, column in np.ndindex(shape):
        cell = screen.at(at[0] + row, at[1] + column)
        code = ord(cell.glyph)
        if code not in glyphs.known:
            return float("inf")
        turned = code not in glyphs.direct
        split[row, column] = (glyphs.inverse if turned else glyphs.direct).tolist().index(code)
        colours = [rgb(cell.fore, listed), rgb(cell.back, listed)]
        one[row, column], zero[row, column] = colours[::-1] if turned else colours
    drawing = type(picture.best)(split, one, zero)
    return float((picture.cost(drawing) - picture.cost(picture.best)).max())


def rgb(colour: Colour, listed: Pixels | None = None) -> tuple[int, int, int]:
    """A cell's colour; the default is taken for black."""
    if isinstance(colour, int):
        assert listed is not None
        red, green, blue = listed[colour - (16 if len(listed) > 16 else 0)].tolist()
        return red, green, blue
    return colour or (0, 0, 0)
