"""The things that move in the picture, drawn once: cups, hands, digits, cards.

Sprites are drawn at three times their size and scaled down, so that their edges are smooth.
"""

from collections.abc import Callable
from dataclasses import dataclass
from math import floor

from PIL import Image, ImageDraw, ImageFont

from sessions.rules.moments import Side
from tui.demo import colours
from tui.demo.layout import GROW, Shape

_FINE = 3
Draw = Callable[["Pen"], None]


class Pen:
    """Draws in pixels of the full picture, about an origin, onto a finer sheet."""

    def __init__(self, draw: ImageDraw.ImageDraw, origin: tuple[int, int], fine: float) -> None:
        self.draw, self.origin, self.fine = draw, origin, fine

    def at(self, x: float, y: float) -> tuple[float, float]:
        """A point of the full picture on the sheet."""
        return (x + self.origin[0]) * self.fine, (y + self.origin[1]) * self.fine

    def polygon(self, points: list[tuple[float, float]], fill: colours.Rgb) -> None:
        """A filled polygon."""
        self.draw.polygon([self.at(*p) for p in points], fill=(*fill, 255))

    def ellipse(self, box: tuple[float, float, float, float], fill: colours.Rgb) -> None:
        """A filled ellipse in its box (left, top, right, bottom)."""
        self.draw.ellipse([self.at(*box[:2]), self.at(*box[2:])], fill=(*fill, 255))

    def rectangle(self, box: tuple[float, float, float, float], fill: colours.Rgb) -> None:
        """A filled rectangle (left, top, right, bottom)."""
        self.draw.rectangle([self.at(*box[:2]), self.at(*box[2:])], fill=(*fill, 255))

    def rod(
        self,
        source: tuple[float, float],
        target: tuple[float, float],
        width: float,
        fill: colours.Rgb,
    ) -> None:
        """A line with round ends."""
        a, b = self.at(*source), self.at(*target)
        self.draw.line([a, b], fill=(*fill, 255), width=round(width * self.fine))
        r = width * self.fine / 2
        for x, y in (a, b):
            self.draw.ellipse([x - r, y - r, x + r, y + r], fill=(*fill, 255))

    def skin(self, rods: list[tuple[tuple[float, float], tuple[float, float], float]]) -> None:
        """Fingers, palms and thumbs as rods with a dark outline around all of them together."""
        for a, b, width in rods:
            self.rod(a, b, width + 5, colours.SKIN_EDGE)
        for a, b, width in rods:
            self.rod(a, b, width, colours.SKIN)


@dataclass(frozen=True, eq=False)
class Sprite:
    """A picture with its mask; ``origin`` is the pixel of the sprite that lies on its place."""

    picture: Image.Image
    mask: Image.Image
    origin: tuple[int, int]

    def mirrored(self) -> "Sprite":
        """The sprite seen in a mirror."""
        flip = Image.Transpose.FLIP_LEFT_RIGHT
        x, y = self.origin
        origin = (self.picture.width - x, y)
        return Sprite(self.picture.transpose(flip), self.mask.transpose(flip), origin)

    def box(self, x: int, y: int) -> tuple[int, int, int, int]:
        """Where the sprite lies when it is put at a place: left, top, right, bottom."""
        left, top = x - self.origin[0], y - self.origin[1]
        return left, top, left + self.picture.width, top + self.picture.height


def sprite(
    size: tuple[int, int], origin: tuple[int, int], scale: float, draw: Draw, under: colours.Rgb
) -> Sprite:
    """Draw a sprite of a size in full pixels; ``under`` is the colour of its soft edge."""
    sheet = Image.new("RGBA", (size[0] * _FINE, size[1] * _FINE), (*under, 0))
    draw(Pen(ImageDraw.Draw(sheet), origin, _FINE))
    small = (max(1, round(size[0] * scale)), max(1, round(size[1] * scale)))
    sheet = sheet.resize(small, Image.Resampling.BOX)
    drawn = sheet.getchannel("A").getbbox() or (0, 0, 1, 1)
    sheet = sheet.crop(drawn)
    x, y = (floor(v * scale + 0.5) - edge for v, edge in zip(origin, drawn[:2], strict=True))
    return Sprite(colours.encoded(sheet.convert("RGB")), sheet.getchannel("A"), (x, y))


def cup(scale: float, mark: bool) -> Sprite:
    """A cup, mouth down, seen slightly from above; its place is the middle of its rim."""

    def draw(pen: Pen) -> None:
        wide, top, high = 27.0, 20.0, 62.0
        outer = [(-wide, 0.0), (-wide, -8.0), (-top, -high + 4.0), (top, -high + 4.0)]
        pen.polygon([*outer, (wide, -8), (wide, 0)], colours.CUP_DARK)
        pen.ellipse((-top, -high, top, -high + 9), colours.CUP_DARK)
        body = [(-wide + 3, -8.0), (-top + 2.5, -high + 5.0), (top - 2.5, -high + 5.0)]
        pen.polygon([*body, (wide - 3, -8)], colours.CUP)
        pen.polygon(
            [(-wide + 7, -9), (-top + 6, -high + 9), (-top + 10, -high + 9), (-wide + 13, -9)],
            colours.CUP_LIGHT,
        )
        pen.ellipse((-top + 2, -high + 1.5, top - 2, -high + 7.5), colours.CUP_LIGHT)
        pen.rectangle((-wide + 2, -7, wide - 2, -2), colours.CUP_RIM)
        if mark:
            _lantern(pen)

    return sprite((60, 68), (30, 65), scale * GROW, draw, colours.CUP_DARK)


def _lantern(pen: Pen) -> None:
    """The invented maker's mark: a disc with a lantern's flame over a bar."""
    r, x, y = 12.0, 2.0, -31.0
    pen.ellipse((x - r, y - r, x + r, y + r), colours.MARK)
    pen.polygon([(x, y - 9), (x + 6, y - 1), (x, y + 4), (x - 6, y - 1)], colours.MARK_INK)
    pen.rectangle((x - 6, y + 5, x + 6, y + 8), colours.MARK_INK)


_BAND = (
    ((-15, -36, 15, -24), colours.SKIN_EDGE),
    ((-13, -34, 13, -26), colours.WRISTBAND),
)
Rods = list[tuple[tuple[float, float], tuple[float, float], float]]
_PALMS: dict[Shape, Rods] = {
    "open": [
        ((0, -14), (0, 2), 24),
        ((-7, 6), (-9, 24), 8),
        ((0, 8), (0, 28), 8),
        ((7, 6), (8, 24), 8),
        ((-10, -8), (-15, 8), 8),
    ],
    "grip": [
        ((-1, -14), (0, 4), 26),
        ((6, -8), (40, -12), 8),
        ((6, 2), (42, -2), 8),
        ((6, 12), (38, 10), 8),
    ],
    "flat": [
        ((-8, -12), (-8, 6), 26),
        ((8, -12), (8, 6), 26),
        ((-18, 8), (-25, 36), 9),
        ((-6, 10), (-9, 44), 9),
        ((6, 10), (7, 44), 9),
        ((17, 8), (23, 38), 9),
        ((16, -6), (38, 8), 10),
    ],
    "wrist": [
        ((0, 16), (0, 40), 32),
        ((-11, 44), (-14, 66), 8),
        ((0, 46), (0, 70), 8),
        ((11, 44), (13, 66), 8),
        ((12, 24), (26, 38), 9),
    ],
}
_HOOKING: Rods = [rod for rod in _PALMS["flat"] if rod[1] != (23, 38)]
_IN_FRONT: Rods = [_PALMS["grip"][0], ((6, -2), (30, 8), 10)]


def hand(scale: float, side: Side, shape: Shape, hooking: bool = False) -> Sprite:
    """A hand with its wristband, without the thumb of a grip; its place is its palm.

    ``hooking`` leaves out the finger of a flat hand that is stretched to a cup.
    """

    rods = _HOOKING if hooking and shape == "flat" else _PALMS[shape]
    return _banded(scale, side, rods, lower=30 if shape == "wrist" else 0)


def thumb(scale: float, side: Side) -> Sprite:
    """The palm and thumb of a grip, which lie in front of the cups; the fingers lie behind."""
    return _banded(scale, side, _IN_FRONT, lower=0)


def _banded(scale: float, side: Side, rods: Rods, lower: int) -> Sprite:
    """Skin and a wristband, which is ``lower`` by so many units than is usual."""

    def draw(pen: Pen) -> None:
        pen.skin(rods)
        for (left, top, right, bottom), colour in _BAND:
            pen.rectangle((left, top + lower, right, bottom + lower), colour)

    made = sprite((104, 124), (52, 44), scale * GROW, draw, colours.SKIN_EDGE)
    return made if side == "left" else made.mirrored()


def hook(scale: float, reach: tuple[float, float]) -> Sprite:
    """A finger stretched from the palm to a cup that lies ``reach`` pixels from it."""
    width, height = (round(abs(v)) + 40 for v in reach)
    rods: Rods = [((0, 0), reach, 12)]
    return sprite(
        (2 * width, 2 * height),
        (width, height),
        scale,
        lambda pen: pen.skin(rods),
        colours.SKIN_EDGE,
    )


SEGMENTS = {
    "a": (6, 0, 30, 7),
    "b": (29, 4, 36, 28),
    "c": (29, 32, 36, 56),
    "d": (6, 53, 30, 60),
    "e": (0, 32, 7, 56),
    "f": (0, 4, 7, 28),
    "g": (6, 26, 30, 34),
}
"""The seven segments of a digit, in pixels of the full picture: left, top, right, bottom."""

LIT = {
    "0": "abcdef", "1": "bc", "2": "abdeg", "3": "abcdg", "4": "bcfg", "5": "acdfg",
    "6": "acdefg", "7": "abc", "8": "abcdefg", "9": "abcdfg", " ": "",
}  # fmt: skip
DIGIT_PITCH = 46


def digit(scale: float, character: str) -> Sprite:
    """A seven-segment digit, or a blank one; its place is its upper left corner."""

    def draw(pen: Pen) -> None:
        pen.rectangle((0, 0, 36, 60), colours.DISPLAY_BOX)
        for name, box in SEGMENTS.items():
            pen.rectangle(box, colours.DIGIT if name in LIT[character] else colours.DIGIT_OFF)

    return sprite((38, 62), (1, 1), scale, draw, colours.DISPLAY_BOX)


def card(scale: float, letter: str) -> Sprite:
    """The judge's card: W for a warm-up, A for an attempt; its place is its upper left corner."""

    def draw(pen: Pen) -> None:
        pen.rectangle((0, 0, 100, 110), colours.CARD_INK)
        face = colours.CARD_WARM_UP if letter == "W" else colours.CARD
        pen.rectangle((4, 4, 96, 106), face)
        font = ImageFont.load_default(90 * _FINE)
        pen.draw.text(pen.at(50, 55), letter, (*colours.CARD_INK, 255), font, anchor="mm")

    return sprite((104, 114), (2, 2), scale, draw, colours.CARD_INK)


def competitor(scale: float, code: str) -> Sprite:
    """The competitor's torso as a plain shape with a bib; no head is ever in the picture."""

    def draw(pen: Pen) -> None:
        pen.polygon(
            [(500, 0), (780, 0), (790, 84), (758, 320), (522, 320), (490, 84)], colours.SEAM
        )
        pen.polygon(
            [(506, 0), (774, 0), (784, 84), (752, 320), (528, 320), (496, 84)], colours.SHIRT
        )
        pen.rectangle((560, 96, 720, 180), colours.CARD)
        font = ImageFont.load_default(38 * _FINE)
        pen.draw.text(pen.at(640, 138), code, (*colours.CARD_INK, 255), font, anchor="mm")

    return sprite((320, 320), (-480, 0), scale, draw, colours.SEAM)


def point(scale: float) -> Sprite:
    """The display's decimal point; its place is its middle."""

    def draw(pen: Pen) -> None:
        pen.rectangle((-3, -3, 3, 3), colours.DIGIT)

    return sprite((8, 8), (4, 4), scale, draw, colours.DISPLAY_BOX)
