"""Which frames are not to be trusted, and why.

Codecs predict pictures from pictures, and decoders paint over damage without saying so. So
damage in one packet taints every frame decoded after it up to the next key packet, and the
pictures that lead that key.

A picture that is missing taints likewise what comes after it, up to the next key: others may build
on it, and the decoder takes another in its place.

Damage is known by what the container marks, what the decoder refuses or flags, and what never
comes out. Changed bytes that still decode to a picture leave no such sign: HEVC, VP8 and VP9
carry nothing to check their data by, and H.264 does not always notice. Against that, only the
fingerprint of the original helps.

All of the footage is decoded once by one thread for what only that tells: of a picture that frame
threads hand out, the decoder may not know yet that it is damaged; one thread knows all of each
picture that it gives. The same pass finds pictures that repeat the one before, and pictures of
another size. What it found is kept in the cache folder.
"""

import json
import os
import threading
import zlib
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Literal

import av
import numpy as np
from av.video.frame import VideoFrame

from sessions.errors import FootageError
from tui.footage.fields import TOP_FIRST, WHOLE
from tui.footage.index import NOT_SHOWN, FootageIndex
from tui.footage.picture import Orientation

if TYPE_CHECKING:
    from tui.footage.footage import Footage

_VERSION = 1
_GENTLE = 10  # how much less urgent the pass is than the bench (see nice(1))
_JOIN_SECONDS = 2.0
_WAIT_SECONDS = 0.2


# -- the ledger


@dataclass(frozen=True)
class Flaw:
    """Frames ``first`` to ``last``, both included, are not to be trusted; ``words`` say why."""

    first: int
    last: int
    words: str


class FlawLedger:
    """The flaws found in a clip so far; safe to use from several threads."""

    def __init__(self, index: FootageIndex) -> None:
        self._index = index
        self._lock = threading.Lock()
        self._words: dict[int, str] = {}
        self._noted: list[tuple[Literal["damage", "lose"], int, str]] = []
        self._seen: set[int] = set()
        self.sure_ends: set[int] = set()
        """The recordings, by their first packet, whose last pictures a single thread decoded."""
        for first in index.recordings:
            if first < index.packets and not index.key[first]:
                self.damage(first, "the recording begins without a key frame")
        for packet, words in index.flaws:
            self.damage(packet, words)
        for packet, words in index.losses:
            self.miss(packet, words)

    def damage(self, packet: int, cause: str) -> int:
        """Taint what may build on ``packet``; returns the key packet where the taint ends."""
        with self._lock:
            end = self._index.next_key(packet)
            if packet not in self._seen:
                self._seen.add(packet)
                self._noted.append(("damage", packet, cause))
                self._damage(packet, end, cause)
        return end

    def miss(self, packet: int, cause: str) -> None:
        """Taint what may build on pictures that are missing before ``packet``."""
        with self._lock:
            index = self._index
            _, recording_end = index.recording_of(packet)
            words = f"may build on pictures that are missing before frame {self._shown_at(packet)}"
            end = min(index.next_whole(packet), recording_end)
            for frame in self._built_on(packet, end):
                self._words.setdefault(frame, f"{words}: {cause}")

    def lose(self, frame: int, words: str) -> None:
        """Enter that no picture of ``frame`` can be had, unless a reason is known already."""
        with self._lock:
            self._noted.append(("lose", frame, words))
            self._words.setdefault(frame, words)

    def grow(self, index: FootageIndex) -> None:
        """Go on with an index of more packets: what was found before may reach further there."""
        with self._lock:
            grown = FlawLedger(index)
            for kind, place, words in self._noted:
                if kind == "damage":
                    grown.damage(place, words)
                else:
                    grown.lose(place, words)
            self._index, self._words, self._seen = index, grown._words, grown._seen
            self._noted, self.sure_ends = grown._noted, set()

    def flaw(self, frame: int) -> str | None:
        """Why ``frame`` is not to be trusted, or None if nothing is known against it."""
        return self._words.get(frame)

    def flaws(self) -> tuple[Flaw, ...]:
        """All flaws found, in order, neighbouring frames with the same words put together."""
        found: list[Flaw] = []
        with self._lock:
            for frame, words in sorted(self._words.items()):
                if found and found[-1].last == frame - 1 and found[-1].words == words:
                    found[-1] = Flaw(found[-1].first, frame, words)
                else:
                    found.append(Flaw(frame, frame, words))
        return tuple(found)

    def _damage(self, packet: int, end: int, cause: str) -> None:
        index = self._index
        origin = int(index.frame_of[packet])
        own = index.frames_of(packet)
        name = "a hidden frame" if origin == NOT_SHOWN else f"frame {origin}"
        # where times are worked out from the pictures, damage may misplace those before it too
        first = index.last_key(packet) if index.stamps_derived else packet
        for frame in self._built_on(first, end):
            words = (
                f"damaged: {cause}"
                if frame in own
                else f"may build on {name}, which is damaged: {cause}"
            )
            self._words.setdefault(frame, words)

    def _built_on(self, first: int, end: int) -> list[int]:
        """The frames of packets from ``first`` to before ``end``, and those that lead ``end``."""
        after = self._index.packet_of >= first
        frames: list[int] = (after & (self._index.start_of < end)).nonzero()[0].tolist()
        return frames

    def _shown_at(self, packet: int) -> int:
        """The first frame of those from ``packet`` on, as decoded."""
        frames = self._index.frame_of[packet:]
        shown = frames[frames != NOT_SHOWN]
        return int(shown[0]) if len(shown) else self._index.frames - 1


# -- one pass over all frames


@dataclass
class Checks:
    """What the pass has found so far; ``done`` once it has seen every frame."""

    done: bool = False
    repeated: list[int] = field(default_factory=list)
    """Frames whose picture is, sample for sample, that of the frame before."""
    resized: list[int] = field(default_factory=list)
    """Frames from which on pictures are of another size, or turned otherwise, than before."""

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
        self._before: dict[int, tuple[int, int]] = {}  # by lines: the last frame, its checksum
        self._shape: tuple[int, int, Orientation] | None = None

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
        checks, index = self._footage.checks, self._footage.index
        shape = (picture.width, picture.height, Orientation.of(picture))
        if self._shape not in (None, shape):
            checks.resized.append(frame)
        self._shape = shape
        lines = int(index.lines[frame])
        rows = np.from_dlpack(picture.planes[0])
        if lines != WHOLE:
            rows = rows[0 if lines == TOP_FIRST else 1 :: 2]
        seen = zlib.crc32(np.ascontiguousarray(rows).data)
        # a field repeats the one of the same lines, not the one before it
        if self._before.get(lines) == (frame - (1 if lines == WHOLE else 2), seen):
            checks.repeated.append(frame)
        self._before[lines] = (frame, seen)


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
        while not self._footage.is_whole:  # what is still being read is not decoded as well
            if self._closed.wait(_WAIT_SECONDS) or self._footage.failure:
                return
        with suppress(FootageError):  # the bench itself says what became of the file
            self._footage.check(stop=self._closed.is_set)
