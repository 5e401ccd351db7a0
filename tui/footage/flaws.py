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
"""

import threading
from dataclasses import dataclass

from tui.footage.index import NOT_SHOWN, FootageIndex


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
        end = self._index.next_key(packet)
        with self._lock:
            if packet not in self._seen:
                self._seen.add(packet)
                self._damage(packet, end, cause)
        return end

    def miss(self, packet: int, cause: str) -> None:
        """Taint what may build on pictures that are missing before ``packet``."""
        index = self._index
        _, recording_end = index.recording_of(packet)
        words = f"may build on pictures that are missing before frame {self._shown_at(packet)}"
        with self._lock:
            end = min(index.next_whole(packet), recording_end)
            for frame in self._built_on(packet, end):
                self._words.setdefault(frame, f"{words}: {cause}")

    def lose(self, frame: int, words: str) -> None:
        """Enter that no picture of ``frame`` can be had, unless a reason is known already."""
        with self._lock:
            self._words.setdefault(frame, words)

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
        name = "a hidden frame" if origin == NOT_SHOWN else f"frame {origin}"
        # where times are worked out from the pictures, damage may misplace those before it too
        first = index.last_key(packet) if index.stamps_derived else packet
        for frame in self._built_on(first, end):
            own = frame == origin
            words = (
                f"damaged: {cause}" if own else f"may build on {name}, which is damaged: {cause}"
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
