"""Where two pictures differ most: the part of them that is worth a closer look."""

from fractions import Fraction
from math import ceil

import numpy as np
import numpy.typing as npt

from tui.documents.pages import Box

Pixels = npt.NDArray[np.uint8]

_COLUMNS = 64
"""Blocks across a picture."""

_NOISE = 4.0
"""Mean difference of a block, in steps of 8-bit brightness, that coding noise alone can make."""

_PARTS = (Fraction(1, 4), Fraction(3, 8), Fraction(1, 2), Fraction(3, 4))
"""Parts of the width and height to try, the smallest first."""

_ENOUGH = 0.6
"""The share of all difference at which a part is wide enough."""

# ITU-R BT.709: the weights of red, green and blue in brightness
_LUMA = np.array([0.2126, 0.7152, 0.0722], np.float32)


def crop_box(first: Pixels, last: Pixels) -> Box | None:
    """The smallest part, a quarter of the width or more, that holds most of the difference.

    Pictures are (height, width, 3). ``None`` where the two hardly differ, or differ all over.
    """
    height, width = first.shape[:2]
    side = max(1, width // _COLUMNS)
    blocks = _differences(first, last, side)
    total = float(blocks.sum())
    if total == 0:
        return None
    for part in _PARTS:
        rows, columns = (max(1, ceil(count * part)) for count in blocks.shape)
        sums = _window_sums(blocks, rows, columns)
        row, column = (int(at) for at in np.unravel_index(int(sums.argmax()), sums.shape))
        if sums[row, column] >= _ENOUGH * total:
            size = max(columns * side, ceil(width * part)), max(rows * side, ceil(height * part))
            found = blocks[row : row + rows, column : column + columns]
            middle_x = (column + _middle(np.asarray(found.any(axis=0)))) * side
            middle_y = (row + _middle(np.asarray(found.any(axis=1)))) * side
            return _around(middle_x, middle_y, size, (width, height))
    return None


def _differences(first: Pixels, last: Pixels, side: int) -> npt.NDArray[np.float32]:
    """Mean difference in brightness of each block beyond noise; blocks at the edge may be left."""
    change = np.abs(first.astype(np.float32) @ _LUMA - last.astype(np.float32) @ _LUMA)
    rows, columns = max(1, change.shape[0] // side), change.shape[1] // side
    cut = change[: rows * side, : columns * side]
    means = cut.reshape(rows, -1, columns, side).mean(axis=(1, 3))
    return np.where(means > _NOISE, means, 0).astype(np.float32)


def _window_sums(
    blocks: npt.NDArray[np.float32], rows: int, columns: int
) -> npt.NDArray[np.float64]:
    """The sum in every window of the size, by its left upper block."""
    summed = np.pad(blocks.astype(np.float64).cumsum(0).cumsum(1), ((1, 0), (1, 0)))
    return np.asarray(
        summed[rows:, columns:]
        - summed[:-rows, columns:]
        - summed[rows:, :-columns]
        + summed[:-rows, :-columns]
    )


def _middle(changed: npt.NDArray[np.bool_]) -> float:
    """Half way between the first and the last block that is changed, in blocks."""
    places = np.flatnonzero(changed)
    return float(places[0] + places[-1] + 1) / 2


def _around(x: float, y: float, size: tuple[int, int], whole: tuple[int, int]) -> Box:
    """A box of the size around a place, moved so that it lies within the picture."""
    width, height = min(size[0], whole[0]), min(size[1], whole[1])
    left = min(max(0, round(x - width / 2)), whole[0] - width)
    top = min(max(0, round(y - height / 2)), whole[1] - height)
    return Box(x=left, y=top, width=width, height=height)
