"""Few inks for many cells: colours that stand in for all others within what each may be off.

Changing a colour costs more bytes than writing a glyph, so cells that are scattered over a picture
are written with as few colours as their tolerances allow. Which ones is a set cover; the greedy
choice, always the ink that serves most of what is left, is within a logarithmic factor of the best
(V. Chvatal, A greedy heuristic for the set-covering problem, 1979, from memory).
"""

from dataclasses import dataclass

import numpy as np

from tui.picture.cells import Pixels
from tui.picture.pens import Bools
from tui.picture.sums import Floats, Splits

_ROOT_3 = 3**0.5


@dataclass(frozen=True, eq=False)
class Inks:
    """Colours to write with (inks x 3), and which of them serve each colour asked for."""

    colours: Pixels
    serve: Bools
    """Asked colours x inks."""


def choose_inks(asked: Pixels, reach: Floats) -> Inks:
    """Few inks of which at least one lies near enough to each colour asked for (n x 3).

    ``reach`` is how far an ink may be from each, in 8-bit levels, as squared distance in RGB.
    """
    candidates = asked[_one_of_each(asked, reach)]
    serve = _distances(asked, candidates) <= reach[:, None]
    chosen = _cover(serve)
    return Inks(candidates[chosen], serve[:, chosen])


def _one_of_each(asked: Pixels, reach: Floats) -> Splits:
    """One colour for each box of the grid in which all colours are in reach of each other."""
    width = 1 + int(min(float(np.sqrt(reach.min(initial=0))) / _ROOT_3, 255.0))
    box = (asked // np.uint8(min(width, 255))).astype(np.int32) @ np.array(
        [65536, 256, 1], np.int32
    )
    _, first = np.unique(box, return_index=True)
    return first


def _distances(asked: Pixels, candidates: Pixels) -> Floats:
    """Squared distances of all colours from all candidates."""
    left, right = asked.astype(np.float32), candidates.astype(np.float32)
    lengths = np.square(left).sum(axis=1)[:, None] + np.square(right).sum(axis=1)
    distances: Floats = lengths - 2 * (left @ right.T)
    return distances


def _cover(serve: Bools) -> list[int]:
    """Candidates, so chosen that each colour is served; the greedy set cover."""
    weights = serve.astype(np.float32)
    counts = weights.sum(axis=0)
    left = np.ones(len(serve), bool)
    chosen = []
    while counts.size and counts[best := int(counts.argmax())] > 0:
        chosen.append(best)
        served = np.flatnonzero(left & serve[:, best])
        left[served] = False
        counts -= weights[served].sum(axis=0)
    return chosen


def packed(sets: Bools) -> list[int]:
    """Sets (sets x members) as the bits of numbers, of which many can be counted at once.

    The first member is the lowest bit.
    """
    rows = np.packbits(sets, axis=1, bitorder="little")
    return [int.from_bytes(row.tobytes(), "little") for row in rows]
