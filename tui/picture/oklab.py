"""Oklab, a space in which distances follow what is seen.

B. Ottosson, A perceptual color space for image processing (2020); matrices from memory, checked
in the tests against the values of CSS Color 4.
"""

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
