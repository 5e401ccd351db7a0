"""Reading the countdown that is burned into the pictures of one clip."""

from collections.abc import Sequence

import numpy as np

from tests.real_footage.encoding import Grey

_ROWS = slice(112, 140)
_MINUTES_AND_SECONDS = (146, 165, 203, 222)
_WIDTH = 18
_BLANK = 100
"""Grey level that some pixel of any digit exceeds."""


class CountdownReader:
    """Reads ``MM:SS`` off a picture of the clip, by the shapes of the digits.

    ``examples`` are the ten pictures whose last digits are 9 to 0; they give the shapes.
    """

    def __init__(self, examples: Sequence[Grey]) -> None:
        self._shapes = [_cell(picture, _MINUTES_AND_SECONDS[-1]) for picture in reversed(examples)]

    def seconds(self, picture: Grey) -> int | None:
        """Return the seconds left, None where the picture shows no digits."""
        if picture.max() <= _BLANK:
            return None
        tens_m, ones_m, tens, ones = (
            self._digit(_cell(picture, left)) for left in _MINUTES_AND_SECONDS
        )
        return (tens_m * 10 + ones_m) * 60 + tens * 10 + ones

    def _digit(self, cell: Grey) -> int:
        differences = [np.square(cell - shape).mean() for shape in self._shapes]
        return int(np.argmin(differences))


def _cell(picture: Grey, left: int) -> Grey:
    return picture[_ROWS, left : left + _WIDTH].astype(np.int32)
