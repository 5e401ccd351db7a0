"""Pacing: no more pictures under way than the line to the terminal carries.

Every picture ends with a request for the cursor's position. The reply acknowledges it, so that the
round trip and the rate of delivery are measured where they count, at the terminal. As long as round
trips do not grow, each reply lets two pictures go; once they do, the bytes under way are kept near
the product of both, as in congestion control by bottleneck rate and round trip (N. Cardwell et al.,
BBR, 2016, from memory). Where nobody acknowledges, or someone nearer than the terminal does,
pictures are only kept a fixed time apart.
"""

import time
from collections import deque
from collections.abc import Callable
from dataclasses import dataclass

UNACKNOWLEDGED_SECONDS = 1 / 25
"""The least time between pictures that nobody acknowledges."""

LOST_SECONDS = 3.0
"""An acknowledgement that takes longer is not waited for."""

LEAST_RATE = 22
"""Pictures a second below which stepping is no motion any more."""

LEAST_PICTURE = 5000
"""Bytes below which a picture in a hurry says too little."""

IDLE_SECONDS = 0.1
"""With pictures further apart than this, the line has room for other things."""

SAMPLES = 12
"""How many of the latest rates and round trips count."""

QUEUE_SECONDS = 0.02
"""A wait in the line shorter than this is none."""


@dataclass(frozen=True, slots=True)
class _Sent:
    """A picture under way, and how much had been delivered when it left."""

    at: float
    size: int
    delivered: int
    delivered_at: float


class Pacer:
    """Says when the next picture may go. Times are seconds, sizes bytes."""

    def __init__(self, *, acknowledged: bool, clock: Callable[[], float] = time.monotonic) -> None:
        self.acknowledged = acknowledged
        self._clock = clock
        self._under_way: deque[_Sent] = deque()
        self._rates: deque[float] = deque(maxlen=SAMPLES)
        self._trips: deque[float] = deque(maxlen=4 * SAMPLES)
        self._delivered = 0
        self._delivered_at = self._left_at = -LOST_SECONDS
        self._lost = self._sent_since_reply = 0

    def sent(self, size: int) -> None:
        """A picture of so many bytes left, with a request at its end."""
        now = self._left_at = self._clock()
        if self.acknowledged:
            since = self._delivered_at if self._under_way else now
            self._sent_since_reply += 1
            self._under_way.append(_Sent(now, size, self._delivered, since))

    def reply(self) -> None:
        """The oldest picture under way was acknowledged."""
        if not self._under_way:
            return
        now, sent = self._clock(), self._under_way.popleft()
        self._delivered += sent.size
        self._delivered_at = now
        self._lost = self._sent_since_reply = 0
        self._trips.append(now - sent.at)
        passed = max(now - sent.delivered_at, 1e-4)
        self._rates.append((self._delivered - sent.delivered) / passed)

    @property
    def ready(self) -> bool:
        """Whether a picture may go now."""
        return self.wait == 0

    @property
    def allowance(self) -> int | None:
        """The bytes of a picture for ``LEAST_RATE``, while pictures hurry over a slow line.

        None where they do not hurry, or where none of the latest had to wait.
        """
        if self.idle or not self._trips or max(self._trips) < self._free_trip:
            return None
        return max(LEAST_PICTURE, int(max(self._rates) / LEAST_RATE))

    @property
    def idle(self) -> bool:
        """Whether nothing is under way and nothing left of late."""
        quiet = self._clock() - self._left_at >= IDLE_SECONDS
        return quiet and not self._under_way

    @property
    def wait(self) -> float:
        """Seconds after which a picture may go even if nothing more is heard."""
        now = self._clock()
        if not self.acknowledged:
            return max(0.0, self._left_at + UNACKNOWLEDGED_SECONDS - now)
        self._forget_lost(now)
        if self._has_room():
            return 0.0
        return max(1e-3, self._under_way[0].at + LOST_SECONDS - now)

    def _has_room(self) -> bool:
        if not self._rates:
            return len(self._under_way) < 2
        under_way = sum(sent.size for sent in self._under_way)
        grows = self._trips[-1] < self._free_trip and self._sent_since_reply < 2
        return grows or under_way < max(self._rates) * (self._free_trip + QUEUE_SECONDS)

    @property
    def _free_trip(self) -> float:
        """The round trip below which nothing waits in the line."""
        return min(self._trips) + QUEUE_SECONDS

    def _forget_lost(self, now: float) -> None:
        """Give up what was lost; a terminal that loses two in a row does not acknowledge."""
        if self._under_way and now - self._under_way[0].at >= LOST_SECONDS:
            self._under_way.clear()
            self._lost += 1
            self.acknowledged = self._lost < 2
