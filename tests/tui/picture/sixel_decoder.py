"""A decoder of sixels, written from the manual and not from our encoder.

DEC's VT330/340 manual, chapter 14, from memory: of a sixel's six bits the lowest is the top line.
"""

import re

import numpy as np

from tui.picture.cells import Pixels
from tui.picture.strokes import Bools

_TOKEN = re.compile(
    r'"(?P<raster>[\d;]+)|#(?P<colour>[\d;]+)|!(?P<count>\d+)(?P<repeated>[?-~])|(?P<data>[?-~])'
    r"|(?P<back>\$)|(?P<next>-)"
)


def decoded(body: str) -> tuple[Pixels, Bools]:
    """The picture between ``q`` and the string terminator, and which of its pixels are set."""
    colours: dict[int, tuple[int, int, int]] = {}
    chosen = column = top = at = 0
    picture, drawn = np.zeros((0, 0, 3), np.uint8), np.zeros((0, 0), bool)
    while at < len(body):
        token = _TOKEN.match(body, at)
        assert token is not None, body[at : at + 20]
        at = token.end()
        if raster := token["raster"]:
            _, _, width, height = (int(number) for number in raster.split(";"))
            picture = np.zeros((height, width, 3), np.uint8)
            drawn = np.zeros((height, width), bool)
        elif colour := token["colour"]:
            chosen, *given = (int(number) for number in colour.split(";"))
            if given:
                assert given[0] == 2
                red, green, blue = (round(share * 255 / 100) for share in given[1:])
                colours[chosen] = red, green, blue
        elif token["back"]:
            column = 0
        elif token["next"]:
            column, top = 0, top + 6
        else:
            count = int(token["count"] or 1)
            bits = ord(token["repeated"] or token["data"]) - 63
            for line in range(6):
                if bits >> line & 1:
                    picture[top + line, column : column + count] = colours[chosen]
                    drawn[top + line, column : column + count] = True
            column += count
    return picture, drawn
