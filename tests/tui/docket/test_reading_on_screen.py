"""The docket on the screen while its sessions are still being judged."""

import threading
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from keymaps.keymap import Keymap
from sessions.docket.docket import DocketFolder
from sessions.docket.index import judge_all
from sessions.docket.review_summary import ReviewSummary
from tests.tui.docket.docketing import (
    OnDocket,
    Place,
    finished_entries,
    listed,
    on_docket,
    place,
    write_review,
)
from tui.docket import screen as docket_reading

CLAIMS = [listed("C-1", "1.000"), listed("C-2", "2.000"), listed("C-3", "3.000")]


class Gate:
    """Lets so many sessions be judged as it is opened for."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch) -> None:
        self.passes = threading.Semaphore(0)

        def judge_when_open(
            names: list[str], judge: Callable[[str], ReviewSummary]
        ) -> Iterator[tuple[str, ReviewSummary]]:
            for judged in judge_all(names, judge):
                assert self.passes.acquire(timeout=20)
                yield judged

        monkeypatch.setattr("sessions.docket.index.judge_all", judge_when_open)
        monkeypatch.setattr(docket_reading, "AT_ONCE", 1)
        monkeypatch.setattr("sessions.docket.docket.FIRST_PAUSE", 0.0)

    def open(self, sessions: int) -> None:
        self.passes.release(sessions)


@pytest.fixture
def gate(monkeypatch: pytest.MonkeyPatch) -> Iterator[Gate]:
    made = Gate(monkeypatch)
    yield made
    made.open(1000)


@pytest.fixture
def made(tmp_path: Path, keymap: Keymap, gate: Gate) -> Place:
    def reviews(folder: DocketFolder) -> None:
        for claim in CLAIMS[:2]:
            write_review(folder, claim, "R1", finished_entries())

    return place(tmp_path, CLAIMS, keymap, prepare=reviews, is_read=False)


def row(docket: OnDocket, claim: str) -> str:
    return next(line for line in docket.text.splitlines() if claim in line)


async def test_the_claims_show_at_once_and_say_what_is_to_be_read(made: Place, gate: Gate) -> None:
    async with on_docket(made) as docket:
        where = "Docket season │ reviewer R1 │ 3 claims │ READING SESSIONS: "
        assert docket.line("where") == f"{where}0 of 2"
        assert docket.line("next").startswith("Next: to be found once all sessions are read")
        assert docket.claims == ["C-1", "C-2", "C-3"]
        assert "to be read" in row(docket, "C-2")
        assert "untouched" in row(docket, "C-3")
        gate.open(1)
        await docket.until(lambda: docket.line("where") == f"{where}1 of 2")
        await docket.until(lambda: docket.text.count("to be read") == 1)
        gate.open(1)
        await docket.until(lambda: "3 claims, " in docket.line("where"))
        assert "to be read" not in docket.text
        assert docket.line("next") == "Next: C-3, place 3 in 3-3-3 U10, untouched"
        assert docket.screen.view.chosen is not None
        assert docket.screen.view.chosen.claim.claim == "C-3"


async def test_what_was_chosen_meanwhile_stays_chosen(made: Place, gate: Gate) -> None:
    async with on_docket(made) as docket:
        await docket.press("c", "-", "1")
        assert docket.claims == ["C-1"]
        gate.open(2)
        await docket.until(lambda: "3 claims, " in docket.line("where"))
        assert docket.claims == ["C-1"]
        assert docket.line("filter") == "Search: c-1▏ 1 of 3"


async def test_a_claim_that_is_to_be_read_is_neither_settled_nor_shown(
    made: Place, gate: Gate
) -> None:
    async with on_docket(made) as docket:
        await docket.press("c", "-", "1")
        for key in ("alt+s", "alt+v", "alt+d"):
            await docket.press(key)
            said = "Not all sessions on C-1 are read yet; wait for them."
            assert docket.line("message") == said
            await docket.press("backspace", "1")
        gate.open(2)  # or the thread that reads would be waited for


async def test_the_docket_can_be_left_while_it_is_read(made: Place, gate: Gate) -> None:
    async with on_docket(made) as docket:
        await docket.pilot.press("ctrl+q")
        gate.open(1)
        assert docket.app._exit
    assert made.docket.due >= 1
