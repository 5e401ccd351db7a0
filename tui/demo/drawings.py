"""The drawings that every frame is put together from: the empty stage, cups, hands, digits, cards.

Each is drawn once, at three times its size, and scaled down, so that its edges are smooth. All is
kept in Y'CbCr from the beginning, so that no frame has to be converted.
"""

from collections.abc import Callable
from dataclasses import dataclass, field
from math import floor

from PIL import Image, ImageDraw, ImageFont

from sessions.rules.moments import Side
from tui.demo.layout import (
    DISPLAY_AREA,
    GROW,
    HEIGHT,
    LEAGUE,
    PAD_AREA,
    TABLE_FRONT,
    TABLE_TOP,
    WIDTH,
    Shape,
)

Rgb = tuple[int, int, int]

BACKDROP, BACKDROP_LOW = (38, 44, 58), (24, 28, 38)
TABLE, TABLE_FACE, MAT = (52, 66, 74), (30, 38, 44), (36, 46, 52)
EDGE = (120, 136, 144)
PAD, PAD_ZONE, PAD_LINE = (14, 16, 18), (34, 120, 84), (210, 222, 228)
SHIRT, SLEEVE, SEAM = (88, 60, 112), (126, 92, 156), (40, 26, 54)
SKIN, SKIN_EDGE, WRISTBAND = (244, 190, 150), (92, 48, 26), (255, 214, 0)
CUP, CUP_LIGHT, CUP_DARK, CUP_RIM = (44, 122, 222), (104, 168, 244), (10, 30, 66), (226, 236, 246)
MARK, MARK_INK = (250, 250, 246), (160, 22, 40)
DIGIT, DIGIT_OFF, DISPLAY_BOX = (255, 92, 60), (40, 22, 20), (12, 10, 10)
LETTERING, CARD, CARD_INK = (196, 206, 216), (238, 236, 226), (20, 20, 24)
CARD_WARM_UP = (255, 190, 60)

_KR, _KB = 0.2126, 0.0722
_KG = 1 - _KR - _KB
_LUMA, _CHROMA = 219 / 255, 224 / 255
# ITU-R BT.709, limited range, as rows (R, G, B, offset) for Y', Cb and Cr
_MATRIX = (
    *(_LUMA * _KR, _LUMA * _KG, _LUMA * _KB, 16.0),
    *(_CHROMA * -_KR / (2 - 2 * _KB), _CHROMA * -_KG / (2 - 2 * _KB), _CHROMA / 2, 128.0),
    *(_CHROMA / 2, _CHROMA * -_KG / (2 - 2 * _KR), _CHROMA * -_KB / (2 - 2 * _KR), 128.0),
)


def encoded(picture: Image.Image) -> Image.Image:
    """An RGB picture with Y'CbCr (BT.709, limited range) in the place of its three bands."""
    return picture.convert("RGB", _MATRIX)


def encoded_colour(colour: Rgb) -> Rgb:
    """One colour in Y'CbCr (BT.709, limited range)."""
    y, cb, cr = encoded(Image.new("RGB", (1, 1), colour)).getpixel((0, 0))  # type: ignore[misc]
    return int(y), int(cb), int(cr)


def stage(scale: float) -> Image.Image:
    """The empty stage in Y'CbCr, ``scale`` times 1280x720 pixels."""
    picture = Image.new("RGB", (WIDTH, HEIGHT), TABLE_FACE)
    draw = ImageDraw.Draw(picture)
    _backdrop(picture, draw)
    _table(draw)
    _pad(draw)
    _front(draw)
    size = round(WIDTH * scale), round(HEIGHT * scale)
    return encoded(picture.resize(size, Image.Resampling.BOX))


def _backdrop(picture: Image.Image, draw: ImageDraw.ImageDraw) -> None:
    ramp = Image.linear_gradient("L").resize((WIDTH, TABLE_TOP))
    low = Image.new("RGB", ramp.size, BACKDROP_LOW)
    high = Image.new("RGB", ramp.size, BACKDROP)
    picture.paste(Image.composite(low, high, ramp), (0, 0))
    small, big = ImageFont.load_default(24), ImageFont.load_default(34)
    for x in (235, 1045):
        draw.text((x, 84), LEAGUE.split(" Stacking")[0], LETTERING, big, anchor="mm")
        draw.text((x, 122), "Stacking League", LETTERING, small, anchor="mm")
        draw.text((x, 160), "INVENTED - NOT REAL", WRISTBAND, small, anchor="mm")


def _table(draw: ImageDraw.ImageDraw) -> None:
    top, front = TABLE_TOP, TABLE_FRONT
    draw.polygon([(130, top), (1150, top), (1240, front), (40, front)], TABLE)
    draw.polygon([(230, top + 14), (1050, top + 14), (1096, front - 14), (184, front - 14)], MAT)
    draw.line([(40, front), (1240, front)], EDGE, 5)


def _pad(draw: ImageDraw.ImageDraw) -> None:
    left, top, right, bottom = PAD_AREA
    draw.polygon([(left + 8, top), (right - 8, top), (right, bottom), (left, bottom)], PAD)
    middle = (left + right) // 2
    for a, b in ((left + 16, middle - 8), (middle + 8, right - 16)):
        draw.rectangle((a, top + 8, b, bottom - 8), PAD_ZONE, PAD_LINE, 3)


def _front(draw: ImageDraw.ImageDraw) -> None:
    left, top, right, bottom = DISPLAY_AREA
    draw.rectangle((left - 10, top - 8, right + 10, bottom + 8), DISPLAY_BOX, EDGE, 3)
    font = ImageFont.load_default(26)
    for x, words in ((280, "invented demonstration"), (1000, "no real person, no real time")):
        draw.text((x, 666), words, LETTERING, font, anchor="mm")


_FINE = 3
Draw = Callable[["Pen"], None]


class Pen:
    """Draws in pixels of the full picture, about an origin, onto a finer sheet."""

    def __init__(self, draw: ImageDraw.ImageDraw, origin: tuple[int, int], fine: float) -> None:
        self.draw, self.origin, self.fine = draw, origin, fine

    def at(self, x: float, y: float) -> tuple[float, float]:
        """A point of the full picture on the sheet."""
        return (x + self.origin[0]) * self.fine, (y + self.origin[1]) * self.fine

    def polygon(self, points: list[tuple[float, float]], fill: Rgb) -> None:
        """A filled polygon."""
        self.draw.polygon([self.at(*p) for p in points], fill=(*fill, 255))

    def ellipse(self, box: tuple[float, float, float, float], fill: Rgb) -> None:
        """A filled ellipse in its box (left, top, right, bottom)."""
        self.draw.ellipse([self.at(*box[:2]), self.at(*box[2:])], fill=(*fill, 255))

    def rectangle(self, box: tuple[float, float, float, float], fill: Rgb) -> None:
        """A filled rectangle (left, top, right, bottom)."""
        self.draw.rectangle([self.at(*box[:2]), self.at(*box[2:])], fill=(*fill, 255))

    def rod(
        self,
        source: tuple[float, float],
        target: tuple[float, float],
        width: float,
        fill: Rgb,
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
            self.rod(a, b, width + 5, SKIN_EDGE)
        for a, b, width in rods:
            self.rod(a, b, width, SKIN)


@dataclass(frozen=True, eq=False)
class Sprite:
    """A picture with its mask; ``origin`` is the pixel of the sprite that lies on its place."""

    picture: Image.Image
    mask: Image.Image
    origin: tuple[int, int]
    size: tuple[int, int] = field(init=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "size", self.picture.size)

    def mirrored(self) -> "Sprite":
        """The sprite seen in a mirror."""
        flip = Image.Transpose.FLIP_LEFT_RIGHT
        x, y = self.origin
        origin = (self.size[0] - x, y)
        return Sprite(self.picture.transpose(flip), self.mask.transpose(flip), origin)

    def box(self, x: int, y: int) -> tuple[int, int, int, int]:
        """Where the sprite lies when it is put at a place: left, top, right, bottom."""
        left, top = x - self.origin[0], y - self.origin[1]
        return left, top, left + self.size[0], top + self.size[1]


def sprite(
    size: tuple[int, int], origin: tuple[int, int], scale: float, draw: Draw, under: Rgb
) -> Sprite:
    """Draw a sprite of a size in full pixels; ``under`` is the colour of its soft edge."""
    sheet = Image.new("RGBA", (size[0] * _FINE, size[1] * _FINE), (*under, 0))
    draw(Pen(ImageDraw.Draw(sheet), origin, _FINE))
    small = (max(1, round(size[0] * scale)), max(1, round(size[1] * scale)))
    sheet = sheet.resize(small, Image.Resampling.BOX)
    drawn = sheet.getchannel("A").getbbox() or (0, 0, 1, 1)
    sheet = sheet.crop(drawn)
    x, y = (floor(v * scale + 0.5) - edge for v, edge in zip(origin, drawn[:2], strict=True))
    return Sprite(encoded(sheet.convert("RGB")), sheet.getchannel("A"), (x, y))


def cup(scale: float, mark: bool) -> Sprite:
    """A cup, mouth down, seen slightly from above; its place is the middle of its rim."""

    def draw(pen: Pen) -> None:
        wide, top, high = 27.0, 20.0, 62.0
        outer = [(-wide, 0.0), (-wide, -8.0), (-top, -high + 4.0), (top, -high + 4.0)]
        pen.polygon([*outer, (wide, -8), (wide, 0)], CUP_DARK)
        pen.ellipse((-top, -high, top, -high + 9), CUP_DARK)
        body = [(-wide + 3, -8.0), (-top + 2.5, -high + 5.0), (top - 2.5, -high + 5.0)]
        pen.polygon([*body, (wide - 3, -8)], CUP)
        pen.polygon(
            [(-wide + 7, -9), (-top + 6, -high + 9), (-top + 10, -high + 9), (-wide + 13, -9)],
            CUP_LIGHT,
        )
        pen.ellipse((-top + 2, -high + 1.5, top - 2, -high + 7.5), CUP_LIGHT)
        pen.rectangle((-wide + 2, -7, wide - 2, -2), CUP_RIM)
        if mark:
            _lantern(pen)

    return sprite((60, 68), (30, 65), scale * GROW, draw, CUP_DARK)


def _lantern(pen: Pen) -> None:
    """The invented maker's mark: a disc with a lantern's flame over a bar."""
    r, x, y = 12.0, 2.0, -31.0
    pen.ellipse((x - r, y - r, x + r, y + r), MARK)
    pen.polygon([(x, y - 9), (x + 6, y - 1), (x, y + 4), (x - 6, y - 1)], MARK_INK)
    pen.rectangle((x - 6, y + 5, x + 6, y + 8), MARK_INK)


_BAND = (
    ((-15, -36, 15, -24), SKIN_EDGE),
    ((-13, -34, 13, -26), WRISTBAND),
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

    made = sprite((104, 124), (52, 44), scale * GROW, draw, SKIN_EDGE)
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
        SKIN_EDGE,
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
        pen.rectangle((0, 0, 36, 60), DISPLAY_BOX)
        for name, box in SEGMENTS.items():
            pen.rectangle(box, DIGIT if name in LIT[character] else DIGIT_OFF)

    return sprite((38, 62), (1, 1), scale, draw, DISPLAY_BOX)


def card(scale: float, letter: str) -> Sprite:
    """The judge's card: W for a warm-up, A for an attempt; its place is its upper left corner."""

    def draw(pen: Pen) -> None:
        pen.rectangle((0, 0, 100, 110), CARD_INK)
        face = CARD_WARM_UP if letter == "W" else CARD
        pen.rectangle((4, 4, 96, 106), face)
        font = ImageFont.load_default(90 * _FINE)
        pen.draw.text(pen.at(50, 55), letter, (*CARD_INK, 255), font, anchor="mm")

    return sprite((104, 114), (2, 2), scale, draw, CARD_INK)


def competitor(scale: float, code: str) -> Sprite:
    """The competitor's torso as a plain shape with a bib; no head is ever in the picture."""

    def draw(pen: Pen) -> None:
        pen.polygon([(500, 0), (780, 0), (790, 84), (758, 320), (522, 320), (490, 84)], SEAM)
        pen.polygon([(506, 0), (774, 0), (784, 84), (752, 320), (528, 320), (496, 84)], SHIRT)
        pen.rectangle((560, 96, 720, 180), CARD)
        font = ImageFont.load_default(38 * _FINE)
        pen.draw.text(pen.at(640, 138), code, (*CARD_INK, 255), font, anchor="mm")

    return sprite((320, 320), (-480, 0), scale, draw, SEAM)


def point(scale: float) -> Sprite:
    """The display's decimal point; its place is its middle."""

    def draw(pen: Pen) -> None:
        pen.rectangle((-3, -3, 3, 3), DIGIT)

    return sprite((8, 8), (4, 4), scale, draw, DISPLAY_BOX)
