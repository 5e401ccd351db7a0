"""The cube pictures as video files of the kinds that cameras write and no package carries."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from pathlib import Path
from random import Random

import av
import numpy as np
import numpy.typing as npt

from tui.footage.writer import VideoWriter

Grey = npt.NDArray[np.uint8]
"""A grey picture, (height, width), 0 to 255."""


@dataclass(frozen=True)
class Recording:
    """How the pictures are written: container (by ``suffix``), codec, and what a camera adds.

    ``stamps`` are units of ``time_base`` (seconds), one a picture, or None for an even rate of
    ``1 / time_base`` frames a second. ``rotation`` is in degrees clockwise.
    """

    name: str
    suffix: str = ".mp4"
    codec: str = "libx264"
    pixel_format: str = "yuv420p"
    time_base: Fraction = Fraction(1001, 30000)
    stamps: tuple[int, ...] | None = None
    rotation: int = 0
    options: Mapping[str, str] = field(default_factory=dict)


def record(pictures: Sequence[Grey], recording: Recording, path: Path) -> None:
    """Write the pictures to ``path``, one frame each."""
    height, width = pictures[0].shape
    stamps = recording.stamps or range(len(pictures))
    with VideoWriter(
        path,
        (width, height),
        30,
        codec=recording.codec,
        options=recording.options,
        pixel_format=recording.pixel_format,
        time_base=recording.time_base,
        rotation=recording.rotation,
    ) as writer:
        for picture, stamp in zip(pictures, stamps, strict=True):
            writer.write_frame(_as_frame(picture, recording.pixel_format), stamp)


def woven(pictures: Sequence[Grey]) -> list[Grey]:
    """Return half as many pictures: the upper lines of one, the lower lines of the next."""
    frames = []
    for upper, lower in zip(pictures[::2], pictures[1::2], strict=True):
        frame = upper.copy()
        frame[1::2] = lower[1::2]
        frames.append(frame)
    return frames


def uneven_stamps(count: int, seed: int) -> tuple[int, ...]:
    """Return rising time stamps from 0, with steps of 200 to 4000 units."""
    chance = Random(seed)
    stamps = [0]
    while len(stamps) < count:
        stamps.append(stamps[-1] + chance.randint(200, 4000))
    return tuple(stamps)


def _as_frame(picture: Grey, pixel_format: str) -> av.VideoFrame:
    # the camera's grey is full range; the conversion to the file's range is the library's
    return av.VideoFrame.from_ndarray(picture, "gray").reformat(format=pixel_format)
