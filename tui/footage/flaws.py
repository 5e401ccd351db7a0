"""Which frames are not to be trusted, and why.

Codecs predict pictures from pictures, and decoders paint over damage without saying so. So
damage in one packet taints every frame decoded after it up to the next key packet, and the
pictures that lead that key.

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
        self.end_is_sure = False
        """Whether the last pictures of the clip were decoded once by a single thread."""
        if index.packets and not index.key[0]:
            self.damage(0, "the recording begins without a key frame")
        for packet, words in index.flaws:
            self.damage(packet, words)

    def damage(self, packet: int, cause: str) -> int:
        """Taint what may build on ``packet``; returns the key packet where the taint ends."""
        end = self._index.next_key(packet)
        with self._lock:
            if packet not in self._seen:
                self._seen.add(packet)
                self._taint(packet, end, cause)
        return end

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

    def _taint(self, packet: int, end: int, cause: str) -> None:
        index = self._index
        origin = int(index.frame_of[packet])
        name = "a hidden frame" if origin == NOT_SHOWN else f"frame {origin}"
        # where times are worked out from the pictures, damage may misplace those before it too
        first = index.last_key(packet) if index.stamps_derived else packet
        # frames of packets in [first, end), and those after ``end`` that start before it
        after = index.packet_of >= first
        for frame in (after & (index.start_of < end)).nonzero()[0].tolist():
            own = frame == origin
            words = (
                f"damaged: {cause}" if own else f"may build on {name}, which is damaged: {cause}"
            )
            self._words.setdefault(frame, words)
