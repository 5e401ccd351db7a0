"""Colours of the invented footage, and their values in the picture as it is encoded.

Everything is drawn in Y'CbCr from the beginning, so that no frame has to be converted.
"""

from PIL import Image

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
