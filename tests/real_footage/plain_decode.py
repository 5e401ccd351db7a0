"""The independent truth: a file decoded with PyAV from its first frame to its last, no seeking."""

from collections.abc import Iterator
from pathlib import Path

import av


def plain_decode(path: Path) -> Iterator[av.VideoFrame]:
    """Yield every frame of the file's first video stream, in the order the decoder gives them."""
    with av.open(str(path)) as container:
        yield from container.decode(container.streams.video[0])


def plain_stamps(path: Path) -> list[int]:
    """Return the time stamps of all frames, in units of the stream's time base."""
    return [_stamp(frame) for frame in plain_decode(path)]


def _stamp(frame: av.VideoFrame) -> int:
    if frame.pts is None:
        raise ValueError("the decoder gave a frame without a time stamp")
    return frame.pts
