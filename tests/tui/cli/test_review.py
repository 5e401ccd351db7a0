"""``framecall review``: the terminal, the session and the footage together."""

import io
import shutil
from collections.abc import Callable, Coroutine
from fractions import Fraction
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from textual.pilot import Pilot

from sessions.record.entries import Look, RunBegun
from sessions.record.recording import read_session
from tests.tui.cli.conftest import CLIP_FRAMES, Call
from tests.tui.conftest import CLIP_RATE
from tui.__main__ import main
from tui.app import FramecallApp
from tui.bench.opening import ReviewWish, open_review, progress_line, session_path
from tui.footage.footage import Footage
from tui.footage.writer import VideoWriter

Script = Callable[[Pilot[object]], Coroutine[Any, Any, None]]


@pytest.fixture
def play(monkeypatch: pytest.MonkeyPatch) -> Callable[[Script], None]:
    """Let the application run in a terminal that is not there, driven by a script."""
    run = FramecallApp.run

    def follow(script: Script) -> None:
        def headless(app: FramecallApp) -> None:
            run(app, headless=True, size=(100, 30), auto_pilot=script)

        monkeypatch.setattr(FramecallApp, "run", headless)

    return follow


async def open_and_tag(pilot: Pilot[object]) -> None:
    await pilot.pause(0.3)
    await pilot.press("left_parenthesis")
    await pilot.press(*["shift+right"] * 2)
    await pilot.pause(0.3)
    await pilot.press("g", "ctrl+q")


@pytest.mark.usefixtures("terminal")
def test_a_session_is_begun_beside_the_footage_and_gone_on_with(
    framecall: Call, footage: Path, play: Callable[[Script], None]
) -> None:
    play(open_and_tag)
    claim = ["--claim", "c1", "--competitor", "k7", "--claimed-time", "6.482"]
    first = framecall("review", footage, "--event", "3-6-3", "--reviewer", "R9", *claim)
    path = session_path(footage)
    assert (first.code, first.err) == (0, "")
    assert f"Session saved: {path}" in first.out
    recording = read_session(path)
    assert recording.header.reviewer == "R9"
    assert recording.header.claim.model_dump() == {"id": "c1", "competitor": "k7", "time": "6.482"}
    assert recording.header.footage.frames == CLIP_FRAMES
    assert recording.header.footage.nominal_rate == str(CLIP_RATE)
    entries = [line.entry for line in recording.lines]
    assert [e.begins.frame for e in entries if isinstance(e, RunBegun)] == [0]
    assert [e.by.frame for e in entries if isinstance(e, Look)] == [20]

    async def leave(pilot: Pilot[object]) -> None:
        await pilot.pause(0.1)
        await pilot.press("ctrl+q")

    play(leave)
    with path.open("ab") as file:
        file.write(b'{"seq"')
    again = framecall("review", footage)
    assert again.code == 0
    assert "torn before it was acknowledged" in again.out
    assert "Open: run 1 must be looked at" in again.out
    looks = [e for e in (line.entry for line in read_session(path).lines) if isinstance(e, Look)]
    assert len(looks) == 1


@pytest.mark.usefixtures("terminal")
def test_a_session_lost_while_it_was_open_is_saved_at_the_end_and_told_with_another_exit_code(
    framecall: Call, play: Callable[[Script], None], footage: Path
) -> None:
    session = footage.with_name("a.jsonl")

    async def lose(pilot: Pilot[object]) -> None:
        await pilot.pause(0.1)
        await pilot.press("left_parenthesis")
        await pilot.pause(0.1)
        session.unlink()
        await pilot.press("ctrl+q")

    play(lose)
    said = framecall("review", footage, "--event", "cycle", "--session", session)
    assert said.code == 2
    assert said.err == (
        "The session file was lost while it was open. Every entry is saved in "
        f"{session}; the review goes on there.\n"
    )
    assert read_session(session).lines[1].entry.kind == "run-begun"


@pytest.mark.usefixtures("terminal")
def test_the_reviewer_is_named_by_the_environment_or_is_r1(
    framecall: Call, footage: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(FramecallApp, "run", lambda _: None)
    for reviewer in ("", "R7"):
        monkeypatch.setenv("FRAMECALL_REVIEWER", reviewer)
        session = footage.with_name(f"{reviewer}.jsonl")
        framecall("review", footage, "--event", "cycle", "--session", session)
        assert read_session(session).header.reviewer == (reviewer or "R1")


def test_without_a_terminal_the_bench_is_refused(framecall: Call, footage: Path) -> None:
    sentence = framecall("review", footage, "--event", "cycle").sentence()
    assert "needs a terminal" in sentence
    assert not session_path(footage).exists()


@pytest.mark.parametrize(
    ("footage_name", "options", "said"),
    [
        ("none.mp4", ["--event", "cycle"], "none.mp4"),
        (None, ["--event", "bicycle"], "bicycle"),
        (None, ["--event", "cycle", "--picture", "oil"], "cannot be drawn as 'oil'"),
        (None, ["--event", "cycle", "--keymap", "dvorak"], "dvorak"),
    ],
)
def test_what_is_amiss_is_named_before_the_missing_terminal(
    framecall: Call, footage: Path, footage_name: str | None, options: list[str], said: str
) -> None:
    named = footage if footage_name is None else footage.with_name(footage_name)
    sentence = framecall("review", named, *options).sentence()
    assert said in sentence
    assert "terminal" not in sentence


@pytest.mark.parametrize(("columns", "rows"), [(79, 24), (80, 23), (60, 20)])
def test_a_terminal_that_is_too_small_is_refused(
    framecall: Call, footage: Path, columns: int, rows: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    for stream in ("stdin", "stdout"):
        monkeypatch.setattr(f"sys.{stream}.isatty", lambda: True, raising=False)
    monkeypatch.setenv("COLUMNS", str(columns))
    monkeypatch.setenv("LINES", str(rows))
    sentence = framecall("review", footage, "--event", "cycle").sentence()
    assert f"{columns} columns and {rows} rows" in sentence
    assert "80 by 24" in sentence


def test_an_interrupt_ends_without_a_traceback(
    footage: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def interrupt() -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr("tui.cli.start.check_terminal", interrupt)
    assert main(["review", str(footage)]) == 2
    assert capsys.readouterr().err == ""


def test_a_session_is_not_left_locked(footage: Path, cache: Path) -> None:
    opened = Footage.open(footage, cache)
    wish = ReviewWish(footage, event="cycle")
    for _ in range(2):
        review = open_review(wish, opened)
        assert review.frames == CLIP_FRAMES
        review.journal.close()


def test_times_on_the_review_are_those_of_the_footage(footage: Path, cache: Path) -> None:
    opened = Footage.open(footage, cache)
    review = open_review(ReviewWish(footage, event="cycle"), opened)
    for frame in (0, 1, 100, CLIP_FRAMES - 1):
        assert review.stamp(frame) == opened.pts(frame)
        assert review.frame_at(opened.time(frame) - opened.time(0)) == frame
    review.journal.close()


def test_a_rate_is_kept_only_where_every_time_stamp_keeps_it(clip: Path, cache: Path) -> None:
    assert Footage.open(clip, cache).steady_rate == Fraction(CLIP_RATE)


def test_footage_of_a_variable_rate_has_none(tmp_path: Path, cache: Path) -> None:
    path = tmp_path / "variable.mp4"
    picture = np.zeros((48, 64, 3), np.uint8)
    with VideoWriter(path, (64, 48), 30, time_base=Fraction(1, 600)) as writer:
        for pts in (0, 20, 40, 65, 80, 130, 150):
            writer.write(picture, pts)
    assert Footage.open(path, cache).steady_rate is None


class Screen(io.StringIO):
    def __init__(self, tty: bool) -> None:
        super().__init__()
        self._tty = tty

    def isatty(self) -> bool:
        return self._tty


def test_progress_is_one_line_that_is_wiped_at_the_end(monkeypatch: pytest.MonkeyPatch) -> None:
    screen = Screen(tty=True)
    monkeypatch.setattr("sys.stderr", screen)
    show = progress_line()
    show("reading", 1, 4)
    assert screen.getvalue() == "\rreading: 25 % "
    show("reading", 4, 4)
    assert screen.getvalue().endswith("\r")
    assert screen.getvalue().split("\r")[-2].strip() == ""


@pytest.mark.parametrize(("tty", "total"), [(False, 4), (True, 0)])
def test_progress_is_not_shown_to_a_file_nor_of_nothing(
    tty: bool, total: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    screen = Screen(tty)
    monkeypatch.setattr("sys.stderr", screen)
    progress_line()("reading", 1, total)
    assert screen.getvalue() == ""


def test_footage_that_was_moved_is_recognised_by_its_content(
    footage: Path, tmp_path: Path, cache: Path
) -> None:
    opened = Footage.open(footage, cache)
    session = tmp_path / "a.jsonl"
    open_review(ReviewWish(footage, session, "cycle"), opened).journal.close()
    moved = Path(shutil.copy(footage, tmp_path / "moved.mp4"))
    review = open_review(ReviewWish(moved, session), Footage.open(moved, cache))
    assert review.session.header.footage.name == "invented.mp4"
    review.journal.close()
