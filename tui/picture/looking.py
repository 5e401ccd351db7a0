"""Looking closer: a part of the frame, its tones, and two frames against each other."""

from fractions import Fraction
from math import floor
from typing import Final

import numpy as np
from PIL import Image, ImageFilter

from tui.picture.cells import Pixels

LEADING, TRAILING = (255, 80, 40), (70, 130, 255)
"""Where the later frame is brighter, and where it is darker, than the one before."""

LUMA: Final = np.array([0.2126, 0.7152, 0.0722], np.float32)
"""Weights of red, green and blue in luma. Source: ITU-R BT.709-6, item 3.2."""

NOISE = 10.0
"""Differences of luma up to this, in steps of 255, are taken for noise of the camera."""


def toned(pixels: Pixels, brightness: int, contrast: int, local: bool) -> Pixels:
    """A picture with other brightness and contrast, in steps; ``local`` lifts fine differences."""
    if local:
        lifted = Image.fromarray(np.ascontiguousarray(pixels)).filter(
            ImageFilter.UnsharpMask(radius=24, percent=150, threshold=0)
        )
        pixels = np.asarray(lifted)
    if not brightness and not contrast:
        return pixels
    levels = np.arange(256, dtype=np.float32) / 255
    levels = levels ** (2.0 ** (-brightness / 3))
    levels = (levels - 0.5) * 2.0 ** (contrast / 3) + 0.5
    table: Pixels = (levels.clip(0, 1) * 255).round().astype(np.uint8)
    return table[pixels]


def difference(before: Pixels, after: Pixels) -> Pixels:
    """What moved between two pictures of one size, over the later one in dimmed grey.

    Where the later picture is brighter it is red, where it is darker blue: a bright thing on dark
    ground has a red leading edge and a blue trailing one.
    """
    luma_before, luma_after = (picture.astype(np.float32) @ LUMA for picture in (before, after))
    change = luma_after - luma_before
    strength = ((np.abs(change) - NOISE) / 60).clip(0, 1)[..., None]
    grey = np.repeat(luma_after[..., None] * 0.35, 3, axis=2)
    colour = np.where((change > 0)[..., None], LEADING, TRAILING).astype(np.float32)
    mixed: Pixels = (grey * (1 - strength) + colour * strength).round().astype(np.uint8)
    return mixed


def crossed(pixels: Pixels, at: tuple[Fraction, Fraction]) -> Pixels:
    """A picture with a small cross, left open at the point that it is about.

    The point is given as shares of the picture from the left and from the top.
    """
    marked = pixels.copy()
    height, width = marked.shape[:2]
    middle_x, middle_y = (
        min(floor(at[0] * width), width - 1),
        min(floor(at[1] * height), height - 1),
    )
    reach, open_by = max(4, width // 24), max(2, width // 96)
    for start, stop in ((-reach, -open_by), (open_by + 1, reach + 1)):
        marked[middle_y, max(0, middle_x + start) : max(0, middle_x + stop)] = (255, 255, 0)
        marked[max(0, middle_y + start) : max(0, middle_y + stop), middle_x] = (255, 255, 0)
    return marked
