"""One tape, one review: a reviewer's own tags on the same footage, taken over for another claim."""

import shutil
from pathlib import Path

import pytest

from keymaps.keymap import Keymap, load_keymap
from sessions.docket.docket import Docket, DocketFolder
from sessions.errors import SessionError
from sessions.record.entries import Finished, Look, TakenOver
from sessions.record.recording import read_session
from sessions.record.session import fold
from sessions.record.wholefile import PART
from sessions.ruling.judge import rule
from tests.sessions.record.failing_disk import WAYS, failing_at
from tests.tui.docket.docketing import Place, listed, on_docket, place
from tui.bench.history import next_undo
from tui.bench.screen import BenchScreen
from tui.cli.docket import placed_claim
from tui.docket.opening import Cases, OpenCase, SameFootage, begin_with, find_own_look
from tui.docket.rows import Sight
from tui.documents.sources import read_whole_session, session_facts
from tui.picture.choice import choose
from tui.picture.terminal import Terminal

OLD, NEW = "C-05", "C-07"
"""Two claims of the demo's docket on one tape; R1 and R2 have reviewed it for the first."""


@pytest.fixture
def folder(demo_docket: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> DocketFolder:
    """The demo's docket with no review of the tape but those for the first claim."""
    monkeypatch.setenv("FRAMECALL_CACHE", str(tmp_path / "cache"))
    made = DocketFolder(shutil.copytree(demo_docket, tmp_path / "season"))
    for claim in ("C-09", "C-14"):
        for path in made.sessions.glob(f"{claim}.*"):
            path.unlink()
    return made


def cases(folder: DocketFolder, reviewer: str = "R1") -> Cases:
    docket = Docket(folder.path, folder.path.parent / "index")
    docket.refresh()
    keymap = load_keymap("qwerty", user_file=None)
    return Cases(docket, Sight(reviewer, folder), keymap, choose(Terminal()))


def review(deeds: Cases, take_over: bool | None) -> OpenCase | SameFootage:
    claim = placed_claim(deeds.docket, NEW).state.claim
    return deeds.review(claim, lambda _: None, take_over)


def close(case: OpenCase | SameFootage) -> str:
    assert isinstance(case, OpenCase)
    return case.close()


def test_who_has_reviewed_the_footage_for_another_claim_is_asked(folder: DocketFolder) -> None:
    found = review(cases(folder), None)
    assert isinstance(found, SameFootage)
    assert (found.claim.claim, found.reviewed_for) == (NEW, OLD)
    assert not folder.session(NEW, "R1").exists()


def test_the_new_session_rules_as_the_old_one_and_is_not_finished(folder: DocketFolder) -> None:
    close(review(cases(folder), True))
    new = read_session(folder.session(NEW, "R1"))
    old, digest = read_whole_session(folder.session(OLD, "R1"))
    assert new.header.claim.id == NEW
    assert new.lines[0].entry == TakenOver(claim=OLD, sha256=digest)
    assert not any(isinstance(line.entry, Finished) for line in new.lines)
    ruling = rule(fold(new.header, new.lines))
    assert ruling.runs == rule(old).runs
    assert ruling.cups == rule(old).cups
    assert not [path for path in folder.sessions.iterdir() if PART.fullmatch(path.name)]


def test_an_own_session_that_is_begun_is_gone_on_with_and_not_asked_about(
    folder: DocketFolder,
) -> None:
    close(review(cases(folder), True))
    before = len(read_session(folder.session(NEW, "R1")).lines)
    close(review(cases(folder), None))
    assert len(read_session(folder.session(NEW, "R1")).lines) == before


def test_a_review_that_holds_no_tag_yet_may_still_begin_with_them(folder: DocketFolder) -> None:
    close(review(cases(folder), False))
    found = review(cases(folder), None)
    assert isinstance(found, SameFootage)
    close(review(cases(folder), True))
    new = read_session(folder.session(NEW, "R1"))
    old, _ = read_whole_session(folder.session(OLD, "R1"))
    assert rule(fold(new.header, new.lines)).runs == rule(old).runs
    assert isinstance(review(cases(folder), None), OpenCase)


def test_an_empty_review_can_be_begun_instead(folder: DocketFolder) -> None:
    close(review(cases(folder), False))
    entries = [line.entry for line in read_session(folder.session(NEW, "R1")).lines]
    assert not any(isinstance(entry, Look | TakenOver) for entry in entries)


def test_nothing_is_taken_over_from_another_reviewer(folder: DocketFolder) -> None:
    close(review(cases(folder, "R3"), None))
    assert not any(
        isinstance(line.entry, Look | TakenOver)
        for line in read_session(folder.session(NEW, "R3")).lines
    )


def test_a_review_that_is_not_there_any_more_is_not_taken_over(folder: DocketFolder) -> None:
    deeds = cases(folder)
    folder.session(OLD, "R1").unlink()
    close(review(deeds, None))
    assert folder.session(NEW, "R1").exists()


def test_a_disk_that_takes_nothing_is_one_sentence(folder: DocketFolder) -> None:
    deeds = cases(folder)
    old = read_session(folder.session(OLD, "R1")).header
    head = old.model_copy(update={"claim": old.claim.model_copy(update={"id": NEW})})
    own = find_own_look(deeds.docket, head)
    assert own is not None
    path = folder.session(NEW, "R1")
    before = sorted(folder.sessions.iterdir())
    for number in range(3):
        for lasting, partly in WAYS:
            with failing_at(number, lasting=lasting, partly=partly) as made:
                if number < 2:
                    with pytest.raises(SessionError, match="not begun: the disk refused it"):
                        begin_with(path, lambda: head, own)
                    assert sorted(folder.sessions.iterdir()) == before, made
                else:  # the folder's name alone was not synced
                    begin_with(path, lambda: head, own)
                    assert len(read_session(path).lines) > 50
                    path.unlink()


def test_what_was_taken_over_is_not_undone(folder: DocketFolder) -> None:
    close(review(cases(folder), True))
    lines = read_session(folder.session(NEW, "R1")).lines
    assert next_undo(lines) == ()


def test_the_document_says_where_the_tags_are_from(folder: DocketFolder) -> None:
    close(review(cases(folder), True))
    path = folder.session(NEW, "R1")
    facts = session_facts(read_whole_session(path)[0], path, "0" * 64, anonymous=False)
    assert facts.taken_over is not None
    assert facts.taken_over.claim == OLD


@pytest.fixture
def seen_before(tmp_path: Path, keymap: Keymap) -> Place:
    made = place(tmp_path, [listed("C-1")], keymap)
    made.cases.seen_before["C-1"] = "C-9"
    return made


@pytest.mark.parametrize(("keys", "answer"), [(["enter"], True), (["down", "enter"], False)])
async def test_the_docket_asks_before_it_opens_the_bench(
    seen_before: Place, keys: list[str], answer: bool
) -> None:
    async with on_docket(seen_before) as docket:
        await docket.pilot.press("enter")
        await docket.until(lambda: "you have reviewed this footage already" in docket.text)
        await docket.pilot.press(*keys)
        await docket.until(lambda: isinstance(docket.app.screen, BenchScreen))
        assert seen_before.cases.answers == [None, answer]


async def test_escape_opens_nothing_and_the_claim_asks_again(seen_before: Place) -> None:
    async with on_docket(seen_before) as docket:
        for _ in range(2):
            await docket.pilot.press("enter")
            await docket.until(lambda: "you have reviewed this footage" in docket.text)
            await docket.pilot.press("escape")
            await docket.until(lambda: "you have reviewed this footage" not in docket.text)
        assert seen_before.cases.answers == [None, None]
