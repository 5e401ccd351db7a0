"""Pacing: no more pictures under way than the line to the terminal carries.

Every picture ends with a request for the cursor's position. The reply acknowledges it, so that the
round trip and the rate of delivery are measured where they count, at the terminal. As long as round
trips do not grow, each reply lets two pictures go; once they do, the bytes under way are kept near
the product of both, as in congestion control by bottleneck rate and round trip (N. Cardwell et al.,
BBR, 2016, from memory). Where nobody acknowledges, or someone nearer than the terminal does,
pictures are kept as far apart as a slow line would need for them.
"""

import time
from collections import deque
from collections.abc import Callable
from dataclasses import dataclass

UNACKNOWLEDGED_SECONDS = 1 / 40
"""The least time between pictures that nobody acknowledges."""

UNACKNOWLEDGED_RATE = 110_000
"""Bytes a second that a line is taken to carry where nobody acknowledges; just below 1 Mbit/s."""

UNACKNOWLEDGED_QUEUE = 0.03
"""Seconds that a picture may wait in such a line for the one before."""

LONGEST_WAIT = 0.15
"""Seconds after which another picture may go where nobody acknowledges, whatever its size."""

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

LEAST_KNOWN = 4
"""Round trips from which on a line may be called quick."""

QUEUE_SECONDS = 0.02
"""A wait in the line shorter than this is none."""


@dataclass(frozen=True, slots=True)
class _Sent:
    """A picture under way, and how much had been delivered when it left."""

    at: float
    size: int
    delivered: int
    delivered_at: float


@dataclass(frozen=True, slots=True)
class _Trip:
    """The round trip of a picture."""

    seconds: float
    size: int


class Pacer:
    """Says when the next picture may go. Times are seconds, sizes bytes."""

    def __init__(self, *, acknowledged: bool, clock: Callable[[], float] = time.monotonic) -> None:
        self.acknowledged = acknowledged
        self._clock = clock
        self._under_way: deque[_Sent] = deque()
        self._rates: deque[float] = deque(maxlen=SAMPLES)
        self._trips: deque[_Trip] = deque(maxlen=4 * SAMPLES)
        self._delivered = 0
        self._delivered_at = self._left_at = -LOST_SECONDS
        self._passed_at = self._left_at
        self._lost = self._sent_since_reply = 0

    def sent(self, size: int) -> None:
        """A picture of so many bytes left, with a request at its end."""
        now = self._left_at = self._clock()
        passed_at = max(self._passed_at, now) + size / UNACKNOWLEDGED_RATE
        self._passed_at = min(passed_at, now + LONGEST_WAIT)
        if self.acknowledged:
            since = self._delivered_at if self._under_way else now
            self._sent_since_reply += 1
            self._under_way.append(_Sent(now, size, self._delivered, since))

    def reply(self) -> None:
        """The oldest picture under way was acknowledged.

        A reply to one that was given up says that the line only stood still: replies are asked
        for again.
        """
        if not self._under_way:
            self.acknowledged, self._lost = self.acknowledged or self._lost > 0, 0
            return
        now, sent = self._clock(), self._under_way.popleft()
        self._delivered += sent.size
        self._delivered_at = now
        self._lost = self._sent_since_reply = 0
        self._trips.append(_Trip(now - sent.at, sent.size))
        passed = max(now - sent.delivered_at, 1e-4)
        self._rates.append((self._delivered - sent.delivered) / passed)

    @property
    def under_way(self) -> int:
        """Bytes of pictures that are not acknowledged yet."""
        return sum(sent.size for sent in self._under_way)

    @property
    def ready(self) -> bool:
        """Whether a picture may go now."""
        return self.wait == 0

    @property
    def allowance(self) -> int | None:
        """The bytes of a picture for ``LEAST_RATE``, while pictures hurry over a slow line.

        None where they do not hurry, or where the latest all passed in no time.
        """
        if self.idle or (self.acknowledged and self._is_quick):
            return None
        rate = max(self._rates, default=0) if self.acknowledged else UNACKNOWLEDGED_RATE
        return max(LEAST_PICTURE, int(rate / LEAST_RATE))

    @property
    def idle(self) -> bool:
        """Whether nothing is under way and nothing left of late."""
        now = self._clock()
        self._forget_lost(now)
        return now - self._left_at >= IDLE_SECONDS and not self._under_way

    @property
    def wait(self) -> float:
        """Seconds after which a picture may go even if nothing more is heard."""
        now = self._clock()
        if not self.acknowledged:
            free_at = self._passed_at - UNACKNOWLEDGED_QUEUE
            return max(0.0, self._left_at + UNACKNOWLEDGED_SECONDS - now, free_at - now)
        self._forget_lost(now)
        if self._has_room():
            return 0.0
        return max(1e-3, self._under_way[0].at + LOST_SECONDS - now)

    def _has_room(self) -> bool:
        if not self._rates:
            return len(self._under_way) < 2
        grows = self._was_free(self._trips[-1]) and self._sent_since_reply < 2
        return grows or self.under_way < max(self._rates) * (self._least.seconds + QUEUE_SECONDS)

    @property
    def _is_quick(self) -> bool:
        """Whether pictures are known to pass in no time worth the name."""
        if len(self._trips) < LEAST_KNOWN:
            return False
        return max(trip.seconds for trip in self._trips) < self._least.seconds + QUEUE_SECONDS

    @property
    def _least(self) -> _Trip:
        """The shortest round trip of late."""
        return min(self._trips, key=lambda trip: trip.seconds)

    def _was_free(self, trip: _Trip) -> bool:
        """Whether a picture waited for no other in the line.

        Passing takes a larger one longer; by how much is not underestimated, as the rate that is
        known is never above the line's.
        """
        least = self._least
        longer = max(0, trip.size - least.size) / max(self._rates)
        return trip.seconds < least.seconds + longer + QUEUE_SECONDS

    def _forget_lost(self, now: float) -> None:
        """Give up what was lost; a terminal that loses two in a row does not acknowledge."""
        if self._under_way and now - self._under_way[0].at >= LOST_SECONDS:
            self._under_way.clear()
            self._lost += 1
            self.acknowledged = self._lost < 2
