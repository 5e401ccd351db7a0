"""Settling, rulings and documents from the docket, by keys."""

import json
from hashlib import sha256
from pathlib import Path

import pytest

from keymaps.keymap import Keymap
from sessions.docket.docket import DocketFolder
from sessions.record.entries import Note
from sessions.record.header import Claim
from sessions.record.journal import Journal
from tests.sessions.samples import spot
from tests.tui.docket.docketing import (
    FITTING,
    Place,
    begun_entries,
    finished_entries,
    listed,
    on_docket,
    place,
    write_review,
)
from tests.tui.documents.papers import document, session
from tui.bench.screen import BenchScreen
from tui.documents.issuing import as_json
from tui.settling.screen import SettlingScreen

CLAIM = listed("C-1", FITTING)


def reviews(folder: DocketFolder, *, differ: bool, by: tuple[str, str] = ("R1", "R2")) -> None:
    write_review(folder, CLAIM, by[0], finished_entries())
    write_review(folder, CLAIM, by[1], finished_entries(scratch=differ))


@pytest.fixture
def differing(tmp_path: Path, keymap: Keymap) -> Place:
    return place(tmp_path, [CLAIM], keymap, prepare=lambda f: reviews(f, differ=True))


@pytest.fixture
def agreed(tmp_path: Path, keymap: Keymap) -> Place:
    return place(tmp_path, [CLAIM], keymap, prepare=lambda f: reviews(f, differ=False))


async def test_enter_opens_a_claim_whose_reviews_differ_to_settle_it(differing: Place) -> None:
    async with on_docket(differing) as docket:
        await docket.pilot.press("enter")
        await docket.until(lambda: isinstance(docket.app.screen, SettlingScreen))
        await docket.back()
        assert differing.cases.settled == ["C-1"]
        assert docket.line("message") == "1 of 1 difference is left to settle."


async def test_the_own_review_can_still_be_opened(differing: Place) -> None:
    async with on_docket(differing) as docket:
        await docket.pilot.press("alt+o")
        await docket.until(lambda: isinstance(docket.app.screen, BenchScreen))
        await docket.back()
        assert differing.cases.opened == ["C-1"]


async def test_a_claim_settled_from_the_docket_shows_as_ruled(differing: Place) -> None:
    async with on_docket(differing) as docket:
        await docket.pilot.press("alt+s")
        await docket.until(lambda: isinstance(docket.app.screen, SettlingScreen))
        await docket.press("left", *"seen", "enter", "ctrl+e", "enter")
        await docket.back()
        await docket.until(lambda: "settled" in docket.text)


async def test_who_has_not_reviewed_a_claim_is_told_what_settling_shows(
    tmp_path: Path, keymap: Keymap
) -> None:
    made = place(
        tmp_path, [CLAIM], keymap, reviewer="R3", prepare=lambda f: reviews(f, differ=True)
    )
    async with on_docket(made) as docket:
        await docket.press("alt+s")
        assert "You have not reviewed this claim yourself." in docket.text
        await docket.press("escape")
        assert made.cases.settled == []
        await docket.press("alt+s", "enter")
        await docket.until(lambda: isinstance(docket.app.screen, SettlingScreen))


async def test_reviews_that_agree_are_not_settled(agreed: Place) -> None:
    async with on_docket(agreed) as docket:
        await docket.press("alt+s")
        await docket.until(lambda: "there is nothing to settle" in docket.text)
        assert "do not differ" in docket.line("message")


async def test_the_ruling_is_shown_with_the_claim_and_what_was_issued(agreed: Place) -> None:
    async with on_docket(agreed) as docket:
        await docket.press("alt+v")
        assert f"The claimed time of {FITTING} seconds stands." in docket.text
        assert "Reviewed by R1 and R2." in docket.text
        assert "No document was issued yet." in docket.text
        assert "Record before: 9.000 s." in docket.text


async def test_what_is_not_ruled_shows_the_own_review(differing: Place) -> None:
    async with on_docket(differing) as docket:
        await docket.press("alt+v")
        assert "Not ruled yet (differing); your own review says:" in docket.text


@pytest.mark.parametrize("key", ["alt+v", "alt+d"])
async def test_nothing_is_shown_of_a_claim_before_the_own_review_is_finished(
    tmp_path: Path, keymap: Keymap, key: str
) -> None:
    def prepare(folder: DocketFolder) -> None:
        reviews(folder, differ=False, by=("R2", "R3"))
        write_review(folder, CLAIM, "R1", begun_entries())

    async with on_docket(place(tmp_path, [CLAIM], keymap, prepare=prepare)) as docket:
        await docket.press(key)
        assert "is hidden until you finish your own review of it" in docket.text
        assert FITTING not in docket.text


async def test_documents_are_issued_after_a_question(agreed: Place) -> None:
    async with on_docket(agreed) as docket:
        await docket.press("alt+d")
        assert "Issue the ruling on C-1?" in docket.text
        await docket.press("escape")
        assert agreed.cases.issued == []
        await docket.press("alt+d", "enter")
        await docket.until(lambda: docket.line("message") == "Issued C-1.")
        assert agreed.cases.issued == [("C-1", None)]


async def test_a_ruling_that_supersedes_is_shown_before_its_reason_is_asked_for(
    agreed: Place,
) -> None:
    issued, _ = document(session(claim=Claim(id="C-1")))
    agreed.folder.rulings.mkdir()
    (agreed.folder.rulings / "C-1.ruling-1.json").write_bytes(as_json(issued))
    async with on_docket(agreed) as docket:
        await docket.press("alt+d")
        assert "Issue a new ruling on C-1, in place of ruling 1?" in docket.text
        assert f"The claimed time of {FITTING} s" in docket.text
        await docket.press("enter")
        assert "Printed in the document; no names." in docket.text
        await docket.press("escape")
        assert agreed.cases.issued == []
        await docket.press("alt+d", "enter", "enter")
        assert "A reason is needed" in docket.text
        await docket.press(*"late", "enter")
        await docket.until(lambda: docket.line("message") == "Issued C-1.")
        assert agreed.cases.issued == [("C-1", "late")]


async def test_a_claim_that_is_not_ruled_is_not_issued(differing: Place) -> None:
    async with on_docket(differing) as docket:
        await docket.press("alt+d")
        assert "Claim C-1 is not ruled yet (it is differing)" in docket.text
        assert differing.cases.issued == []


async def test_a_document_that_is_not_as_it_was_issued_is_told(agreed: Place) -> None:
    agreed.folder.rulings.mkdir()
    broken = {"number": 1, "format": "framecall-ruling-document"}
    (agreed.folder.rulings / "C-1.ruling-1.json").write_text(json.dumps(broken))
    async with on_docket(agreed) as docket:
        await docket.press("alt+d")
        assert docket.screen.message is not None
        assert "C-1.ruling-1.json is not as it was issued" in docket.screen.message[0]
        assert agreed.cases.issued == []


async def test_the_search_of_commands_knows_those_of_the_docket(agreed: Place) -> None:
    async with on_docket(agreed) as docket:
        await docket.press("ctrl+p")
        await docket.press(*"documents")
        await docket.until(lambda: "Issue the ruling of the chosen claim" in docket.text)


async def test_with_no_claim_found_every_command_says_so(agreed: Place) -> None:
    async with on_docket(agreed) as docket:
        await docket.press(*"zzz")
        for key in ("enter", "alt+o", "alt+s", "alt+v", "alt+d"):
            await docket.press(key)
            assert docket.line("message") == "No claim holds these words."


async def test_a_review_changed_since_settling_began_is_settled_anew_after_a_question(
    differing: Place,
) -> None:
    async with on_docket(differing) as docket:
        await docket.pilot.press("alt+s")
        await docket.until(lambda: isinstance(docket.app.screen, SettlingScreen))
        await docket.back()
        with Journal.reopen(differing.folder.session("C-1", "R2")) as journal:
            journal.append(Note(text="once more", at=spot(0)))
        digest = sha256(differing.folder.session("C-1", "R2").read_bytes()).hexdigest()

        def is_read() -> bool:
            found = differing.docket.find("C-1")
            return found is not None and digest in {r.sha256 for r in found.state.reviews}

        docket.screen.poll()
        await docket.until(is_read)
        await docket.press("alt+s")
        assert "Settle C-1 anew?" in docket.text
        await docket.pilot.press("enter")
        await docket.until(lambda: isinstance(docket.app.screen, SettlingScreen))
        aside = [path.name for path in differing.folder.sessions.iterdir() if "aside" in path.name]
        assert aside == ["C-1.R1.settling.session.jsonl.aside-1"]
