"""Playing: which frame is due at a moment of wall-clock time. Pure; the screen brings the time."""

from collections.abc import Callable
from dataclasses import dataclass, field
from fractions import Fraction

SPEEDS = tuple(map(Fraction, ("1/16", "1/8", "1/4", "1/2", "1", "2", "4")))
FULL_SPEED = SPEEDS.index(Fraction(1))

LEAST_SECONDS = 1
"""Shorter stretches show no run: nothing is told or written down of them."""


@dataclass(frozen=True, slots=True)
class Stretch:
    """Frames played without a pause, first and last, at parts of real speed below 0 backwards.

    ``drawn`` is how many of them were on the screen.
    """

    first: int
    last: int
    speed: Fraction
    drawn: int = 0


@dataclass
class Player:
    """Plays by the footage's own time stamps, so that full speed is real speed.

    ``played`` collects what was played, for whoever takes it away.

    ``seconds_of`` gives a frame's time and ``frame_at`` the frame shown at a time, in seconds.
    """

    seconds_of: Callable[[int], Fraction]
    frame_at: Callable[[Fraction], int]
    frames: int
    speed: int = FULL_SPEED
    direction: int = 0
    is_whole: bool = False
    """Whether no frame is left out: the next comes once this one was drawn, at whatever speed."""
    played: list[Stretch] = field(default_factory=list)
    _from_frame: int = 0
    _from_clock: float = 0.0
    _reached: int = 0
    _drawn: set[int] = field(default_factory=set)

    @property
    def is_playing(self) -> bool:
        """Whether the footage runs."""
        return self.direction != 0

    @property
    def speed_text(self) -> str:
        """The speed as a fraction of real speed, with its direction: ``1/4x``, ``-1x``."""
        return f"{'-' if self.direction < 0 else ''}{SPEEDS[self.speed]}x"

    def pace_text(self, clock: float) -> str:
        """The speed, and how many pictures a second were drawn since it began, once that shows."""
        passed = clock - self._from_clock
        if self.is_whole:
            return self._whole_text(passed)
        if passed < LEAST_SECONDS:
            return self.speed_text
        return f"{self.speed_text}, {int(len(self._drawn) / passed)} pictures/s"

    def _whole_text(self, passed: float) -> str:
        """How fast every frame is drawn, in parts of real speed, once that shows."""
        if passed < LEAST_SECONDS:
            return "every frame"
        shown = self.seconds_of(self._reached) - self.seconds_of(self._from_frame)
        return f"every frame, at {float(shown) / passed:.1f}x"

    def drew(self, frame: int) -> None:
        """A frame is on the screen; it counts for what is played."""
        if self.is_playing:
            self._drawn.add(frame)

    def toggle(self, direction: int, frame: int, clock: float) -> None:
        """Play in a direction from a frame, or pause if it plays that way already."""
        going_on = self.direction != direction or self.is_whole
        self.pause()
        self.direction = direction if going_on else 0
        self._begin(frame, clock)

    def toggle_whole(self, frame: int, clock: float) -> None:
        """Play forward from a frame and leave none out, or pause if it plays so already."""
        going_on = not (self.is_playing and self.is_whole)
        self.pause()
        self.direction, self.is_whole = int(going_on), going_on
        self._begin(frame, clock)

    def pause(self) -> None:
        """Stop where it is."""
        self._end_stretch()
        self.direction, self.is_whole = 0, False

    def _begin(self, frame: int, clock: float) -> None:
        self._from_frame, self._from_clock, self._reached = frame, clock, frame
        self._drawn = set()

    def _end_stretch(self) -> None:
        if self._reached != self._from_frame and self.is_playing and not self.is_whole:
            ends = sorted((self._from_frame, self._reached))
            speed = SPEEDS[self.speed] * self.direction
            drawn = sum(ends[0] <= frame <= ends[1] for frame in self._drawn)
            self.played.append(Stretch(ends[0], ends[1], speed, drawn))

    def change_speed(self, steps: int, frame: int, clock: float) -> None:
        """Faster or slower, going on from a frame; by the clock from then on."""
        self._end_stretch()
        self.is_whole = False
        self.speed = max(0, min(self.speed + steps, len(SPEEDS) - 1))
        self._begin(frame, clock)

    def frame_due(self, clock: float) -> int:
        """The frame to show now; pauses at the first and the last frame."""
        if self.is_whole:
            return self._following()
        passed = Fraction(clock - self._from_clock) * SPEEDS[self.speed] * self.direction
        frame = self.frame_at(self.seconds_of(self._from_frame) + passed)
        self._reached = frame
        if frame == (0 if self.direction < 0 else self.frames - 1):
            self.pause()
        return frame

    def _following(self) -> int:
        """The frame after the one that was reached, once that was drawn; else that one still."""
        if self._reached not in self._drawn:
            return self._reached
        if self._reached == self.frames - 1:
            self.pause()
            return self.frames - 1
        self._reached += 1
        return self._reached
