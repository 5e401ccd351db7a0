"""What the camera sees in each frame: where everything is, and what display, card and marks show.

Frame n is exposed during the second half of the time since frame n - 1 and ends at its own instant
n, so that an instant t first shows in frame ceil(t). Arrays have the shape (frames, SAMPLES, ...).
"""

from bisect import bisect_right
from collections.abc import Sequence
from fractions import Fraction
from math import floor

import numpy as np
import numpy.typing as npt

from sessions.rules.moments import SIDES
from tui.demo.conductor import Instant, Track
from tui.demo.layout import RATE, SHAPES
from tui.demo.performance import Performance

SAMPLES = 4
"""Instants within one exposure that are averaged, which blurs what is fast."""

SHUTTER = Fraction(1, 2)
"""Part of the time between two frames during which the camera sees."""

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]


def instants(frames: int) -> Floats:
    """The sampled instants, in frames; the last of each row is the frame's own."""
    before = [float(SHUTTER * k / SAMPLES) for k in reversed(range(SAMPLES))]
    exact: Floats = np.arange(frames, dtype=np.float64)[:, None] - np.array(before)
    return exact


def positions(track: Track, times: Floats) -> Floats:
    """The place of a track at sorted instants: an array (instants, 2) in pixels."""
    found = np.empty((len(times), 2))
    found[:] = track.home
    for leg in track.legs:
        begin, end = (float(t) for t in (leg.begin, leg.end))
        first, last = np.searchsorted(times, [begin, end])
        part = ((times[first:last] - begin) / (end - begin))[:, None]
        found[first:last] = np.array(leg.source) * (1 - part) + np.array(leg.target) * part
        found[first:last, 1:] -= 4 * leg.rise * part * (1 - part)
        found[last:] = leg.target
    return found


def steps(changes: Sequence[tuple[Fraction, int]], times: Floats, first: int = 0) -> Ints:
    """A value that changes at instants: from each instant on, the value that goes with it."""
    found = np.full(len(times), first, dtype=np.int64)
    for instant, value in sorted(changes, key=lambda change: change[0]):
        found[np.searchsorted(times, float(instant)) :] = value
    return found


class Samples:
    """Everything that moves in a performance, sampled for every frame, scaled to whole pixels."""

    def __init__(self, performance: Performance, scale: float) -> None:
        tracks, frames = performance.tracks, performance.frames
        times = instants(frames).reshape(-1)
        grid = (frames, SAMPLES)

        def pixels(track: Track) -> Ints:
            scaled = np.rint(positions(track, times) * scale).astype(np.int64)
            return scaled.reshape(*grid, 2)

        self.cups = np.stack([pixels(track) for track in tracks.cups], axis=2)
        self.hands = np.stack([pixels(tracks.hands[side]) for side in SIDES], axis=2)
        self.competitor = pixels(tracks.competitor)
        shapes = [
            steps([(t, SHAPES.index(s)) for t, s in tracks.shapes[side]], times) for side in SIDES
        ]
        self.shapes = np.stack(shapes, axis=1).reshape(*grid, 2)
        layers = [steps(changes, times) for changes in tracks.layers]
        self.layers = np.stack(layers, axis=1).reshape(*grid, len(layers))
        hooks = np.full((len(times), 2), -1, dtype=np.int64)
        for hook in tracks.hooks:
            first, last = np.searchsorted(times, [float(hook.begin), float(hook.end)])
            hooks[first:last, SIDES.index(hook.hand)] = hook.cup
        self.hooks = hooks.reshape(*grid, 2)
        self.still = self._still()

    def _still(self) -> npt.NDArray[np.bool_]:
        """The frames within whose exposure nothing moves."""
        still = np.ones(len(self.cups), dtype=bool)
        for sampled in (
            self.cups,
            self.hands,
            self.competitor,
            self.shapes,
            self.layers,
            self.hooks,
        ):
            still &= (sampled == sampled[:, :1]).all(axis=tuple(range(1, sampled.ndim)))
        return still


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
