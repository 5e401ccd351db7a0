"""What changes in steps during the footage: the display, the judge's card, the cups' marks."""

from bisect import bisect_right
from math import floor

from tui.demo.layout import RATE
from tui.demo.moves import Instant
from tui.demo.tape import Performance


def milliseconds(begin: Instant, end: Instant) -> int:
    """What the display shows of the time between two instants: it drops what is below 1 ms."""
    return floor((end - begin) * 1000 / RATE)


class Faces:
    """What the display and the card show, and which cups turn their mark to the camera."""

    def __init__(self, performance: Performance) -> None:
        tracks, score = performance.tracks, performance.score
        self._clocks = sorted(tracks.clocks)
        self._resets = sorted(tracks.resets)
        self._cards = sorted(tracks.cards)
        self._turns = {cup: at for at, cup in tracks.turns}
        unmarked = {number - 1 for number in (*score.no_mark, *score.hidden)}
        self._marked = frozenset(range(performance.event.cups)) - unmarked

    def display(self, frame: int) -> int:
        """The milliseconds on the display in a frame: 0 after a reset, still after a stop."""
        reset = bisect_right(self._resets, frame)
        started = [clock for clock in self._clocks if clock[0] <= frame]
        if not started or (reset and self._resets[reset - 1] > started[-1][0]):
            return 0
        begin, end = started[-1]
        return milliseconds(begin, min(end, Instant(frame)))

    def card(self, frame: int) -> str:
        """The letter on the judge's card: W, A, or none yet."""
        number = bisect_right(self._cards, (frame, "Z"))
        return self._cards[number - 1][1] if number else ""

    def marked(self, frame: int) -> frozenset[int]:
        """The cups whose mark faces the camera, whether or not something covers it."""
        return self._marked - {cup for cup, at in self._turns.items() if at <= frame}


def display_text(shown: int) -> str:
    """The four or five digits of the display, blank where there are no tens of seconds."""
    return f"{shown:5d}" if shown >= 10_000 else f" {shown:04d}"
