"""What a reviewer does with a clip, one step after the other, timed and checked."""

import random
import time
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path

from tests.bench.decode_rivals import Ours, Player
from tests.footage.clips import read_number

HERTZ = 30
HELD = 200
"""How many frames a held arrow goes back."""
REPEAT_DELAY = 0.5
"""Seconds from the press of a key to its first repetition; common practice, no source."""
LOOK = 1.0
"""Seconds for which the frame jumped to is looked at before the first step from it."""
PATIENCE = 4.0
"""Seconds after which a job is cut short; the slow are timed on the first of its steps."""


@dataclass
class Tally:
    """What came of one job."""

    seconds: list[float] = field(default_factory=list)
    """How long each step took that is timed."""
    wrong: int = 0
    """Pictures that were not of the frame asked for, or none."""
    missed: int = 0
    """Steps of a held key whose picture was not there before the next was due."""
    kept: int = 0
    """The most bytes that ours kept, as it says itself."""
    grown: int = 0
    """The most bytes by which the process grew."""


class Reviewer:
    """Goes through a clip with one player."""

    def __init__(self, player: Player) -> None:
        self._player = player
        self._resident = resident()
        self._begun = time.perf_counter()
        self.tally = Tally()

    @property
    def patient(self) -> bool:
        """Whether the job may go on."""
        return time.perf_counter() < self._begun + PATIENCE

    def jump(self, frame: int) -> None:
        """Show a frame with nothing at hand, untimed."""
        self._player.forget()
        self._show(frame)

    def jump_timed(self, frame: int) -> None:
        """Show a frame with nothing at hand."""
        self._player.forget()
        self.step(frame)

    def step(self, frame: int) -> None:
        """Show a frame, timed."""
        self.tally.seconds.append(self._show(frame))

    def hold(self, frames: range) -> None:
        """Step to each frame at the rate of a held key."""
        begun = time.perf_counter()
        for number, frame in enumerate(frames):
            due = begun + number / HERTZ
            time.sleep(max(0.0, due - time.perf_counter()))
            self.step(frame)
            self.tally.missed += time.perf_counter() > due + 1 / HERTZ
            if time.perf_counter() > begun + PATIENCE:
                self.tally.missed += len(frames) - number - 1
                break

    def _show(self, frame: int) -> float:
        begun = time.perf_counter()
        pixels = self._player.get(frame)
        taken = time.perf_counter() - begun
        self.tally.wrong += pixels is None or read_number(pixels) != frame
        self.tally.grown = max(self.tally.grown, resident() - self._resident)
        if isinstance(self._player, Ours):
            self.tally.kept = max(self.tally.kept, self._player.store.kept_bytes)
        return taken


def cold_jumps(reviewer: Reviewer, frames: int) -> None:
    for frame in _places(frames, 24):
        if reviewer.patient:
            reviewer.jump_timed(frame)


def cold_steps_back(reviewer: Reviewer, frames: int) -> None:
    for frame in _places(frames, 16):
        if reviewer.patient:
            reviewer.jump(frame)
            reviewer.step(frame - 1)


def warm_steps_back(reviewer: Reviewer, frames: int) -> None:
    _warm_steps(reviewer, frames, -1)


def warm_steps_forward(reviewer: Reviewer, frames: int) -> None:
    _warm_steps(reviewer, frames, 1)


def _warm_steps(reviewer: Reviewer, frames: int, way: int) -> None:
    for frame in _places(frames, 5):
        if reviewer.patient:
            reviewer.jump(frame)
            time.sleep(LOOK)
            for number in range(1, 13):
                time.sleep(1 / HERTZ)
                if reviewer.patient:
                    reviewer.step(frame + way * number)


def running_forward(reviewer: Reviewer, frames: int) -> None:
    for frame in _places(frames, 3):
        reviewer.jump(frame)
        for number in range(1, 41):
            reviewer.step(frame + number)


def flips(reviewer: Reviewer, frames: int) -> None:
    for frame in _places(frames, 2):
        reviewer.jump(frame)
        reviewer.jump(frame + 1)
        for number in range(40):
            if reviewer.patient:
                reviewer.step(frame + number % 2)


def held_back(reviewer: Reviewer, frames: int) -> None:
    """From the middle of a group of pictures, and from just after its key frame."""
    for frame in (frames - 40, 2 * (frames // 4) + 3):
        reviewer.jump(frame)
        reviewer.step(frame - 1)
        time.sleep(REPEAT_DELAY)
        reviewer.hold(range(frame - 2, frame - 2 - HELD, -1))


def _places(frames: int, count: int) -> list[int]:
    """Frames to jump to, the same for all, with room for steps to either side."""
    return random.Random(frames).sample(range(50, frames - 50), count)


JOBS: dict[str, Callable[[Reviewer, int], None]] = {
    "cold jump": cold_jumps,
    "step back, cold": cold_steps_back,
    "step back, warm": warm_steps_back,
    "step forward, warm": warm_steps_forward,
    "forward flat out": running_forward,
    "flip of a pair": flips,
    "held back": held_back,
}


def done(
    job: Callable[[Reviewer, int], None],
    open_player: Callable[[Path], Player],
    path: Path,
    frames: int,
) -> Tally:
    """Do one job with a player that is opened for it."""
    player = open_player(path)
    try:
        reviewer = Reviewer(player)
        reviewer.jump(0)
        job(reviewer, frames)
        return reviewer.tally
    finally:
        player.close()


def resident() -> int:
    """The memory of this process that is in use, in bytes."""
    with open("/proc/self/statm", encoding="ascii") as told:
        return int(told.read().split()[1]) * 4096
