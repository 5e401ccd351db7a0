"""A small terminal of our own: what a stream of text and escape sequences leaves on the screen.

It knows what the picture is written with (ECMA-48: CUP, CUU, CUD, CUF, CUB, BS, SGR, REP; VT as a
VT100 takes it) and what Textual writes around it, and refuses what it does not know, so that
nothing passes unseen.
"""

import base64
import re
import zlib
from dataclasses import dataclass, field

import numpy as np

from tests.tui.picture.sixel_decoder import decoded
from tui.picture.cells import Pixels
from tui.picture.delta import STILL, Fineness, Solved
from tui.picture.solver import Floats
from tui.picture.strokes import Bools

Colour = tuple[int, int, int] | int | None
"""RGB, a number of the palette of 256, or the default."""

_TOKEN = re.compile(
    r"\x1b\[([0-9;?<>=$ ]*)([@-~])|\x1b\](?:[^\x07\x1b]*)(?:\x07|\x1b\\)|([^\x1b])"
    r"|\x1b_G([^;\x1b]*);?([^\x1b]*)\x1b\\|\x1bP0;1q([^\x1b]*)\x1b\\|\x1b([78])",
    re.S,
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
    doubtful: int = 0
    """How often the screen was scrolled, or the cursor moved from beyond the last column."""
    cells: dict[tuple[int, int], Shown] = field(default_factory=dict)
    images: dict[int, tuple[int, int, Pixels]] = field(default_factory=dict)
    depths: dict[int, str] = field(default_factory=dict)
    pending: dict[str, str] = field(default_factory=dict)
    encoded: str = ""
    cell: tuple[int, int] = (1, 1)
    """Width and height of a cell in pixels, for sixels."""
    sixels: dict[tuple[int, int], Pixels] = field(default_factory=dict)
    """What each cell shows of them; text takes its place."""
    saved: tuple[int, int] = (0, 0)

    def feed(self, text: str) -> None:
        """Take what a program writes."""
        at = 0
        while at < len(text):
            token = _TOKEN.match(text, at)
            if token is None:
                raise AssertionError(f"not understood: {text[at : at + 20]!r}")
            at = token.end()
            parameters, final, glyph, control, data, sixels, keeps = token.groups()
            if glyph is not None:
                self._write(glyph)
            elif final is not None:
                self._control(parameters, final)
            elif control is not None:
                self._graphics(dict(part.split("=") for part in control.split(",")), data)
            elif sixels is not None:
                self._draw(*decoded(sixels))
            elif keeps == "7":
                self.saved = self.x, self.y
            elif keeps == "8":
                self.x, self.y = self.saved

    def at(self, row: int, column: int) -> Shown:
        """The cell at a place."""
        return self.cells.get((row, column), Shown())

    def _write(self, glyph: str) -> None:
        if glyph == "\n":
            self.y = min(self.y + 1, self.rows - 1)
        elif glyph == "\r":
            self.x = 0
        elif glyph == "\b":
            self._move("1", "D")
        elif glyph == "\v" and self.y == self.rows - 1:
            self.doubtful += 1
            self.cells = {(y - 1, x): cell for (y, x), cell in self.cells.items() if y}
        elif glyph == "\v":
            self._move("1", "B")
        else:
            if self.x >= self.columns:
                self.x, self.y = 0, min(self.y + 1, self.rows - 1)
            colours = (self.back, self.fore) if self.reverse else (self.fore, self.back)
            self.cells[self.y, self.x] = Shown(glyph, *colours)
            self.sixels.pop((self.y, self.x), None)
            self.last = glyph
            self.x += 1

    def _control(self, parameters: str, final: str) -> None:
        if final == "m" and not parameters.startswith(("<", ">", "=", "?")):
            self._colours(parameters)
        elif final in "HABCDX":
            self._move(parameters, final)
        elif final == "b":
            for _ in range(int(parameters or 1)):
                self._write(self.last)
        elif final == "n":
            self.reports += 1
        elif final == "J":
            self.cells.clear()
            self.sixels.clear()
        else:
            private = parameters[:1] in "<>=?" and parameters
            assert private or final in "hlptqrcu", f"not understood: CSI {parameters} {final}"

    def _move(self, parameters: str, final: str) -> None:
        """Place the cursor, move it, or erase to its right."""
        numbers = [int(n) for n in parameters.split(";") if n] or [1, 1]
        if final == "H":
            self.y, self.x = min(numbers[0], self.rows) - 1, min(numbers[1], self.columns) - 1
        elif final == "C":
            self.x = min(self.x + numbers[0], self.columns)
        elif final in "ABD":
            # where such a move begins beyond the last column, terminals differ
            self.doubtful += self.x >= self.columns
            self.x = max(0, min(self.x, self.columns - 1) - numbers[0] * (final == "D"))
            down = {"A": -1, "B": 1}.get(final, 0) * numbers[0]
            self.y = min(max(0, self.y + down), self.rows - 1)
        else:
            for column in range(self.x, min(self.x + numbers[0], self.columns)):
                self.cells[self.y, column] = Shown(" ", self.fore, self.back)
                self.sixels.pop((self.y, column), None)

    def _draw(self, pixels: Pixels, drawn: Bools) -> None:
        """Sixels, over what was there; where they leave the cursor is anyone's guess."""
        width, height = self.cell
        for row in range(pixels.shape[0] // height):
            for column in range(pixels.shape[1] // width):
                part = np.s_[
                    row * height : (row + 1) * height, column * width : (column + 1) * width
                ]
                assert drawn[part].all() == drawn[part].any()
                if drawn[part].all():
                    self.cells.pop((self.y + row, self.x + column), None)
                    self.sixels[self.y + row, self.x + column] = pixels[part]
        self.x, self.y = 0, self.rows - 1

    def _graphics(self, control: dict[str, str], data: str) -> None:
        """kitty's protocol as far as the picture uses it; the cursor stays."""
        if control.get("a") == "d":
            assert control["d"] == "Z"
            gone = [number for number, depth in self.depths.items() if depth == control["z"]]
            for number in gone:
                del self.images[number], self.depths[number]
            return
        if "a" in control:
            assert (control["a"], control["f"], control["o"], control["C"]) == ("T", "24", "z", "1")
            assert int(control["z"]) < -(2**31) / 2
            self.pending, self.encoded = control, ""
        self.encoded += data
        if control["m"] == "0":
            size = (int(self.pending["v"]), int(self.pending["s"]), 3)
            raw = zlib.decompress(base64.b64decode(self.encoded))
            pixels = np.frombuffer(raw, np.uint8).reshape(size)
            self.images[int(self.pending["i"])] = (self.y, self.x, pixels)
            self.depths[int(self.pending["i"])] = self.pending["z"]

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
    screen: Emulator,
    picture: Solved,
    listed: Pixels | None = None,
    at: tuple[int, int] = (0, 0),
    fineness: Fineness = STILL,
) -> float:
    """By how much the worst cell on the screen is worse than the best drawing of a picture."""
    return float(errors_shown(screen, picture, listed, at, fineness).max())


def errors_shown(
    screen: Emulator,
    picture: Solved,
    listed: Pixels | None = None,
    at: tuple[int, int] = (0, 0),
    fineness: Fineness = STILL,
) -> Floats:
    """By how much each cell on the screen is worse than the best drawing of a picture.

    ``at`` is the picture's row and column on the screen, ``listed`` the colours of its palette.
    Where a cell shows no glyph of the picture's set, all are infinitely worse. What a fineness
    allows a cell for its own two colours is taken off.
    """
    glyphs, shape = picture.glyphs, picture.best.split.shape
    split, one, zero = np.zeros(shape, int), *np.zeros((2, *shape, 3), np.uint8)
    for row, column in np.ndindex(shape):
        cell = screen.at(at[0] + row, at[1] + column)
        code = ord(cell.glyph)
        if code not in glyphs.known:
            return np.full(shape, np.inf)
        turned = code not in glyphs.direct
        split[row, column] = (glyphs.inverse if turned else glyphs.direct).tolist().index(code)
        colours = [rgb(cell.fore, listed), rgb(cell.back, listed)]
        one[row, column], zero[row, column] = colours[::-1] if turned else colours
    drawing = type(picture.best)(split, one, zero)
    share, best = glyphs.share[picture.best.split], picture.best
    apart = best.one.astype(float) - best.zero
    masked = fineness.masking * share * (1 - share) * np.square(apart).mean(axis=-1)
    worse: Floats = picture.cost(drawing) - picture.cost(best) - masked
    return worse


def rgb(colour: Colour, listed: Pixels | None = None) -> tuple[int, int, int]:
    """A cell's colour; the default is taken for black."""
    if isinstance(colour, int):
        assert listed is not None
        red, green, blue = listed[colour - (16 if len(listed) > 16 else 0)].tolist()
        return red, green, blue
    return colour or (0, 0, 0)


def pixels_shown(
    screen: Emulator, cell: tuple[int, int], at: tuple[int, int], size: tuple[int, int]
) -> Pixels:
    """What is seen of images in a part of the screen, at a row and column, of columns and rows.

    Where a cell has a glyph or a background, or no image is, it is white.
    """
    width, height = cell
    board = np.full((screen.rows * height, screen.columns * width, 3), 255, np.uint8)
    for row, column, pixels in screen.images.values():
        top, left = row * height, column * width
        board[top : top + pixels.shape[0], left : left + pixels.shape[1]] = pixels
    for (row, column), pixels in screen.sixels.items():
        if row < screen.rows and column < screen.columns:
            top, left = row * height, column * width
            board[top : top + height, left : left + width] = pixels
    for row, column in np.ndindex(screen.rows, screen.columns):
        shown = screen.at(row, column)
        if shown.back is not None or shown.glyph != " ":
            board[row * height : (row + 1) * height, column * width : (column + 1) * width] = 255
    (row, column), (columns, rows) = at, size
    return board[row * height : (row + rows) * height, column * width : (column + columns) * width]
