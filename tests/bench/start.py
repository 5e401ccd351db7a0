"""From the command to the first picture in the terminal, beside a bare import of the libraries.

Run by ``uv run --group bench python -m tests.bench.start``. The program runs in a real
pseudo-terminal of 160 x 45 cells; figures are medians, taken in turn. Everywhere but in the last
two cases, index and fingerprint of the footage and compiled Python code lie on the disk. Cold: the
pages of the footage, of what is stored and of all Python code are dropped from the system's cache
before each run, as far as no other program holds them.
"""

import os
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path

from tests.bench.hour import write_hour
from tests.bench.render import processor
from tests.bench.render_frames import CLIP
from tests.bench.terminal import COLUMNS, ROWS, Terminal, Timing, timing
from tui.demo.build import build

RUNS = 7
FEW = 3
"""Runs of what takes seconds."""
GOALS = {"warm": 0.6, "an hour, cold": 1.5}
"""Seconds to the first picture."""

PICTURE = rb"\x1b\[\?1049h[\s\S]*\xe2\x96[\x80\x96-\x9f]"
"""An upper half or a quadrant on the program's own screen; its panels have none."""

IMPORTS = "import textual, av, PIL, pydantic, numpy"
USED = "import textual.app, av, PIL.Image, numpy; from pydantic import BaseModel"
"""What any program has to load that makes use of these libraries."""
SMALLEST = """
from textual.app import App
from textual.widgets import Static
class Smallest(App):
    def compose(self):
        yield Static("first line")
Smallest().run()
"""


@dataclass
class Case:
    """Something to time so many times, beside the bare import of the same sort."""

    name: str
    time: Callable[[], Timing]
    runs: int = RUNS
    beside: str = "bare import"
    found: list[Timing] = field(default_factory=list)

    def median(self, what: str) -> float:
        """Seconds on the clock, on a free machine, or of all cores."""
        return statistics.median(float(getattr(one, what)) for one in self.found)


def main() -> None:
    """Measure and print."""
    print(f"{processor()}; Python {sys.version.split()[0]}; {COLUMNS} x {ROWS} cells")
    with tempfile.TemporaryDirectory() as name:
        cases = list(_cases(Path(name)))
        for number in range(RUNS):
            for case in cases:
                if number < case.runs:
                    case.found.append(case.time())
    _report(cases)


def _cases(folder: Path) -> Iterator[Case]:
    clip = build(folder, [CLIP], workers=1)[0]
    hour = folder / f"hour{clip.suffix}"
    write_hour(clip, hour)
    print(f"the hour has {hour.stat().st_size / 1e6:.0f} MB\n")
    kept = Program(folder / "cache", folder / "code")
    for footage in (clip, hour):
        kept.first_picture(footage)
    env = kept.env
    for what in (IMPORTS, USED):
        imported(what, env)
    smallest(env)
    yield Case("bare import", lambda: imported(IMPORTS, env))
    yield Case("import of what is used of them", lambda: imported(USED, env))
    yield Case("smallest program of the terminal library", lambda: smallest(env))
    yield Case("warm", lambda: kept.first_picture(clip))
    yield Case("warm, silent terminal", lambda: kept.first_picture(clip, answers=False))
    yield Case("an hour, warm", lambda: kept.first_picture(hour))
    bare = "bare import, cold"
    yield Case(bare, lambda: cold(folder, lambda: imported(IMPORTS, env)), FEW, bare)
    yield Case("an hour, cold", lambda: cold(folder, lambda: kept.first_picture(hour)), FEW, bare)
    yield Case("an hour, for the first time", lambda: first_time(folder, hour), FEW)
    bare, raw = "bare import, not compiled", Program(kept.cache, None)
    yield Case(bare, lambda: imported(IMPORTS, raw.env), FEW, bare)
    yield Case("warm, not compiled", lambda: raw.first_picture(clip), FEW, bare)


@dataclass(frozen=True)
class Program:
    """The program with a cache folder and, if there is any, compiled code of its own."""

    cache: Path
    code: Path | None

    @property
    def env(self) -> dict[str, str]:
        """Its environment."""
        env = {k: v for k, v in os.environ.items() if k != "PYTHONDONTWRITEBYTECODE"}
        env |= {"FRAMECALL_CACHE": str(self.cache)}
        if self.code is not None:
            return env | {"PYTHONPYCACHEPREFIX": str(self.code)}
        return env | {
            "PYTHONPYCACHEPREFIX": str(self.cache / "none"),
            "PYTHONDONTWRITEBYTECODE": "1",
        }

    def first_picture(self, footage: Path, answers: bool = True) -> Timing:
        """From the command to the first cells of a picture."""
        arguments = ["review", str(footage), "--event", "cycle"]
        with Terminal([sys.executable, "-m", "tui", *arguments], self.env, answers) as terminal:
            terminal.until(PICTURE)
            return terminal.timing()


def imported(what: str, env: Mapping[str, str]) -> Timing:
    """Importing and ending."""
    begun = time.perf_counter()
    program = subprocess.Popen([sys.executable, "-c", what], env=env)
    os.waitid(os.P_PID, program.pid, os.WEXITED | os.WNOWAIT)
    found = timing(program.pid, time.perf_counter() - begun)
    assert program.wait() == 0
    return found


def smallest(env: Mapping[str, str]) -> Timing:
    """The first words of a program that has nothing but those."""
    with Terminal([sys.executable, "-c", SMALLEST], env) as terminal:
        terminal.until(rb"first line")
        return terminal.timing()


def first_time(folder: Path, footage: Path) -> Timing:
    """With an empty cache folder."""
    cache = folder / "empty"
    shutil.rmtree(cache, ignore_errors=True)
    return Program(cache, folder / "code").first_picture(footage)


def cold(folder: Path, measure: Callable[[], Timing]) -> Timing:
    """With nothing in the system's cache that this user can drop from it."""
    code = {Path(sys.prefix), Path(sys.base_prefix) / "lib", Path(__file__).parents[2] / "tui"}
    for place in (*code, folder):
        for path in place.rglob("*"):
            if path.is_file():
                _drop(path)
    return measure()


def _drop(path: Path) -> None:
    handle = os.open(path, os.O_RDONLY)
    try:
        os.posix_fadvise(handle, 0, 0, os.POSIX_FADV_DONTNEED)
    finally:
        os.close(handle)


def _report(cases: Iterable[Case]) -> None:
    found = {case.name: case for case in cases}
    heads = ("clock s", "free s", "CPU s", "of bare import")
    print(f"{'':42}" + "".join(f"{head:>16}" for head in heads))
    for name, case in found.items():
        ratio = case.median("free") / found[case.beside].median("free")
        times = "".join(f"{case.median(what):16.2f}" for what in ("clock", "free", "cores"))
        goal = f"   goal {GOALS[name]} s" if name in GOALS else ""
        print(f"{name:42}{times}{ratio:16.2f}{goal}")


if __name__ == "__main__":
    main()
