"""Decoding all of the footage once, by one thread, for what only that tells.

Of a picture that frame threads hand out, the decoder may not know yet that it is damaged; one
thread knows all of each picture that it gives. The same pass finds pictures that repeat the one
before, and pictures of another size. What it found is kept in the cache folder.
"""

import json
import os
import threading
import zlib
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import av
import numpy as np
from av.video.frame import VideoFrame

from sessions.errors import FootageError
from tui.footage.flaws import FlawLedger

if TYPE_CHECKING:
    from tui.footage.footage import Footage

_VERSION = 1
_GENTLE = 10  # how much less urgent the pass is than the bench (see nice(1))
_JOIN_SECONDS = 2.0


@dataclass
class Checks:
    """What the pass has found so far; ``done`` once it has seen every frame."""

    done: bool = False
    repeated: list[int] = field(default_factory=list)
    """Frames whose picture is, sample for sample, that of the frame before."""
    resized: list[int] = field(default_factory=list)
    """Frames from which on pictures are of another size than those before."""

    def encoded(self, ledger: FlawLedger) -> bytes:
        """The checks, and all flaws that are known, as they are kept."""
        flaws = [(flaw.first, flaw.last, flaw.words) for flaw in ledger.flaws()]
        kept = {
            "version": _VERSION, "library": _library(), "repeated": self.repeated,
            "resized": self.resized, "flaws": flaws,
        }  # fmt: skip
        return json.dumps(kept).encode()

    @classmethod
    def recalled(cls, content: bytes, ledger: FlawLedger, frames: int) -> "Checks | None":
        """Kept checks, their flaws entered in the ledger; None where they are of no use."""
        try:
            kept = json.loads(content)
            if (kept["version"], kept["library"]) != (_VERSION, _library()):
                return None
            flaws = [(int(a), int(b), str(words)) for a, b, words in kept["flaws"]]
            found = cls(True, [int(n) for n in kept["repeated"]], [int(n) for n in kept["resized"]])
        except (ValueError, TypeError, LookupError):
            return None
        for first, last, words in flaws:
            for frame in range(max(0, first), min(last + 1, frames)):
                ledger.lose(frame, words)
        return found


def _library() -> list[int]:
    """The decoder's version: another one may find other damage."""
    return list(av.library_versions["libavcodec"])


class Pass:
    """One pass over the frames of a clip, in order."""

    def __init__(self, footage: "Footage") -> None:
        self._footage = footage
        self._came: set[int] = set()
        self._before: tuple[int, int] | None = None  # the frame before, and its checksum
        self._size: tuple[int, int] | None = None

    def run(
        self, progress: Callable[[int, int], None] | None = None, stop: Callable[[], bool] = bool
    ) -> bool:
        """Decode every frame, ``progress`` told frames of frames; whether it came to the end."""
        footage, checks = self._footage, self._footage.checks
        checks.repeated, checks.resized = [], []
        decoder = footage.decoder(hurries=False)

        def note(frame: int, picture: VideoFrame) -> None:
            if frame in self._came:
                return
            self._came.add(frame)
            self._look_at(frame, picture)
            if progress:
                progress(len(self._came), footage.frames)

        try:
            for frame in range(footage.frames):
                if stop():
                    return False
                if frame not in self._came:
                    decoder.fetch(frame, note, stop)
        finally:
            decoder.close()
        checks.done = not stop()
        return checks.done

    def _look_at(self, frame: int, picture: VideoFrame) -> None:
        checks = self._footage.checks
        size = (picture.width, picture.height)
        if self._size not in (None, size):
            checks.resized.append(frame)
        self._size = size
        seen = zlib.crc32(np.ascontiguousarray(np.from_dlpack(picture.planes[0])).data)
        if self._before == (frame - 1, seen):
            checks.repeated.append(frame)
        self._before = (frame, seen)


class BackgroundPass:
    """Makes the pass in a thread of its own, less urgent than all else, until it is closed."""

    def __init__(self, footage: "Footage") -> None:
        self._footage, self._closed = footage, threading.Event()
        self._thread = threading.Thread(target=self._work, daemon=True, name="check")
        if not footage.checks.done:
            self._thread.start()

    def close(self) -> None:
        """Stop; returns within seconds."""
        self._closed.set()
        if self._thread.is_alive():
            self._thread.join(_JOIN_SECONDS)

    def _work(self) -> None:
        with suppress(OSError, AttributeError):  # not every system knows urgency by thread
            os.setpriority(os.PRIO_PROCESS, threading.get_native_id(), _GENTLE)
        with suppress(FootageError):  # the bench itself says what became of the file
            self._footage.check(stop=self._closed.is_set)
