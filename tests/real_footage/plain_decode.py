"""The independent truth: a file decoded with PyAV from its first frame to its last, no seeking."""

from collections.abc import Iterator
from pathlib import Path

import av
import numpy as np
import numpy.typing as npt
from av.video.reformatter import Colorspace

Pixels = npt.NDArray[np.uint8]


def plain_decode(path: Path) -> Iterator[av.VideoFrame]:
    """Yield every frame of the file's first video stream, in the order the decoder gives them."""
    with av.open(str(path)) as container:
        yield from container.decode(container.streams.video[0])


def plain_stamps(path: Path) -> list[int]:
    """Return the time stamps of all frames, in units of the stream's time base."""
    return [stamp_of(frame) for frame in plain_decode(path)]


def stamp_of(frame: av.VideoFrame) -> int:
    """Return the frame's time stamp; ValueError if the decoder gave none."""
    if frame.pts is None:
        raise ValueError("the decoder gave a frame without a time stamp")
    return frame.pts


def plain_pixels(frame: av.VideoFrame) -> Pixels:
    """Return the frame as RGB, (height, width, 3), as stored: not turned.

    None of the clips in colour tags its matrix; those of 720 lines are taken as BT.709, lower
    ones as BT.601 (common practice, no source).
    """
    matrix = Colorspace.ITU709 if frame.height >= 720 else Colorspace.ITU601
    return np.asarray(frame.to_ndarray(format="rgb24", src_colorspace=matrix), np.uint8)


def difference(one: Pixels, other: Pixels) -> float:
    """Return the mean absolute difference of two pictures, in levels of 255."""
    return float(_distances(one, other).mean())


def square_difference(one: Pixels, other: Pixels) -> float:
    """Return the mean square difference of two pictures, in levels of 255 squared."""
    distances = _distances(one, other).astype(np.float32).ravel()
    return float(np.vdot(distances, distances)) / distances.size


def _distances(one: Pixels, other: Pixels) -> Pixels:
    return np.maximum(one, other) - np.minimum(one, other)
