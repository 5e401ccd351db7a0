"""Libraries that give a frame by its number, each used as its documentation says.

All deliver the same: the frame as RGB, averaged down to ``SIZE``. The others decode at each call,
and go on where they are if the next frame is asked for; ours keeps pictures and reads ahead.
"""

from collections.abc import Callable, Iterator
from importlib import import_module
from pathlib import Path
from typing import Any, Protocol

import av
import numpy as np
from av.video.frame import VideoFrame
from av.video.reformatter import Interpolation

from tests.tui.footage.clips import Pixels
from tui.footage.footage import Footage
from tui.footage.reader import FrameStore

SIZE = (640, 360)
"""Width and height of what is delivered, in pixels."""
BOUND_MB = 512.0
"""What our pictures may take, in 10^6 bytes: what the program itself allows."""


class Player(Protocol):
    """One library with one clip open."""

    def get(self, frame: int) -> Pixels | None:
        """The picture of ``frame``, or None where the library gives none."""

    def forget(self) -> None:
        """Drop all pictures kept, so that the next one is decoded."""

    def close(self) -> None:
        """Close the clip."""


class Ours:
    """The frame store, with its two workers."""

    def __init__(self, path: Path) -> None:
        self.store = FrameStore(Footage.open(path), SIZE, BOUND_MB)

    def get(self, frame: int) -> Pixels | None:
        return self.store.get(frame).pixels

    def forget(self) -> None:
        self.store.resize(SIZE)

    def close(self) -> None:
        self.store.close()


class KeepsNothing:
    """What is common to those that keep no pictures."""

    def forget(self) -> None:
        pass

    def close(self) -> None:
        pass


class PlainPyAV(KeepsNothing):
    """Seek to the time of the frame, as the packets tell it; decode until it has come."""

    def __init__(self, path: Path) -> None:
        with av.open(str(path)) as listed:
            self._times = sorted(p.pts for p in listed.demux(video=0) if p.pts is not None)
        self._container = av.open(str(path))
        self._stream = self._container.streams.video[0]
        self._stream.thread_type = "AUTO"
        self._coming: Iterator[VideoFrame] = iter(())
        self._next = -1

    def get(self, frame: int) -> Pixels | None:
        if frame != self._next:
            due = self._times[frame]
            self._container.seek(due, stream=self._stream)
            frames = self._container.decode(self._stream)
            self._coming = (f for f in frames if f.pts is not None and f.pts >= due)
        self._next = frame + 1
        found = next(self._coming, None)
        if found is None:
            return None
        small = found.reformat(*SIZE, "rgb24", interpolation=Interpolation.AREA)
        return np.asarray(small.to_ndarray(), np.uint8)

    def close(self) -> None:
        self._container.close()


class OpenCV(KeepsNothing):
    """``VideoCapture``, set to the frame's number where it is not the next one."""

    def __init__(self, path: Path) -> None:
        self._cv2: Any = import_module("cv2")
        self._capture = self._cv2.VideoCapture(str(path), self._cv2.CAP_FFMPEG)
        self._next = 0

    def get(self, frame: int) -> Pixels | None:
        cv2 = self._cv2
        if frame != self._next:
            self._capture.set(cv2.CAP_PROP_POS_FRAMES, frame)
        there, whole = self._capture.read()
        self._next = frame + 1
        if not there:
            return None
        small = cv2.resize(whole, SIZE, interpolation=cv2.INTER_AREA)
        return np.asarray(cv2.cvtColor(small, cv2.COLOR_BGR2RGB))

    def close(self) -> None:
        self._capture.release()


class TorchCodec(KeepsNothing):
    """``VideoDecoder`` in its exact mode, which scales by itself."""

    def __init__(self, path: Path) -> None:
        decoders: Any = import_module("torchcodec.decoders")
        resize: Any = import_module("torchcodec.transforms").Resize(SIZE[::-1])
        self._decoder = decoders.VideoDecoder(
            str(path),
            seek_mode="exact",
            num_ffmpeg_threads=0,
            dimension_order="NHWC",
            transforms=[resize],
        )

    def get(self, frame: int) -> Pixels | None:
        return np.asarray(self._decoder[frame].numpy())


PLAYERS: dict[str, Callable[[Path], Player]] = {
    "ours": Ours,
    "PyAV": PlainPyAV,
    "OpenCV": OpenCV,
    "torchcodec": TorchCodec,
}


def missing(name: str) -> str | None:
    """Why a library cannot be used here; None if it can."""
    module = {"OpenCV": "cv2", "torchcodec": "torchcodec.decoders"}.get(name)
    try:
        if module:
            import_module(module)
    except (ImportError, RuntimeError, OSError) as error:
        return str(error).strip().splitlines()[0]
    return None
