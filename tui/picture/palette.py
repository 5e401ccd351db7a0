"""The colours that a terminal can show, and how it is told to use one.

The nearest colour is looked for in Oklab, a space in which distances follow what is seen:
B. Ottosson, A perceptual color space for image processing (2020); matrices from memory, checked in
the tests against the values of CSS Color 4.
"""

from functools import cached_property
from typing import Any, Protocol

import numpy as np
from numpy.typing import NDArray

from tui.picture.cells import Pixels

_TO_CONES = np.array(
    [
        [0.4122214708, 0.5363325363, 0.0514459929],
        [0.2119034982, 0.6806995451, 0.1073969566],
        [0.0883024619, 0.2817188376, 0.6299787005],
    ]
)
_TO_LAB = np.array(
    [
        [0.2104542553, 0.7936177850, -0.0040720468],
        [1.9779984951, -2.4285922050, 0.4505937099],
        [0.0259040371, 0.7827717662, -0.8086757660],
    ]
)


def oklab(colours: Pixels) -> NDArray[np.float64]:
    """Lightness (white has 1) and two opponent colours of sRGB colours, in the last axis."""
    share = colours / 255
    linear = np.where(share <= 0.04045, share / 12.92, ((share + 0.055) / 1.055) ** 2.4)
    lab: NDArray[np.float64] = np.cbrt(linear @ _TO_CONES.T) @ _TO_LAB.T
    return lab


Texts = NDArray[Any]
"""An array of ``str``."""


class Palette(Protocol):
    """Colours of a terminal. SGR parameters are those of ECMA-48 and ISO 8613-6."""

    name: str

    def shown(self, colours: Pixels) -> Pixels:
        """What the terminal shows for colours, in the same shape."""
        ...

    def foreground(self, colours: Pixels) -> Texts:
        """The parameters that select shown colours (n x 3) as foreground."""
        ...

    def background(self, colours: Pixels) -> Texts:
        """The parameters that select shown colours (n x 3) as background."""
        ...


_DECIMAL: Texts = np.array([f";{level}" for level in range(256)], object)


class Truecolour:
    """Any colour of 8 bits a channel."""

    name = "24-bit"

    def shown(self, colours: Pixels) -> Pixels:
        """The colours themselves."""
        return colours

    def foreground(self, colours: Pixels) -> Texts:
        """Direct colour, ``38;2``."""
        return self._direct("38;2", colours)

    def background(self, colours: Pixels) -> Texts:
        """Direct colour, ``48;2``."""
        return self._direct("48;2", colours)

    @staticmethod
    def _direct(selector: str, colours: Pixels) -> Texts:
        red, green, blue = _DECIMAL[colours.T]
        text: Texts = selector + red + green + blue
        return text


_ENTRIES = 32
"""Levels of a channel for which the nearest colour is looked up."""


class Indexed:
    """A fixed list of colours, each with its own parameters; what is asked for is the nearest."""

    def __init__(
        self, name: str, colours: Pixels, foreground: list[str], background: list[str]
    ) -> None:
        self.name = name
        self._colours = colours
        self._foreground: Texts = np.array(foreground, object)
        self._background: Texts = np.array(background, object)
        packed = _packed(colours)
        self._order = np.argsort(packed, kind="stable")
        self._sorted = packed[self._order]

    @cached_property
    def _nearest(self) -> NDArray[np.uint8]:
        level = np.rint(np.linspace(0, 255, _ENTRIES)).astype(np.uint8)
        grid = np.stack(np.meshgrid(level, level, level, indexing="ij"), axis=-1)
        listed = oklab(self._colours).astype(np.float32)
        length = np.square(listed).sum(axis=1)
        planes = oklab(grid).astype(np.float32)  # one at a time stays in the processor's cache
        near = [(length - 2 * plane @ listed.T).argmin(axis=-1) for plane in planes]
        return np.stack(near).astype(np.uint8)

    def shown(self, colours: Pixels) -> Pixels:
        """The nearest colours of the list, by their distance in Oklab."""
        entry = (colours.astype(np.uint16) * (_ENTRIES - 1) + 127) // 255
        red, green, blue = np.moveaxis(entry, -1, 0)
        nearest: Pixels = self._colours[self._nearest[red, green, blue]]
        return nearest

    def foreground(self, colours: Pixels) -> Texts:
        """The parameters of listed colours as foreground."""
        texts: Texts = self._foreground[self._places(colours)]
        return texts

    def background(self, colours: Pixels) -> Texts:
        """The parameters of listed colours as background."""
        texts: Texts = self._background[self._places(colours)]
        return texts

    def _places(self, colours: Pixels) -> NDArray[np.intp]:
        places: NDArray[np.intp] = self._order[np.searchsorted(self._sorted, _packed(colours))]
        return places


def _packed(colours: Pixels) -> NDArray[np.int64]:
    packed: NDArray[np.int64] = colours.astype(np.int64) @ np.array([65536, 256, 1])
    return packed


class NoColour:
    """No colour at all: the terminal's own foreground on its own background."""

    name = "no colour"

    def shown(self, colours: Pixels) -> Pixels:
        """The colours themselves: a painter for such a terminal asks for none but its two."""
        return colours

    def foreground(self, colours: Pixels) -> Texts:
        """Never asked for."""
        return np.full(len(colours), "", object)

    background = foreground


_LEVELS = (0, 95, 135, 175, 215, 255)
_CUBE = [(r, g, b) for r in _LEVELS for g in _LEVELS for b in _LEVELS]
_GREYS = [(level, level, level) for level in range(8, 239, 10)]
_BASIC = [
    (0, 0, 0), (205, 0, 0), (0, 205, 0), (205, 205, 0),
    (0, 0, 238), (205, 0, 205), (0, 205, 205), (229, 229, 229),
    (127, 127, 127), (255, 0, 0), (0, 255, 0), (255, 255, 0),
    (92, 92, 255), (255, 0, 255), (0, 255, 255), (255, 255, 255),
]  # fmt: skip

TRUECOLOUR = Truecolour()

INDEXED_256 = Indexed(
    "256 colours",
    np.array(_CUBE + _GREYS, np.uint8),
    [f"38;5;{number}" for number in range(16, 256)],
    [f"48;5;{number}" for number in range(16, 256)],
)
"""xterm's cube and greys; the first sixteen are left out, for users redefine them."""

INDEXED_16 = Indexed(
    "16 colours",
    np.array(_BASIC, np.uint8),
    [str(number) for number in [*range(30, 38), *range(90, 98)]],
    [str(number) for number in [*range(40, 48), *range(100, 108)]],
)
"""The basic and bright colours, as xterm shows them when nothing is configured."""

NO_COLOUR = NoColour()
