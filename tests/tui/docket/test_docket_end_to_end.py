"""The docket as a person has it: open the next claim, tag, finish, come back to its new state."""

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest

from sessions.docket.claims import ListedClaim, write_claims
from sessions.docket.docket import DocketFolder
from sessions.record.entries import Finished
from sessions.record.recording import read_session
from tests.tui.pseudo_terminal import PseudoTerminal

pytestmark = pytest.mark.proof

LISTED = ListedClaim("C-1", "3-3-3", "U10", "S-204", "4.321", "5.678", "footage/a.mp4")
SECRETS = ("S-204", "4.321", "5.678")
CTRL_E, CTRL_Q, END, SHIFT_RIGHT = "\x05", "\x11", "\x1b[F", "\x1b[1;2C"


@pytest.fixture
def docket(tmp_path: Path, clip: Path) -> DocketFolder:
    folder = DocketFolder(tmp_path / "season")
    (folder.path / "footage").mkdir(parents=True)
    shutil.copy(clip, folder.path / LISTED.footage)
    write_claims(folder.claims_file, [LISTED])
    return folder


@pytest.fixture
def terminal(docket: DocketFolder, cache: Path) -> Iterator[PseudoTerminal]:
    started = PseudoTerminal(["docket", str(docket.path)], cache)
    yield started
    started.close()


def tag_a_run(terminal: PseudoTerminal, docket: DocketFolder) -> None:
    """One run in order from the first frame on, its display and all cups."""
    terminal.send("(")
    terminal.shows("Run 1 begun at frame 0.")
    frame = 0
    for _ in range(15):
        frame += 10
        terminal.send(SHIFT_RIGHT)
        terminal.shows_frame(frame)
        terminal.send("\r")
        terminal.shows(f"at frame {frame}.")
    terminal.send(END)
    terminal.shows_frame(239)
    terminal.send(")")
    terminal.shows("Run 1 ended")
    sighted = [
        line.entry.by.frame
        for line in read_session(docket.session("C-1", "R1")).lines
        if line.entry.kind == "sighted"
    ]
    terminal.send("0")
    terminal.shows("What does the display read")
    terminal.send(f"{(sighted[1] - sighted[0]) / 30:.3f}\r")
    terminal.until(lambda: "What does" not in terminal.text)
    terminal.send("6")
    terminal.shows("Marks of 9 cups seen")


def test_from_the_docket_to_a_finished_review_and_back(
    terminal: PseudoTerminal, docket: DocketFolder
) -> None:
    terminal.shows("Next: C-1, place 1 in 3-3-3 U10, untouched")
    terminal.send("\r")
    terminal.shows_frame(0)
    tag_a_run(terminal, docket)
    terminal.send(CTRL_E)
    terminal.shows("Finish this review?")
    assert not any(secret.encode() in terminal.raw for secret in SECRETS)
    terminal.send("\r")
    terminal.shows("4.321 s by S-204 in U10")
    terminal.send(CTRL_Q)
    terminal.shows("R1✓")
    # no run reads 4.321 s, and most of the footage was leapt over: it still waits for a look
    terminal.shows("Next: C-1, place 1 in 3-3-3 U10, open")
    terminal.until(lambda: all(secret in terminal.text for secret in SECRETS))
    terminal.send(CTRL_Q)
    assert terminal.code() == 0
    entries = [line.entry for line in read_session(docket.session("C-1", "R1")).lines]
    assert Finished(blind=True) in entries
