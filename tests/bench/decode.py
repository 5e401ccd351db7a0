"""Getting at frames: time, right pictures and memory, ours against other libraries.

Run by ``uv run --group bench python -m tests.bench.decode``, with names of clips to take only
those, and ``--clips FOLDER`` to keep the clips there. All go through the same clips in the same
run, job by job in turn, and deliver the same: RGB at 640 x 360. Every picture delivered is read
for the number that it carries. torchcodec takes part where it can be imported: it needs torch and
the shared libraries of FFmpeg.
"""

import argparse
import platform
import tempfile
from pathlib import Path

import numpy as np

from tests.bench.decode_clips import CLIPS, BenchClip, made
from tests.bench.decode_jobs import HELD, JOBS, Tally, done
from tests.bench.decode_rivals import BOUND_MB, PLAYERS, SIZE, missing
from tests.bench.render import processor

Found = dict[str, dict[str, Tally]]
"""By job, then by player."""

STEPS = ("step back, warm", "step forward, warm")
FASTER = 50
"""How many times faster than the best of the others a step is to be whose picture is kept."""


def main() -> None:
    """Measure and print."""
    chosen = argparse.ArgumentParser(description="Time what a reviewer does with a clip.")
    chosen.add_argument("names", nargs="*", metavar="CLIP", help=", ".join(CLIPS))
    chosen.add_argument("--clips", type=Path, metavar="FOLDER", help="where to keep the clips")
    asked = chosen.parse_args()
    print(f"{processor()}; Python {platform.python_version()}")
    print(f"RGB at {SIZE[0]} x {SIZE[1]}; p50 / p95 in ms, each of its own steps\n")
    absent = {name: why for name in PLAYERS if (why := missing(name)) is not None}
    for name, why in absent.items():
        print(f"{name} cannot be had here: {why}")
    players = {name: player for name, player in PLAYERS.items() if name not in absent}
    with tempfile.TemporaryDirectory() as folder:
        for name in asked.names or CLIPS:
            clip = CLIPS[name]
            path = made(clip, asked.clips or Path(folder))
            report(
                clip, {name: done(job, players, path, clip.frames) for name, job in JOBS.items()}
            )


def report(clip: BenchClip, found: Found) -> None:
    """The table of a clip, and how far the goals are reached."""
    players = list(found["cold jump"])
    print(f"\n{clip.name}: {clip.frames} frames of {clip.size[0]} x {clip.size[1]}")
    print(f"{'':20}" + "".join(f"{name:>22}" for name in players))
    for job, tallies in found.items():
        cells = (f"{quantile(t, 50):.2f} / {quantile(t, 95):.2f}" for t in tallies.values())
        print(f"{job:20}" + "".join(f"{cell:>22}" for cell in cells))
    for what, name in (("wrong pictures", "wrong"), ("steps missed", "missed")):
        print(f"{what:20}" + "".join(f"{total(found, p, name):>22}" for p in players))
    grown = (max(tallies[p].grown for tallies in found.values()) / 1e6 for p in players)
    print(f"{'process grew, MB':20}" + "".join(f"{most:>22.0f}" for most in grown))
    for line in goals(found, players):
        print(line)


def goals(found: Found, players: list[str]) -> list[str]:
    """What is asked of ours, each with what was measured."""
    others = [name for name in players if name != "ours"]
    lines = []
    for job in STEPS:
        best = min(others, key=lambda name: quantile(found[job][name], 95))
        times = quantile(found[job][best], 95) / quantile(found[job]["ours"], 95)
        lines.append(verdict(times >= FASTER, f"{job}, p95: {times:.0f} times as fast as {best}"))
    jump = found["cold jump"]
    ratio = quantile(jump["ours"], 50) / quantile(jump["PyAV"], 50)
    lines.append(verdict(ratio <= 1, f"cold jump, p50: {ratio:.2f} of a plain seek and decode"))
    effort = float(np.median(jump["ours"].processor) / np.median(jump["PyAV"].processor))
    lines.append(f"         its processor time: {effort:.2f} of that of a plain one")
    missed = total(found, "ours", "missed")
    lines.append(verdict(not missed, f"held back twice {HELD} frames: {missed} missed"))
    wrong = total(found, "ours", "wrong")
    lines.append(verdict(not wrong, f"wrong pictures: {wrong}"))
    kept = max(tallies["ours"].kept for tallies in found.values()) / 1e6
    lines.append(verdict(kept <= BOUND_MB, f"kept at most {kept:.0f} of {BOUND_MB:.0f} MB"))
    return lines


def verdict(good: bool, words: str) -> str:
    """A goal as reached or missed."""
    return f"{'reached' if good else 'MISSED '}  {words}"


def quantile(tally: Tally, percent: int) -> float:
    """A percentile of the steps, in milliseconds."""
    return float(1000 * np.percentile(tally.seconds, percent))


def total(found: Found, player: str, count: str) -> int:
    """One count of a player over all jobs."""
    return sum(getattr(tallies[player], count) for tallies in found.values())


if __name__ == "__main__":
    main()
