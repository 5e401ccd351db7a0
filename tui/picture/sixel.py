"""Pixels as sixels, cell by cell, each drawn in its place over what was there.

Sequences: DEC's VT330/340 manual (EK-VT3XX-TP), chapter 14, and ECMA-48, from memory. Pixels that a
picture does not set stay as they are, so that its last band of six lines may reach beyond the row;
text that is written over a picture takes its place. The cursor is saved and restored, for terminals
do not agree on where a picture leaves it. Colours are given in percent.
"""

import itertools
import re

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from tui.picture.cells import Pixels
from tui.picture.delta import MOVING, Fineness
from tui.picture.escapes import RowText, forward
from tui.picture.palette import Palette
from tui.picture.pens import Bools
from tui.picture.pixels import PixelSolution, TileEncoder

MOST_COLOURS = 64
"""Colours of one picture: each costs a pass over every band that it is in."""

MOST_COLUMNS = 32
"""Columns of one picture: the fewer share its colours, the nearer these are."""

BAND = 6
_WEIGHTS = 2 ** np.arange(BAND, dtype=np.uint8)
_RUN = re.compile(rb"(.)\1{3,}", re.DOTALL)


class SixelEncoder(TileEncoder):
    """Cells as sixels; ``registers`` limits the colours of a picture.

    Cells near each other are drawn as one picture, which leaves those between them as they are:
    with other colours they would seem to change.
    """

    TILE, TILE_CELLS = 1, 5

    def __init__(
        self, size: tuple[int, int], cell: tuple[int, int], palette: Palette, registers: int
    ) -> None:
        super().__init__(size, cell, palette)
        self._colours = min(registers, MOST_COLOURS)

    def aim(self, solved: PixelSolution, fineness: Fineness, most: int | None = None) -> list[int]:
        """See ``TileEncoder``; with few colours nothing is refined below the noise of footage."""
        return super().aim(solved, MOVING if fineness.floor < MOVING.floor else fineness, most)

    def _row_text(self, row: int, tiles: list[int]) -> RowText:
        width, height = self._cell
        lines = self._aim.pixels[row * height : (row + 1) * height]
        text, at = "", 0
        for _, group in itertools.groupby(tiles, lambda tile: tile // MOST_COLUMNS):
            columns = list(group)
            first, last = columns[0], columns[-1]
            drawn = np.zeros(last + 1 - first, bool)
            drawn[np.subtract(columns, first)] = True
            part = lines[:, first * width : (last + 1) * width]
            picture = sixels(part, drawn.repeat(width), self._colours)
            text += f"{forward(first - at)}\x1b7{picture}\x1b8"
            at = first
        return RowText(text, at)


def sixels(pixels: Pixels, drawn: Bools, colours: int) -> str:
    """Some pixel columns of a picture in at most so many colours, as one control string.

    All other columns stay as they are on the screen.
    """
    chosen = Image.fromarray(pixels[:, drawn]).quantize(
        colours, Image.Quantize.MEDIANCUT, dither=Image.Dither.NONE
    )
    listed = np.array(chosen.getpalette("RGB"), np.uint16).reshape(-1, 3)
    height, width = pixels.shape[:2]
    numbers = np.full((height, width), -1, np.int16)
    numbers[:, drawn] = np.asarray(chosen)
    shares = ((listed * 100 + 127) // 255).tolist()
    used = np.unique(numbers[:, drawn]).tolist()
    palette = "".join("#{};2;{};{};{}".format(number, *shares[number]) for number in used)
    bands = [_band(numbers[top : top + BAND]) for top in range(0, height, BAND)]
    return f'\x1bP0;1q"1;1;{width};{height}{palette}{"-".join(bands)}\x1b\\'


def _band(numbers: NDArray[np.int16]) -> str:
    """Six lines or fewer: a pass for each colour that is in them."""
    weights = _WEIGHTS[: len(numbers), None]
    passes = []
    for number in np.unique(numbers[numbers >= 0]).tolist():
        sums = ((numbers == number) * weights).sum(axis=0, dtype=np.uint8) + np.uint8(63)
        data = sums.tobytes().rstrip(b"?")
        short = _RUN.sub(lambda run: b"!%d%c" % (len(run[0]), run[1][0]), data)
        passes.append(f"#{number}{short.decode('ascii')}")
    return "$".join(passes)
