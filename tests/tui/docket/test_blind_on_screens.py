"""Nothing that is hidden is anywhere on any screen before the review is finished."""

from pathlib import Path

import pytest

from keymaps.commands import COMMANDS
from keymaps.keymap import Keymap
from sessions.docket.docket import DocketFolder
from sessions.record.entries import Finished, Look, Note
from sessions.record.header import Claim
from sessions.record.recording import read_session
from tests.proofs import mostly_proofs
from tests.tui.benching import LARGE, SMALL, Bench
from tests.tui.docket.docketing import (
    FITTING,
    SECRET,
    SECRETS,
    Place,
    finished_entries,
    head_of,
    on_docket,
    place,
    write_review,
)
from tests.tui.reviewing import do, run_in_order, written

sizes = pytest.mark.parametrize("size", mostly_proofs([SMALL, LARGE], [SMALL]))

THEIRS = ("scratch", "their own words", "FAULT", "✗")
"""What the other reviewer found; the words of commands are left aside."""


@pytest.fixture
def first_done(tmp_path: Path, keymap: Keymap) -> Place:
    """A claim that a first reviewer has found to be a scratch."""

    def review(folder: DocketFolder) -> None:
        note = Note(text="their own words", at=finished_entries()[0].begins)  # type: ignore[union-attr]
        write_review(folder, SECRET, "R1", [note, *finished_entries(scratch=True)])

    return place(tmp_path, [SECRET], keymap, "R2", prepare=review)


def hides(text: str, *more: str) -> bool:
    return not any(secret in text for secret in (*SECRETS, *more))


async def finish(bench: Bench) -> None:
    await bench.do("finish")
    assert "Finish this review?" in bench.text
    assert hides(bench.text)
    await bench.press("enter")


@sizes
async def test_the_second_reviewer_sees_nothing_of_the_first(
    first_done: Place, size: tuple[int, int]
) -> None:
    async with on_docket(first_done, size) as docket:
        assert hides(docket.text, *THEIRS)
        assert "awaiting second review" in docket.text
        assert "R1✓" in docket.text
        for typed in ("scratch", *SECRETS):
            await docket.press(*typed)
            assert docket.claims == []
            await docket.press("escape")
        bench = await docket.open()
        assert read_session(bench.screen.review.journal.path).header.claim == Claim(id="C-7")
        assert hides(bench.text, *THEIRS)
        pages = ("ruling", "help", "ladder.list", "finish", "go_to", "palette")
        await bench.press("left_parenthesis")
        for page in pages:
            await bench.do(page)
            assert hides(bench.text, "their own words")
            await bench.press("escape")
        await docket.back()
        assert hides(docket.text, *THEIRS)
        await docket.press("f1")
        assert hides(docket.text)


@sizes
async def test_the_claim_shows_once_the_review_is_finished_and_nothing_is_open(
    tmp_path: Path, keymap: Keymap, size: tuple[int, int]
) -> None:
    made = place(tmp_path, [SECRET], keymap)
    async with on_docket(made, size) as docket:
        bench = await docket.open()
        review = bench.screen.review
        run_in_order(review, 0)
        do(review, "cup.all_seen")
        assert hides(bench.text)
        await finish(bench)
        assert all(secret in bench.text for secret in SECRETS)
        assert "No run on this footage reads the claimed time." in " ".join(bench.text.split())
        assert written(review)[-1] == Finished(blind=True)
        await bench.do("ruling")
        assert all(secret in bench.text for secret in SECRETS)
        await bench.press("escape")
        await docket.back()
        await docket.until(lambda: all(secret in docket.text for secret in SECRETS))
        # most of the footage was never shown, and the claimed time may be there
        assert docket.line("next").startswith("Next: C-7, place 1 in 3-3-3 U10, open")
        assert "awaiting" not in docket.text


async def test_a_review_finished_with_a_run_open_still_hides_its_claim(
    tmp_path: Path, keymap: Keymap
) -> None:
    made = place(tmp_path, [SECRET], keymap)
    async with on_docket(made) as docket:
        bench = await docket.open()
        await bench.press("left_parenthesis")
        await finish(bench)
        assert hides(bench.text)
        assert "stays hidden until no run is left open" in " ".join(bench.text.split())
        await bench.press("right")
        assert "hidden until you finish" not in bench.line("where")
        await docket.back()
        await docket.until(lambda: "R1✓" in docket.text)
        assert hides(docket.text)


async def test_a_finished_review_is_amended_only_once_the_reviewer_says_why(
    tmp_path: Path, keymap: Keymap
) -> None:
    made = place(tmp_path, [SECRET], keymap)
    async with on_docket(made, LARGE) as docket:
        bench = await docket.open()
        await bench.press("left_parenthesis")
        await finish(bench)
        before = written(bench.screen.review)
        for command in ("undo", "in_order.grip", "reading", "fumble.up", "note", "accept"):
            await bench.do(command)
            assert "Why do you amend it?" in " ".join(bench.text.split())
            await bench.press("escape")
        assert written(bench.screen.review) == before
        assert "claim C-7 finished" in bench.line("where")
        await bench.do("undo")
        await bench.answer("A slip.")
        assert "Amending" in bench.message
        assert "claim C-7 amended" in bench.line("where")
        kinds = [line.entry.kind for line in bench.screen.review.session.live]
        assert "finished" in kinds
        assert "run-begun" not in kinds


async def test_what_began_an_amendment_is_done_once_the_reason_is_given(
    tmp_path: Path, keymap: Keymap
) -> None:
    made = place(tmp_path, [SECRET], keymap)
    async with on_docket(made, LARGE) as docket:
        bench = await docket.open()
        await bench.press("left_parenthesis", "right")
        await finish(bench)
        await bench.do("fault.grip")
        await bench.answer("A finger was missed.")
        assert "No cup held at start: FAULT at frame 1. Amending: what is" in bench.text
        assert [e.kind for e in written(bench.screen.review)][-2:] == ["reopened", "look"]
        await bench.do("finish")
        await bench.press("enter")
        await bench.do("note")
        await bench.answer("A remark was left out.")
        assert "Note at frame 1" in bench.text
        await bench.answer("The light is poor.")
        kinds = [e.kind for e in written(bench.screen.review)]
        assert kinds[-4:] == ["look", "finished", "reopened", "note"]


async def test_a_reason_with_no_change_after_it_leaves_the_file_as_it_was(
    tmp_path: Path, keymap: Keymap
) -> None:
    made = place(tmp_path, [SECRET], keymap)
    async with on_docket(made, LARGE) as docket:
        bench = await docket.open()
        await bench.press("left_parenthesis")
        await finish(bench)
        path = made.folder.session("C-7", "R1")
        before = path.read_bytes()
        await bench.do("note")
        await bench.answer("A remark was left out.")
        await bench.press("escape", "right", "right")
        assert "claim C-7 amending" in bench.line("where")
        await bench.do("run.begin")
        assert "Run 1 is still open" in bench.message
        await docket.back()
        assert path.read_bytes() == before


async def test_a_finished_review_can_be_looked_at_without_a_question(
    tmp_path: Path, keymap: Keymap
) -> None:
    made = place(tmp_path, [SECRET], keymap)
    async with on_docket(made, LARGE) as docket:
        bench = await docket.open()
        await finish(bench)
        path = made.folder.session("C-7", "R1")
        before = path.read_bytes()
        await bench.press("right", "shift+right", "M", "Y", "end")
        await bench.do("ruling")
        await bench.press("escape")
        await bench.do("finish")
        assert "finished already" in bench.message
        await docket.back()
        assert path.read_bytes() == before


async def test_a_session_begun_with_the_claim_in_sight_is_recorded_as_such(
    tmp_path: Path, keymap: Keymap
) -> None:
    made = place(tmp_path, [SECRET], keymap, shown=True)
    async with on_docket(made, LARGE) as docket:
        assert "CLAIMS SHOWN" in docket.line("where")
        assert all(secret in docket.text for secret in SECRETS)
        bench = await docket.open()
        claim = bench.screen.review.session.header.claim
        assert claim == Claim(id="C-7", competitor="S-SECRET", time="2.003")
        await bench.press("left_parenthesis")
        await finish_in_sight(bench)
        assert written(bench.screen.review)[-1] == Finished(blind=False)


async def finish_in_sight(bench: Bench) -> None:
    await bench.do("finish")
    await bench.press("enter")


async def test_leaving_the_question_leaves_the_review_open(tmp_path: Path, keymap: Keymap) -> None:
    made = place(tmp_path, [SECRET], keymap)
    async with on_docket(made) as docket:
        bench = await docket.open()
        await bench.do("finish")
        await bench.press("escape")
        assert bench.is_clear
        assert not [e for e in written(bench.screen.review) if isinstance(e, Finished | Look)]


def test_the_entries_of_these_tests_rule_as_they_say(first_done: Place) -> None:
    (placed,) = first_done.docket.placed
    (review,) = placed.state.reviews
    assert (review.finished, review.made) == (True, True)
    assert review.runs[0].broken == ("start.still",)
    assert review.runs[0].time == FITTING
    assert head_of(SECRET, "R1").claim == Claim(id="C-7")
    assert "finish" in COMMANDS
