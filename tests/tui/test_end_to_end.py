"""The program as a person has it: a real pseudo-terminal, real footage, a real disk."""

import os
import shutil
import signal
import subprocess
import sys
from pathlib import Path

import pytest

from sessions.record.entries import Look, RunBegun, Shown, Sighted
from sessions.record.recording import read_session
from tests.tui.conftest import CLIP_FRAMES
from tests.tui.pseudo_terminal import PseudoTerminal, Start

SHIFT_RIGHT, RIGHT, END, CTRL_Q = "\x1b[1;2C", "\x1b[C", "\x1b[F", "\x11"


@pytest.fixture
def footage(clip: Path, tmp_path: Path) -> Path:
    return Path(shutil.copy(clip, tmp_path / "invented.mp4"))


def session_of(footage: Path) -> Path:
    return footage.with_name(footage.name + ".session.jsonl")


def looks_of(footage: Path) -> list[int]:
    lines = read_session(session_of(footage)).lines
    return [line.entry.by.frame for line in lines if isinstance(line.entry, Look)]


def at_frame(terminal: PseudoTerminal, frame: int) -> None:
    """Wait until a frame is on the screen."""
    terminal.until(
        lambda: (
            f"frame {frame}/{CLIP_FRAMES - 1} " in terminal.text
            and "reading..." not in terminal.text
        )
    )


def test_a_review_from_the_first_key_to_the_ruling(start: Start, footage: Path) -> None:
    bench = start("review", footage, "--event", "3-3-3")
    bench.shows("no timed run has been begun yet")
    at_frame(bench, 0)
    bench.send("(")
    bench.shows("Run 1 begun at frame 0.")
    frame = 0
    for _ in range(15):
        frame += 10
        bench.send(SHIFT_RIGHT)
        at_frame(bench, frame)
        bench.send("\r")
        bench.shows(f"at frame {frame}.")
    bench.send(END)
    at_frame(bench, CLIP_FRAMES - 1)
    bench.send(")")
    bench.shows(f"Run 1 ended at frame {CLIP_FRAMES - 1}.")
    entries = [line.entry for line in read_session(session_of(footage)).lines]
    begun, stopped = (e.by.frame for e in entries if isinstance(e, Sighted))
    bench.send("0")
    bench.shows("What does the display read")
    time = f"{(stopped - begun) / 30:.3f}"
    bench.send(f"{time}\r")
    bench.until(lambda: "What does" not in bench.text)
    bench.send("6")
    bench.shows("Marks of 9 cups seen")
    bench.send(CTRL_Q)
    assert bench.code() == 0
    assert b"s stands: run 1, attempt 1." in bench.raw
    rule = [sys.executable, "-m", "tui", "rule", str(session_of(footage))]
    ran = subprocess.run(rule, capture_output=True, text=True, timeout=60)
    # what lies between the leaps was never watched, so the ruling stays open
    assert (ran.returncode, ran.stderr) == (1, "")
    assert f"so far {time} s stands: run 1, attempt 1" in " ".join(ran.stdout.split())
    shown = [e for e in entries if isinstance(e, Shown)]
    assert {f for e in shown for a, b in e.ranges for f in range(a, b + 1)} >= set(
        range(0, 151, 10)
    )


@pytest.mark.proof
def test_a_program_that_is_killed_loses_nothing_that_it_has_shown(
    start: Start, footage: Path
) -> None:
    bench = start("review", footage, "--event", "cycle")
    at_frame(bench, 0)
    bench.send("(")
    bench.shows("Run 1 begun")
    for frame, key in ((1, "g"), (2, "s"), (3, "l")):
        bench.send(RIGHT)
        at_frame(bench, frame)
        bench.send(key)
        bench.shows(f"in order at frame {frame}.")
    os.kill(bench.pid, signal.SIGKILL)
    assert bench.code() is None
    assert looks_of(footage) == [1, 2, 3]
    again = start("review", footage)
    again.shows("run 1 attempt 1")
    at_frame(again, 3)
    again.send("\x15")
    again.shows("Undone: Let go: 1st 3, in order at frame")
    again.send(CTRL_Q)
    assert again.code() == 0


@pytest.mark.proof
def test_alt_with_a_letter_held_down_does_nothing_that_the_letter_alone_does(
    start: Start, footage: Path
) -> None:
    bench = start("review", footage, "--event", "3-3-3")
    at_frame(bench, 0)
    bench.send("(")
    bench.shows("Run 1 begun at frame 0.")
    for _ in range(10):
        bench.send("\x1ba")  # nudges the lens; the letter alone changes the sort of run
        bench.read(0.03)
    bench.send(RIGHT)
    at_frame(bench, 1)
    bench.send(CTRL_Q)
    bench.code()
    entries = [line.entry for line in read_session(session_of(footage)).lines]
    assert [e.sort for e in entries if isinstance(e, RunBegun)] == ["attempt"]


@pytest.mark.proof
def test_a_second_bench_on_the_same_session_is_refused(start: Start, footage: Path) -> None:
    first = start("review", footage, "--event", "cycle")
    at_frame(first, 0)
    second = start("review", footage)
    assert second.code() == 2
    assert b"is open elsewhere" in second.raw
    assert b"Traceback" not in second.raw
    first.send("(")
    first.shows("Run 1 begun")
    first.send(CTRL_Q)
    assert first.code() == 0
    assert [type(line.entry) for line in read_session(session_of(footage)).lines][-1] in (
        RunBegun,
        Shown,
    )


def test_a_terminal_of_60_by_20_is_refused(start: Start, footage: Path) -> None:
    small = start("review", footage, "--event", "cycle", columns=60, rows=20)
    assert small.code() == 2
    said = " ".join(small.raw.decode().split())
    assert "60 columns and 20 rows; the bench needs 80 by 24" in said
    assert not session_of(footage).exists()


def test_without_a_terminal_the_bench_is_refused(footage: Path, cache: Path) -> None:
    command = [sys.executable, "-m", "tui", "review", str(footage), "--event", "cycle"]
    env = os.environ | {"FRAMECALL_CACHE": str(cache)}
    ran = subprocess.run(
        command, stdin=subprocess.DEVNULL, capture_output=True, text=True, timeout=60, env=env
    )
    assert (ran.returncode, ran.stdout) == (2, "")
    assert ran.stderr.startswith("framecall: The bench needs a terminal")
    assert ran.stderr.count("\n") == 1
    assert not session_of(footage).exists()


@pytest.mark.proof
def test_a_terminal_of_80_by_24_is_enough(start: Start, footage: Path) -> None:
    bench = start("review", footage, "--event", "cycle", columns=80, rows=24)
    at_frame(bench, 0)
    bench.send("?")
    bench.shows("Keys (QWERTY)")
    bench.send("\x1b")
    bench.until(lambda: "Keys (QWERTY)" not in bench.text)
    bench.send(CTRL_Q)
    assert bench.code() == 0
    assert b"Session saved:" in bench.raw


@pytest.mark.proof
def test_an_open_ruling_exits_1(start: Start, footage: Path) -> None:
    bench = start("review", footage, "--event", "cycle")
    at_frame(bench, 0)
    bench.send("(")
    bench.shows("Run 1 begun")
    bench.send(CTRL_Q)
    assert bench.code() == 0
    rule = [sys.executable, "-m", "tui", "rule", str(session_of(footage))]
    assert subprocess.run(rule, capture_output=True, timeout=60).returncode == 1
