"""Moments before a start, drawn with the demo's own sprites, of which every pixel's truth is known.

A thumb is near a cup or touches it, and the cup is moved or not from one frame to the next. Places,
colours, light, noise and blur vary; so do the sub-cells that things fall on, with their places.
"""

from contextlib import ExitStack
from dataclasses import dataclass
from functools import cache
from unittest.mock import patch

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageFilter

from tui.demo import drawings
from tui.picture.cells import Pixels

Mask = NDArray[np.bool_]
Place = tuple[int, int]
Colour = tuple[int, int, int]
SIZE = WIDTH, HEIGHT = 1280, 720
AROUND = 480, 320
"""Width and height in pixels of the part of the frame that is not bare table."""

SHIFT = 2
"""Pixels by which a cup is moved."""

CLEAR = 64
"""A pixel is of the table while a thing covers less of it than this, in 255ths."""

OVERLAP = 5
"""Pixels, at least half covered by both, beyond which thumb and cup touch."""

SHIFTS = ((SHIFT, 0), (-SHIFT, 0), (0, -SHIFT), (SHIFT, -SHIFT), (0, 0), (0, 0))
"""How a cup may move, across and down: two times in six it does not."""

NOISE = 2
"""The largest deviation of a pixel from one frame to the next, as in the demo's camera."""


@dataclass(frozen=True)
class Look:
    """Colours of a thumb, a cup and the table, and of the outlines that meet in between."""

    skin: Colour
    skin_edge: Colour
    cup: Colour
    cup_edge: Colour
    ground: Colour


LOOKS = (
    Look((244, 190, 150), (92, 48, 26), (44, 122, 222), (10, 30, 66), (150, 164, 170)),
    Look((120, 78, 54), (52, 26, 16), (214, 52, 60), (74, 8, 14), (172, 140, 96)),
    Look((244, 190, 150), (214, 150, 112), (240, 214, 60), (236, 196, 40), (36, 46, 52)),
    Look((206, 150, 116), (120, 66, 40), (60, 190, 120), (16, 92, 52), (214, 214, 206)),
    Look((236, 184, 150), (226, 168, 134), (226, 236, 246), (180, 200, 222), (28, 74, 58)),
    Look((176, 120, 88), (92, 48, 26), (150, 84, 190), (52, 18, 78), (96, 150, 190)),
)
"""Outlines that stand out from the table in every look: what has no contrast shows nowhere."""


@dataclass(frozen=True, eq=False)
class Moment:
    """Two neighbouring frames, and what is true in the later one, as far as there is no bare table.

    Places are those of the part that lies ``at`` a place of the frame.
    """

    before: Pixels
    after: Pixels
    at: Place
    moved: NDArray[np.int16]
    """By how much the frames differ but for noise, in levels."""
    thumb: Mask
    cup: Mask
    gap: int
    """Pixels of the table between thumb and cup where they are nearest; 0 where they touch."""
    shift: Place
    """Pixels, across and down, by which the cup moved."""
    ground: NDArray[np.float64]
    contrast: float
    """How far the nearer of the two outlines is from the table, in levels."""
    centre: Place
    """Where they are nearest, in the frame."""

    def frame(self, part: Pixels) -> Pixels:
        """The whole frame of a part."""
        whole = np.empty((HEIGHT, WIDTH, 3), np.uint8)
        whole[:] = self.ground.astype(np.uint8)
        (left, top), (width, height) = self.at, AROUND
        whole[top : top + height, left : left + width] = part
        return whole


@dataclass(frozen=True)
class Scene:
    """A cup, and a hand from the left, the right or above, in the part that is not bare table."""

    look: Look
    way: str
    cup: Place
    hand: Place

    def mask(self, name: str, least: int) -> Mask:
        """Where a sprite covers at least so much of a pixel, in 255ths."""
        return covered(_sprites(self.look)[name], self.cup if name == "cup" else self.hand, least)

    def painted(self, shift: Place) -> Image.Image:
        """The scene with its cup elsewhere."""
        sheet = Image.new("RGB", AROUND, self.look.ground)
        drawn = _sprites(self.look)
        cup = self.cup[0] + shift[0], self.cup[1] + shift[1]
        for name, at in (("cup", cup), (self.way, self.hand)):
            sheet.paste(drawn[name].picture, drawn[name].box(*at)[:2], drawn[name].mask)
        return sheet


@cache
def _sprites(look: Look) -> dict[str, drawings.Sprite]:
    painted = {
        "SKIN": look.skin, "SKIN_EDGE": look.skin_edge, "CUP": look.cup, "CUP_LIGHT": look.cup,
        "CUP_DARK": look.cup_edge, "CUP_RIM": look.cup, "WRISTBAND": look.skin,
    }  # fmt: skip
    with ExitStack() as stack:
        for name, colour in painted.items():
            stack.enter_context(patch.object(drawings, name, colour))
        stack.enter_context(patch.object(drawings, "encoded", lambda picture: picture))
        return {
            "cup": drawings.cup(1.0, mark=False),
            "left": drawings.thumb(1.0, "left"),
            "right": drawings.thumb(1.0, "right"),
            "above": drawings.hand(1.0, "left", "open"),
        }


def covered(sprite: drawings.Sprite, at: Place, least: int) -> Mask:
    """Where a sprite covers at least so much of a pixel, in 255ths."""
    sheet = Image.new("L", AROUND)
    sheet.paste(sprite.mask, sprite.box(*at)[:2])
    return np.asarray(sheet) >= least


def widened(mask: Mask, by: int) -> Mask:
    """A mask and all places at most so many steps from it, diagonal ones too."""
    for axis in (0, 1):
        narrow = np.moveaxis(mask, axis, 0)
        wide = narrow.copy()
        for step in range(1, by + 1):
            wide[step:] |= narrow[:-step]
            wide[:-step] |= narrow[step:]
        mask = np.moveaxis(wide, 0, axis)
    return mask


@cache
def moment(seed: int) -> Moment:
    """One of many moments: by turns with a gap of ``SHIFT`` pixels, and with contact."""
    rng = np.random.default_rng(seed)
    gap = SHIFT * (seed % 2)
    scene = _scene(seed, gap, rng)
    shift = SHIFTS[int(rng.integers(len(SHIFTS)))]
    light, blur = float(rng.uniform(0.55, 1.1)), float(rng.choice([0.0, 0.0, 0.4, 0.6]))
    still = [_lit(scene.painted((-x, -y)), light, blur) for x, y in (shift, (0, 0))]
    moved = still[1].astype(np.int16) - still[0]
    ground, *edges = (
        np.clip(np.array(colour) * light, 0, 255)
        for colour in (scene.look.ground, scene.look.skin_edge, scene.look.cup_edge)
    )
    at = int(rng.integers(WIDTH - AROUND[0])), int(rng.integers(HEIGHT - AROUND[1]))
    thumb, cup = scene.mask(scene.way, 128), scene.mask("cup", 128)
    rows, columns = np.nonzero(widened(thumb, gap + 1) & widened(cup, gap + 1))
    return Moment(
        _noisy(still[0], rng),
        _noisy(still[1], rng),
        at,
        moved,
        thumb,
        cup,
        gap,
        shift,
        ground,
        min(float(np.linalg.norm(edge - ground)) for edge in edges),
        (at[0] + int(np.median(columns)), at[1] + int(np.median(rows))),
    )


def _scene(seed: int, gap: int, rng: np.random.Generator) -> Scene:
    """The hand has come nearer, pixel by pixel, until just the gap is left, or none."""
    look = LOOKS[seed // 2 % len(LOOKS)]
    way = ("left", "right", "above")[seed % 3]
    cup = AROUND[0] // 2, AROUND[1] // 2
    slide = int(rng.integers(-14, 15))
    x, y = {"left": (-130, slide - 30), "right": (130, slide - 30), "above": (slide, -150)}[way]
    step = {"left": (1, 0), "right": (-1, 0), "above": (0, 1)}[way]
    least, most = (CLEAR, 0) if gap else (128, OVERLAP)
    scene = Scene(look, way, cup, (cup[0] + x, cup[1] + y))
    reach = widened(scene.mask("cup", least), gap)
    while True:
        hand = scene.hand[0] + step[0], scene.hand[1] + step[1]
        nearer = Scene(look, way, cup, hand)
        if (reach & nearer.mask(way, least)).sum() > most:
            return scene if gap else nearer
        scene = nearer


def _lit(picture: Image.Image, light: float, blur: float) -> Pixels:
    soft = picture.filter(ImageFilter.GaussianBlur(blur)) if blur else picture
    lit: Pixels = np.clip(np.asarray(soft) * light, 0, 255).astype(np.uint8)
    return lit


def _noisy(picture: Pixels, rng: np.random.Generator) -> Pixels:
    noise = rng.integers(-NOISE, NOISE + 1, picture.shape)
    noisy: Pixels = np.clip(picture.astype(int) + noise, 0, 255).astype(np.uint8)
    return noisy
