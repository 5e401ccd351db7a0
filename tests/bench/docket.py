"""A docket of 10,000 claims and 20,000 sessions on the real screen, beside plain ways to read it.

Run by ``uv run --group bench python -m tests.bench.docket``. The program runs in a real
pseudo-terminal of 160 x 45 cells. Cold: there is no derived index yet; warm: there is one.
"""

import json
import os
import sqlite3
import statistics
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import closing
from pathlib import Path

from sessions.docket.docket import DocketFolder
from sessions.record.entries import Note
from sessions.record.header import Claim
from tests.bench.docket_files import EVENT, write_docket
from tests.bench.render import processor
from tests.bench.terminal import COLUMNS, ROWS, Terminal, Timing
from tests.sessions.docket.docket_samples import write_session
from tests.sessions.samples import header, spot
from tui.docket.screen import POLL_SECONDS

CLAIMS = 10_000
RUNS = 5
KEYS, CHANGES = 15, 5
PAUSE = 0.1
"""Seconds from one key to the next."""
REVIEWER = "R9"
"""Has begun no session."""
GOAL = 1.5
"""Seconds until the docket is on the screen, with a derived index."""
CHOSEN = rb"\x1b\[[\d;]*7[\d;]*m[^\x1b]*C-\d{5}"
"""A claim in reverse video: the chosen one."""
READ = rb"\d+ to be ruled"
"""On the screen once all sessions are read."""


def main() -> None:
    """Measure and print."""
    print(f"{processor()}; Python {sys.version.split()[0]}; {COLUMNS} x {ROWS} cells")
    with tempfile.TemporaryDirectory() as name:
        folder = write_docket(Path(name) / "docket", CLAIMS)
        sessions = sorted(path.name for path in folder.sessions.iterdir())
        size = sum((folder.sessions / name).stat().st_size for name in sessions)
        print(f"{CLAIMS} claims, {len(sessions)} sessions of {size / 1e6:.0f} MB\n")
        _plainly(folder, Path(name) / "rows.sqlite")
        _ours(folder, Path(name) / "cache")


def _plainly(folder: DocketFolder, database: Path) -> None:
    """What libraries take that check and judge nothing."""
    _write_rows(folder, database)
    ways: dict[str, Callable[[], object]] = {
        "os.scandir and stat of every session": lambda: list(_stats(folder.sessions)),
        "sqlite3: a row of each session": lambda: _rows(database),
        "json.loads of every line of every session": lambda: _parsed(folder.sessions),
    }
    for name, way in ways.items():
        begun, used = time.perf_counter(), time.process_time()
        way()
        _say(name, time.perf_counter() - begun, time.process_time() - used)


def _stats(sessions: Path) -> Iterator[tuple[str, int, int]]:
    with os.scandir(sessions) as entries:
        for entry in entries:
            found = entry.stat()
            yield entry.name, found.st_size, found.st_mtime_ns


def _write_rows(folder: DocketFolder, database: Path) -> None:
    """A table of as many rows as there are sessions, each as long as what is shown of one."""
    rows = [(*row, "standing, 7.007 s, finished") for row in _stats(folder.sessions)]
    with closing(sqlite3.connect(database)) as made, made:
        made.execute("create table session (name text primary key, size, changed, said)")
        made.executemany("insert into session values (?, ?, ?, ?)", rows)


def _rows(database: Path) -> list[object]:
    with closing(sqlite3.connect(database)) as kept:
        return kept.execute("select * from session order by name").fetchall()


def _parsed(sessions: Path) -> int:
    lines = (json.loads(line) for path in sessions.iterdir() for line in path.open("rb"))
    return sum(len(line) for line in lines)


def _ours(folder: DocketFolder, cache: Path) -> None:
    with _opened(folder, cache / "first") as terminal:  # compiles the code
        terminal.until(CHOSEN)
    with _opened(folder, cache) as terminal:
        terminal.until(CHOSEN)
        _tell("docket, cold: the first rows", terminal.timing())
        _keys(terminal, "  meanwhile")
        terminal.until(READ)
        _tell("docket, cold: all sessions judged", terminal.timing())
        terminal.press(b"\x11")
        terminal.ended()
    warm = []
    for _ in range(RUNS):
        with _opened(folder, cache) as terminal:
            terminal.until(READ)
            warm.append(terminal.timing())
    median = sorted(warm, key=lambda timing: timing.free)[RUNS // 2]
    _tell(f"docket, warm: all rows (goal {GOAL} s)", median)
    with _opened(folder, cache) as terminal:
        terminal.until(READ)
        _keys(terminal, "")
        _changes(terminal, folder)


def _opened(folder: DocketFolder, cache: Path) -> Terminal:
    env = {k: v for k, v in os.environ.items() if k != "PYTHONDONTWRITEBYTECODE"}
    env |= {"FRAMECALL_CACHE": str(cache), "PYTHONPYCACHEPREFIX": str(folder.path.parent / "code")}
    command = [sys.executable, "-m", "tui", "docket", str(folder.path), "--reviewer", REVIEWER]
    return Terminal(command, env)


def _keys(terminal: Terminal, when: str) -> None:
    """From the key to what it changes on the screen."""
    ways = (
        ("a letter of a search", b"4", rb"\d+ of 10000", b"\x7f", rb"type any words"),
        ("a row down", b"\x1b[B", CHOSEN, b"\x1b[A", CHOSEN),
        ("to the last row", b"\x1b[F", CHOSEN, b"\x1b[H", CHOSEN),
    )
    for name, key, shown, back, shown_back in ways:
        taken = []
        for _ in range(KEYS):
            taken.append(_answered(terminal, key, shown))
            _answered(terminal, back, shown_back)
            time.sleep(PAUSE)
        worst = f"worst {1000 * max(taken):.0f} ms"
        print(f"{'    ' + name + when:46}{1000 * statistics.median(taken):9.0f} ms   {worst}")


def _answered(terminal: Terminal, key: bytes, shown: bytes) -> float:
    pressed = terminal.press(key)
    return terminal.until(shown) - pressed


def _changes(terminal: Terminal, folder: DocketFolder) -> None:
    """From another's change of one session to its showing."""
    terminal.press(b"C-00000")
    terminal.until(rb"1 of 10000")
    taken = []
    for number in range(1, CHANGES + 1):
        terminal.forget()
        begun = time.perf_counter()
        _begin_session(folder, f"N{number}")
        taken.append(terminal.until(rf"N{number}\xe2\x80\xa6".encode()) - begun)
        time.sleep(PAUSE * number)
    print(f"{'    what another changed':46}{statistics.median(taken):9.1f} s    "
          f"worst {max(taken):.1f} s (looked for every {POLL_SECONDS:.0f} s)")  # fmt: skip


def _begin_session(folder: DocketFolder, reviewer: str) -> None:
    path = folder.session("C-00000", reviewer)
    head = header(EVENT).model_copy(update={"claim": Claim(id="C-00000"), "reviewer": reviewer})
    write_session(path, head, [Note(text="begun", at=spot(0))])


def _tell(name: str, timing: Timing) -> None:
    _say(name, timing.clock, timing.cores, f"   {timing.free:5.2f} s on a free machine")


def _say(name: str, clock: float, used: float, more: str = "") -> None:
    print(f"{name:46}{clock:9.2f} s   {used:6.2f} s CPU{more}")


if __name__ == "__main__":
    main()
