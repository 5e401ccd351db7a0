"""An arrow held down over a slow line: from the key to the picture at the far end.

Run by ``uv run --group bench python -m tests.bench.held``. Keys come at 30 a second for three
seconds; every key's position must be shown in the end.
"""

import sys
import tempfile
import time
from pathlib import Path

import numpy as np

from tests.bench.held_app import COLUMNS, ROWS
from tests.bench.line import Line
from tests.bench.render import processor
from tests.bench.render_frames import frames, reduced

HERTZ, SECONDS = 30, 3.0
LONGEST = 60.0
LINES = {
    "no line": (None, 0.0),
    "10 Mbit/s, 100 ms": (1_250_000.0, 0.1),
    "1 Mbit/s, 100 ms": (125_000.0, 0.1),
}


def main() -> None:
    """Measure and print."""
    print(f"{processor()}; a held arrow at {HERTZ} Hz, {COLUMNS} x {ROWS} cells\n")
    heads = ("p50 ms", "p99 ms", "late ms", "pictures/s", "kB")
    print(f"{'':34}" + "".join(f"{head:>11}" for head in heads))
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "frames.npy"
        np.save(path, np.stack([reduced(frame) for frame in frames()]))
        for way, answers in (("ours", True), ("ours", False), ("rich-pixels", True)):
            for name, (rate, trip) in LINES.items():
                held(f"{way}{'' if answers else ', silent'}, {name}", way, path,
                     Line(rate, trip, answers))  # fmt: skip


def held(name: str, way: str, path: Path, line: Line) -> None:
    """Hold the arrow, and print what came of it."""
    command = [sys.executable, "-m", "tests.bench.held_app", way, str(path)]
    line.start(command, COLUMNS + 2, ROWS + 2)
    _until_quiet(line)
    before, keys = line.carried, []
    for number in range(round(HERTZ * SECONDS)):
        keys.append(time.perf_counter())
        line.press(b"\x1b[C")
        line.run(keys[0] + (number + 1) / HERTZ)
    ended = time.perf_counter()
    while not any(shown >= len(keys) for _, shown in line.shown):
        if time.perf_counter() > ended + LONGEST:
            print(f"{name:34}  not shown after {LONGEST:.0f} s")
            break
        line.run(time.perf_counter() + 0.05)
    else:
        _print(name, line, keys, line.carried - before)
    line.stop()


def _until_quiet(line: Line) -> None:
    while not any(shown >= 0 for _, shown in line.shown):
        line.run(time.perf_counter() + 0.1)
    carried = -1
    while carried != line.carried:
        carried = line.carried
        line.run(time.perf_counter() + 1.0 + line.trip)


def _print(name: str, line: Line, keys: list[float], carried: int) -> None:
    firsts = [next(at for at, shown in line.shown if shown > n) for n in range(len(keys))]
    delays = 1000 * (np.array(firsts) - np.array(keys))
    pictures = {shown for _, shown in line.shown if shown > 0}
    print(
        f"{name:34}{np.median(delays):11.0f}{np.percentile(delays, 99):11.0f}"
        f"{1000 * (firsts[-1] - keys[-1]):11.0f}{len(pictures) / (firsts[-1] - keys[0]):11.1f}"
        f"{carried / 1000:11.0f}"
    )


if __name__ == "__main__":
    main()
