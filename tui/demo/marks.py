"""When each cup's maker's mark is in plain sight: facing the camera, at rest, wholly uncovered."""

import numpy as np
import numpy.typing as npt

from tui.demo.faces import Faces
from tui.demo.layout import CUP_HEIGHT, CUP_WIDTH, GROW
from tui.demo.sampling import Floats, Ints, Samples
from tui.demo.tape import Performance

Bools = npt.NDArray[np.bool_]

_MARK = (-11 * GROW, -44 * GROW, 15 * GROW, -18 * GROW)
_CUP = (-CUP_WIDTH / 2 - 2, -CUP_HEIGHT - 2, CUP_WIDTH / 2 + 2, 2.0)
_HAND = (-54 * GROW, -46 * GROW, 54 * GROW, 80 * GROW)
"""Boxes about the place of a mark's cup, of a cup and of a hand: left, top, right, bottom."""


def mark_frames(performance: Performance) -> dict[int, tuple[tuple[int, int], ...]]:
    """For each cup, numbered from 1, the inclusive ranges of frames that show its mark whole."""
    samples = Samples(performance, 1.0)
    faces = Faces(performance)
    facing = [faces.marked(frame) for frame in range(performance.frames)]
    found = {}
    for cup in range(samples.cups.shape[2]):
        seen = ~_hidden(samples, cup) & np.array([cup in marked for marked in facing])
        found[cup + 1] = _ranges(seen)
    return found


def _hidden(samples: Samples, cup: int) -> Bools:
    places, layers = samples.cups[:, -1], samples.layers[:, -1]
    hidden: Bools = (samples.cups[:, :, cup] != places[:, None, cup]).any(axis=(1, 2))
    mark = places[:, cup]
    for other in range(places.shape[1]):
        over = layers[:, other] > layers[:, cup]
        hidden |= over & _covers(mark, places[:, other], _CUP)
    for hand in range(2):
        hidden |= _covers(mark, samples.hands[:, -1, hand], _HAND)
    return hidden


def _covers(mark: Ints, thing: Ints, box: tuple[float, float, float, float]) -> Bools:
    """Whether the box of a thing shares pixels with the mark of a cup, frame by frame."""
    apart: Floats = (thing - mark).astype(np.float64)
    across = (apart[:, 0] + box[0] < _MARK[2]) & (apart[:, 0] + box[2] > _MARK[0])
    upright = (apart[:, 1] + box[1] < _MARK[3]) & (apart[:, 1] + box[3] > _MARK[1])
    covered: Bools = across & upright
    return covered


def _ranges(seen: Bools) -> tuple[tuple[int, int], ...]:
    edges = np.flatnonzero(np.diff(np.concatenate([[False], seen, [False]]).astype(np.int8)))
    return tuple((int(a), int(b) - 1) for a, b in edges.reshape(-1, 2))
