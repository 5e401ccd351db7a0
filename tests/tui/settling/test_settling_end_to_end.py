"""Settling as a person has it: a real pseudo-terminal, real footage, a real disk."""

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest

from sessions.docket.claim_state import State
from sessions.docket.claims import ListedClaim
from sessions.docket.docket import DocketFolder
from sessions.record.entries import CupsSeen, DifferenceSettled, Entry, Finished, Look, Shown, Spot
from sessions.record.header import Claim
from sessions.record.journal import Journal
from sessions.record.recording import read_session
from sessions.rules.events import load_event
from tests.sessions.docket.docket_samples import new_docket
from tests.sessions.samples import faultless_run
from tests.tui.pseudo_terminal import PseudoTerminal
from tests.tui.settling.settlers import read
from tui.bench.opening import ReviewWish, new_header
from tui.footage.footage import Footage

pytestmark = pytest.mark.proof

CTRL_E, CTRL_Q, LEFT, RIGHT = "\x05", "\x11", "\x1b[D", "\x1b[C"
LISTED = ListedClaim("C-1", "3-3-3", "U10", "S-204", "4.000", "5.678", "footage/a.mp4")


def review(footage: Footage) -> list[Entry]:
    """A whole review of one run in order."""

    def spot(at: Spot) -> Spot:
        return Spot(frame=at.frame, pts=footage.pts(at.frame))

    entries: list[Entry] = []
    for entry in faultless_run(load_event("3-3-3"), 1, 0, "4.000"):
        places = {
            name: spot(getattr(entry, name))
            for name in ("begins", "ends", "after", "by", "at")
            if getattr(entry, name, None) is not None
        }
        entries.append(entry.model_copy(update=places))
    cups = CupsSeen(cups=tuple(range(1, 10)), saw="proven", at=spot(Spot(frame=0, pts=0)))
    return [*entries, cups, Shown(ranges=((0, footage.frames - 1),)), Finished(blind=True)]


@pytest.fixture
def folder(tmp_path: Path, clip: Path) -> DocketFolder:
    """A claim on which R2 found a fault where R1 found none."""
    made = new_docket(tmp_path / "season", [LISTED])
    (made.path / "footage").mkdir()
    shutil.copy(clip, made.path / LISTED.footage)
    footage = Footage.open(made.path / LISTED.footage)
    right = review(footage)
    fault = [
        e.model_copy(update={"saw": "refuted"})
        if isinstance(e, Look) and "s1" in e.checkpoint
        else e
        for e in right
    ]
    for reviewer, entries in (("R1", right), ("R2", fault)):
        wish = ReviewWish(footage.path, None, "3-3-3", reviewer, Claim(id="C-1"))
        with Journal.create(made.session("C-1", reviewer), new_header(wish, footage)) as journal:
            for entry in entries:
                journal.append(entry)
    return made


@pytest.fixture
def terminal(folder: DocketFolder, cache: Path) -> Iterator[PseudoTerminal]:
    arguments = ["settle", str(folder.path), "C-1", "--reviewer", "R3"]
    started = PseudoTerminal(arguments, cache)
    yield started
    started.close()


def test_a_claim_is_settled_in_a_terminal(folder: DocketFolder, terminal: PseudoTerminal) -> None:
    assert read(folder).placed[0].state.state is State.DIFFERING
    terminal.shows("Difference 1 of 1")
    terminal.shows("R2: FAULT at frame 50")
    terminal.send(RIGHT)
    terminal.shows("Why do you take this side? R2")
    terminal.send("the hand is on it\r")
    terminal.shows("Settled as R2 found it")
    terminal.send(CTRL_E)
    terminal.shows("Finish settling?")
    terminal.send("\r")
    terminal.shows("Settled. ")
    terminal.send(CTRL_Q)
    assert terminal.code() == 0
    terminal.shows("Session saved:")
    settled = read(folder).placed[0].state
    assert (settled.state, settled.verdict) == (State.SETTLED, State.SCRATCH)
    lines = read_session(folder.session("C-1", "R3", settling=True)).lines
    (entry,) = [line.entry for line in lines if isinstance(line.entry, DifferenceSettled)]
    assert (entry.taken, entry.reason) == ("R2", "the hand is on it")


def test_the_bench_opens_at_the_difference_and_comes_back(
    folder: DocketFolder, terminal: PseudoTerminal
) -> None:
    terminal.shows("Difference 1 of 1")
    terminal.shows("R2: FAULT at frame 50")
    terminal.send("a")
    terminal.shows_frame(50)
    terminal.send("y")
    terminal.shows("Let go: 1st 3: in order at frame 50.")
    terminal.send(CTRL_Q)
    terminal.shows("What did you see when you looked again?")
    terminal.send("it is clear\r")
    terminal.shows("Settled anew")
    terminal.shows("nothing left")
    terminal.send(CTRL_Q)
    assert terminal.code() == 0
