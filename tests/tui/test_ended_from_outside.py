"""A program that is asked to end, or whose terminal goes away: nothing is lost, or left behind.

Exit codes: a shell tells of a command that signal N ended as 128+N (POSIX.1-2017, XCU 2.8.2, asks
for more than 128; the sum is what shells do; from memory).
"""

import os
import shutil
import signal
import time
from collections.abc import Callable
from pathlib import Path

import pytest

from keymaps.keymap import Keymap
from sessions.docket.claims import ListedClaim, write_claims
from sessions.docket.docket import DocketFolder
from sessions.record.entries import Played, Shown
from sessions.record.journal import Journal
from sessions.record.recording import read_session
from tests.tui.benching import make_app, on_bench
from tests.tui.conftest import PlainSource
from tests.tui.pseudo_terminal import PseudoTerminal, Start
from tui.bench.review import Review

pytestmark = pytest.mark.proof

RIGHT = "\x1b[C"
LISTED = ListedClaim("C-1", "3-3-3", "U10", "S-204", "4.321", "5.678", "a.mp4")


@pytest.fixture
def footage(clip: Path, tmp_path: Path) -> Path:
    return Path(shutil.copy(clip, tmp_path / "a.mp4"))


def step_to(bench: PseudoTerminal, last: int) -> None:
    for frame in range(1, last + 1):
        bench.send(RIGHT)
        bench.shows_frame(frame)


def shown_in(session: Path) -> set[int]:
    entries = [line.entry for line in read_session(session).lines]
    ranges = [each for e in entries if isinstance(e, Shown) for each in e.ranges]
    return {frame for first, last in ranges for frame in range(first, last + 1)}


@pytest.mark.parametrize("number", [signal.SIGTERM, signal.SIGHUP])
def test_the_terminal_is_given_back_and_the_last_frames_are_kept(
    start: Start, footage: Path, number: signal.Signals
) -> None:
    bench = start("review", footage, "--event", "cycle")
    bench.shows_frame(0)
    step_to(bench, 3)
    os.kill(bench.pid, number)
    assert bench.code() == 128 + number
    end = bench.raw[bench.raw.rindex(b"\x1b[?1049l") :]  # xterm's own: the other screen is left
    assert b"\x1b[?25h" in end  # ECMA-48 private, as DEC: the cursor is shown
    assert b"Session saved:" in end
    assert b"Traceback" not in bench.raw
    assert shown_in(footage.with_name("a.mp4.session.jsonl")) == {0, 1, 2, 3}


def test_a_terminal_that_hangs_up_while_footage_plays_loses_nothing_of_it(
    start: Start, footage: Path
) -> None:
    bench = start("review", footage, "--event", "cycle")
    bench.shows_frame(0)
    bench.send(" ")
    bench.until(lambda: any(bench.text.startswith(f"frame {n}/") for n in range(40, 200)))
    assert bench.hang_up() == 128 + signal.SIGHUP
    entries = [line.entry for line in read_session(footage.with_name("a.mp4.session.jsonl")).lines]
    (played,) = [entry for entry in entries if isinstance(entry, Played)]
    assert played.last >= 40


def test_a_terminal_that_goes_away_without_a_signal_ends_the_program(
    start: Start, footage: Path
) -> None:
    bench = start("review", footage, "--event", "cycle", heeds_hang_ups=False)
    bench.shows_frame(0)
    step_to(bench, 2)
    assert bench.hang_up(5) == 128 + signal.SIGHUP
    session = footage.with_name("a.mp4.session.jsonl")
    assert shown_in(session) == {0, 1, 2}
    Journal.reopen(session).close()  # no lock is left


@pytest.mark.parametrize("keys", ["?", ":", "N", "\x10"])
@pytest.mark.parametrize("late", [0.0, 0.02, 0.05, 0.1])
def test_a_program_that_is_ended_while_a_dialog_opens_ends_in_order(
    start: Start, footage: Path, keys: str, late: float
) -> None:
    bench = start("review", footage, "--event", "cycle")
    bench.shows_frame(0)
    bench.send(keys)
    time.sleep(late)
    os.kill(bench.pid, signal.SIGTERM)
    assert bench.code() == 128 + signal.SIGTERM
    assert b"Traceback" not in bench.raw
    assert b"Session saved:" in bench.raw


def test_a_docket_keeps_what_the_bench_in_front_has_shown_and_its_index(
    start: Start, footage: Path, cache: Path
) -> None:
    folder = DocketFolder(footage.parent)
    write_claims(folder.claims_file, [LISTED])
    docket = start("docket", folder.path)
    docket.shows("Next: C-1")
    docket.send("\r")
    docket.shows_frame(0)
    step_to(docket, 2)
    os.kill(docket.pid, signal.SIGTERM)
    assert docket.code() == 128 + signal.SIGTERM
    assert b"Traceback" not in docket.raw
    assert shown_in(folder.session("C-1", "R1")) == {0, 1, 2}
    again = start("docket", folder.path)
    again.shows("R1…")  # the session was read and judged
    os.kill(again.pid, signal.SIGTERM)
    assert again.code() == 128 + signal.SIGTERM
    assert folder.index_file(cache / "dockets").exists()


async def test_a_hang_up_that_was_ignored_from_the_start_stays_so(
    make_review: Callable[..., Review], source: PlainSource, keymap: Keymap
) -> None:
    before = signal.signal(signal.SIGHUP, signal.SIG_IGN)  # as nohup does
    try:
        async with on_bench(make_app(make_review("cycle"), source, keymap)) as bench:
            os.kill(os.getpid(), signal.SIGHUP)
            await bench.press("right")
            assert bench.screen.review.frame == 1
            assert signal.getsignal(signal.SIGHUP) is signal.SIG_IGN
    finally:
        signal.signal(signal.SIGHUP, before)
