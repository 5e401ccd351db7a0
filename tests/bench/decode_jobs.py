"""What a reviewer does with a clip, one step after the other, timed and checked."""

import random
import time
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path

from tests.bench.decode_rivals import Ours, Player
from tests.tui.footage.clips import read_number

HERTZ = 30
HELD = 200
"""How many frames a held arrow goes back."""
REPEAT_DELAY = 0.5
"""Seconds from the press of a key to its first repetition; common practice, no source."""
LOOK = 1.0
"""Seconds for which the frame jumped to is looked at before the first step from it."""
PATIENCE = 1.0
"""Seconds by which a held key may be late before the rest of its steps count as missed."""
TURNS = 3


@dataclass
class Tally:
    """What came of one job."""

    seconds: list[float] = field(default_factory=list)
    """How long each step took that is timed."""
    processor: list[float] = field(default_factory=list)
    """How many seconds of processor time each of them took, of the whole process."""
    wrong: int = 0
    """Pictures that were not of the frame asked for, or none."""
    missed: int = 0
    """Steps of a held key whose picture was not there before the next was due."""
    kept: int = 0
    """The most bytes that ours kept, as it says itself."""
    grown: int = 0
    """The most bytes by which the process grew."""


class Reviewer:
    """Goes through a clip with one player, and keeps the tally."""

    def __init__(self, player: Player, tally: Tally) -> None:
        self._player = player
        self._resident = resident()
        self._ended = 0.0  # processor time when the last picture was there
        self.tally = tally

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
        begun = time.process_time()
        self.tally.seconds.append(self._show(frame))
        self.tally.processor.append(self._ended - begun)

    def hold(self, frames: range) -> None:
        """Step to each frame at the rate of a held key, as long as that makes sense."""
        begun = time.perf_counter()
        for number, frame in enumerate(frames):
            due = begun + number / HERTZ
            time.sleep(max(0.0, due - time.perf_counter()))
            self.step(frame)
            self.tally.missed += time.perf_counter() > due + 1 / HERTZ
            if time.perf_counter() > due + PATIENCE:
                self.tally.missed += len(frames) - number - 1
                break

    def _show(self, frame: int) -> float:
        begun = time.perf_counter()
        pixels = self._player.get(frame)
        taken, self._ended = time.perf_counter() - begun, time.process_time()
        self.tally.wrong += pixels is None or read_number(pixels) != frame
        self.tally.grown = max(self.tally.grown, resident() - self._resident)
        if isinstance(self._player, Ours):
            self.tally.kept = max(self.tally.kept, self._player.store.kept_bytes)
        return taken


def cold_jump(reviewer: Reviewer, frame: int) -> None:
    reviewer.jump_timed(frame)


def cold_step_back(reviewer: Reviewer, frame: int) -> None:
    reviewer.jump(frame)
    reviewer.step(frame - 1)


def warm_steps_back(reviewer: Reviewer, frame: int) -> None:
    _warm_steps(reviewer, frame, -1)


def warm_steps_forward(reviewer: Reviewer, frame: int) -> None:
    _warm_steps(reviewer, frame, 1)


def _warm_steps(reviewer: Reviewer, frame: int, way: int) -> None:
    reviewer.jump(frame)
    time.sleep(LOOK)
    for number in range(1, 9):
        time.sleep(1 / HERTZ)
        reviewer.step(frame + way * number)


def running_forward(reviewer: Reviewer, frame: int) -> None:
    reviewer.jump(frame)
    for number in range(1, 31):
        reviewer.step(frame + number)


def flips(reviewer: Reviewer, frame: int) -> None:
    reviewer.jump(frame)
    reviewer.step(frame + 1)
    for number in range(6):
        reviewer.step(frame + number % 2)


def held_back(reviewer: Reviewer, frame: int) -> None:
    reviewer.jump(frame)
    reviewer.step(frame - 1)
    time.sleep(REPEAT_DELAY)
    reviewer.hold(range(frame - 2, frame - 2 - HELD, -1))


@dataclass(frozen=True)
class Job:
    """What is done from each of a number of frames."""

    do: Callable[[Reviewer, int], None]
    starts: int
    """From how many frames."""


JOBS = {
    "cold jump": Job(cold_jump, 18),
    "step back, cold": Job(cold_step_back, 8),
    "step back, warm": Job(warm_steps_back, 3),
    "step forward, warm": Job(warm_steps_forward, 3),
    "forward flat out": Job(running_forward, 3),
    "flip of a pair": Job(flips, 3),
    "held back": Job(held_back, 2),
}


def done(
    job: Job, players: dict[str, Callable[[Path], Player]], path: Path, frames: int
) -> dict[str, Tally]:
    """Do one job with all players in turn, a part of its starts at a time; tallies by player.

    Each player is opened for its turn, so that no worker of ours is at work in another's, and has
    looked around before it is timed.
    """
    tallies = {name: Tally() for name in players}
    starts = _starts(job, frames)
    for turn in range(min(TURNS, len(starts))):
        for name, open_player in players.items():
            player = open_player(path)
            reviewer = Reviewer(player, tallies[name])
            reviewer.jump(20)
            time.sleep(LOOK)
            for start in starts[turn::TURNS]:
                job.do(reviewer, start)
            player.close()
    return tallies


def _starts(job: Job, frames: int) -> list[int]:
    """Where to begin, the same for all, with room for steps to either side.

    A key is held back from the middle of a group of pictures, and from just after its key frame.
    """
    if job.do is held_back:
        return [frames - 40, 2 * (frames // 4) + 3]
    return random.Random(frames).sample(range(50, frames - 50), job.starts)


def resident() -> int:
    """The memory of this process that is in use, in bytes."""
    with open("/proc/self/statm", encoding="ascii") as told:
        return int(told.read().split()[1]) * 4096
