"""Sets of glyphs that split a cell in two: which sub-cells a glyph paints, and its code point.

Code points and shapes: The Unicode Standard 16.0, charts "Block Elements" (U+2580-259F) and
"Symbols for Legacy Computing" with its supplement (U+1FB00-1FBFF, U+1CC00-1CEBF). Shades and
wedges are left out: shades are a texture, and a slanted wedge draws contact that is not there.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

SPACE, FULL = 0x20, 0x2588

Mask = NDArray[np.bool_]
"""Which sub-cells of a cell a glyph paints in its foreground: down x across."""


@dataclass(frozen=True, eq=False)
class GlyphSet:
    """Splits of a cell into a *one* part and a *zero* part; split 0 is the cell of one colour.

    ``masks`` (splits x down x across) is true where a split is *one*. ``direct`` holds the code
    point that paints *one* in the foreground; ``inverse`` the one that paints *zero* in it, 0
    where there is none. Split 0 is all *zero*: a space in the background colour, or a full block.
    """

    name: str
    masks: NDArray[np.bool_]
    direct: NDArray[np.uint32]
    inverse: NDArray[np.uint32]

    @property
    def sub_cells(self) -> tuple[int, int]:
        """Sub-cells of a cell, across and down."""
        return self.masks.shape[2], self.masks.shape[1]

    @cached_property
    def share(self) -> NDArray[np.float32]:
        """The part of a cell that is *one*, for each split."""
        share: NDArray[np.float32] = self.masks.mean(axis=(1, 2), dtype=np.float32)
        return share

    @cached_property
    def known(self) -> Mapping[int, Mask]:
        """The mask of every code point of the set."""
        found = {int(code): ~mask for code, mask in zip(self.inverse, self.masks, strict=True)}
        found |= {int(code): mask for code, mask in zip(self.direct, self.masks, strict=True)}
        found.pop(0, None)
        return found

    def paints(self, glyphs: NDArray[np.uint32]) -> NDArray[np.bool_]:
        """The masks of a grid of glyphs: rows x columns x down x across."""
        codes, where = np.unique(glyphs, return_inverse=True)
        return np.stack([self.known[int(code)] for code in codes])[where.reshape(glyphs.shape)]


def _glyph_set(name: str, size: tuple[int, int], splits: list[tuple[Mask, int, int]]) -> GlyphSet:
    across, down = size
    flat = (np.zeros((down, across), bool), SPACE, FULL)
    masks, direct, inverse = zip(flat, *splits, strict=True)
    return GlyphSet(
        name, np.stack(masks), np.array(direct, np.uint32), np.array(inverse, np.uint32)
    )


def _lower(eighths: int) -> tuple[Mask, int, int]:
    mask = np.zeros((8, 8), bool)
    mask[8 - eighths :] = True
    return mask, 0x2580 + eighths, {4: 0x2580, 7: 0x2594}.get(eighths, 0)


def _left(eighths: int) -> tuple[Mask, int, int]:
    mask = np.zeros((8, 8), bool)
    mask[:, :eighths] = True
    return mask, 0x2590 - eighths, {4: 0x2590, 7: 0x2595}.get(eighths, 0)


def _quadrants(*corners: tuple[int, int]) -> Mask:
    mask = np.zeros((8, 8), bool)
    for row, column in corners:
        mask[4 * row : 4 * row + 4, 4 * column : 4 * column + 4] = True
    return mask


_CORNERS: list[tuple[Mask, int, int]] = [
    (_quadrants((0, 0)), 0x2598, 0x259F),
    (_quadrants((0, 1)), 0x259D, 0x2599),
    (_quadrants((1, 0)), 0x2596, 0x259C),
    (_quadrants((1, 1)), 0x2597, 0x259B),
    (_quadrants((0, 0), (1, 1)), 0x259A, 0x259E),
]

BLOCKS = _glyph_set(
    "blocks",
    (8, 8),
    [_lower(k) for k in range(1, 8)] + [_left(k) for k in range(1, 8)] + _CORNERS,
)
"""Quadrants and eighth blocks: only U+2580-259F, which every font with block elements has."""

HALVES = _glyph_set("halves", (1, 2), [(np.array([[True], [False]]), 0x2580, 0x2584)])
"""Upper and lower half blocks."""

_OLDER_OCTANTS = {
    0b00000001: 0x1CEA8, 0b00000010: 0x1CEAB, 0b00000011: 0x1FB82, 0b00000101: 0x2598,
    0b00001010: 0x259D, 0b00001111: 0x2580, 0b00010100: 0x1FBE6, 0b00101000: 0x1FBE7,
    0b00111111: 0x1FB85, 0b01000000: 0x1CEA3, 0b01010000: 0x2596, 0b01010101: 0x258C,
    0b01011010: 0x259E, 0b01011111: 0x259B, 0b10000000: 0x1CEA0, 0b10100000: 0x2597,
    0b10100101: 0x259A, 0b10101010: 0x2590, 0b10101111: 0x259C, 0b11000000: 0x2582,
    0b11110000: 0x2584, 0b11110101: 0x2599, 0b11111010: 0x259F, 0b11111100: 0x2586,
    0b00000000: SPACE, 0b11111111: FULL,
}  # fmt: skip
"""Octants that had a code point before octants were encoded; bit 0 is the sub-cell top left."""


def _octants() -> list[tuple[Mask, int, int]]:
    """U+1CD00-1CDE5 run through the other patterns, as numbers, in rising order."""
    newer = iter(range(0x1CD00, 0x1CDE6))
    codes = [_OLDER_OCTANTS.get(bits) or next(newer) for bits in range(256)]
    bit = np.arange(8).reshape(4, 2)
    return [
        ((bits >> bit & 1).astype(bool), codes[bits], codes[255 - bits]) for bits in range(1, 128)
    ]


OCTANTS = _glyph_set("octants", (2, 4), _octants())
"""Every pattern of two by four sub-cells; only for terminals that are known to draw them."""
