"""``framecall settle``: what it refuses, and the whole way in a terminal that is there."""

import errno
import os
from pathlib import Path

import pytest

from sessions.errors import SessionError
from sessions.record.entries import Look, Note, Settling, Spot
from sessions.record.journal import Journal
from sessions.record.recording import read_session
from tests.tui.cli.conftest import Call
from tests.tui.settling.settlers import (
    CLAIM,
    docket_of,
    one_fault,
    read,
    right_entries,
    seen_otherwise,
    settler,
    write,
)
from tui.cli.settle import SettleOrder, case_of, settle
from tui.settling.case import Case, open_journal, set_aside


def test_a_folder_without_claims_is_refused(framecall: Call, tmp_path: Path) -> None:
    said = framecall("settle", tmp_path / "nowhere", CLAIM).sentence()
    assert "claims.csv cannot be read" in said


def test_a_claim_that_is_not_listed_is_refused(framecall: Call, tmp_path: Path) -> None:
    folder = docket_of(tmp_path, right_entries(), one_fault())
    said = framecall("settle", folder.path, "C\u202e9").sentence()
    assert said.startswith('There is no claim "C<U+202E>9" in ')


def test_a_claim_with_one_finished_review_is_refused(framecall: Call, tmp_path: Path) -> None:
    folder = docket_of(tmp_path, right_entries())
    write(folder, "R2", one_fault(), finished=False)
    said = framecall("settle", folder.path, CLAIM).sentence()
    assert said == (
        "Claim C-1 has 1 of 2 finished reviews (R2 is not finished); settle it once they are all "
        "finished."
    )


def test_a_review_that_leaves_the_claimed_run_open_is_refused(
    framecall: Call, tmp_path: Path
) -> None:
    open_run = seen_otherwise("start.grip", lambda _: None)
    folder = docket_of(tmp_path, right_entries(), open_run)
    assert "(R2 left runs open)" in framecall("settle", folder.path, CLAIM).sentence()


def test_whoever_has_an_unfinished_review_sees_nothing_of_the_others(
    framecall: Call, tmp_path: Path
) -> None:
    folder = docket_of(tmp_path, right_entries(), one_fault())
    write(folder, "R3", one_fault()[:4], finished=False)
    said = framecall("settle", folder.path, CLAIM, "--reviewer", "R3").sentence()
    assert said == (
        "The review of claim C-1 by R3 is not finished; finish it before you see what others found."
    )
    assert "needs a terminal" in framecall("settle", folder.path, CLAIM).sentence()


def test_reviews_that_do_not_differ_are_refused(framecall: Call, tmp_path: Path) -> None:
    folder = docket_of(tmp_path, right_entries(), right_entries())
    said = framecall("settle", folder.path, CLAIM).sentence()
    assert said == (
        "The reviews of claim C-1 by R1 and R2 do not differ; there is nothing to settle."
    )
    assert not folder.session(CLAIM, "R1", settling=True).exists()


def test_brackets_that_differ_alone_are_nothing_to_settle(framecall: Call, tmp_path: Path) -> None:
    def later(look: Look) -> Look:
        by = Spot(frame=look.by.frame + 1, pts=look.by.pts + 1)
        return look.model_copy(update={"by": by})

    folder = docket_of(tmp_path, right_entries(), seen_otherwise("f1.s1.let-go", later))
    assert "nothing to settle" in framecall("settle", folder.path, CLAIM).sentence()


def test_without_a_terminal_it_is_refused_and_nothing_is_begun(
    framecall: Call, tmp_path: Path
) -> None:
    folder = docket_of(tmp_path, right_entries(), one_fault())
    assert "needs a terminal" in framecall("settle", folder.path, CLAIM).sentence()
    assert not folder.session(CLAIM, "R1", settling=True).exists()


def test_footage_that_is_missing_is_refused(
    framecall: Call, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("tui.cli.start.check_terminal", lambda: None)
    folder = docket_of(tmp_path, right_entries(), one_fault())
    assert "a.mp4" in framecall("settle", folder.path, CLAIM).sentence()


def test_other_footage_is_refused(
    framecall: Call, tmp_path: Path, clip: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("tui.cli.start.check_terminal", lambda: None)
    folder = docket_of(tmp_path, right_entries(), one_fault())
    (folder.path / "footage").mkdir()
    (folder.path / "footage" / "a.mp4").write_bytes(clip.read_bytes())
    said = framecall("settle", folder.path, CLAIM).sentence()
    assert "is not the one that was reviewed" in said


def test_a_review_changed_after_settling_began_is_refused(framecall: Call, tmp_path: Path) -> None:
    folder = docket_of(tmp_path, right_entries(), one_fault())
    settler(folder, "R1").close()
    with Journal.reopen(folder.session(CLAIM, "R2")) as journal:
        journal.append(Note(text="once more", at=Spot(frame=0, pts=0)))
    said = framecall("settle", folder.path, CLAIM).sentence()
    assert said == (
        "The review of claim C-1 by R2 was changed after settling began, so what was settled does "
        "not hold any more. To settle anew, add --anew; what was settled is kept."
    )


def test_a_review_finished_after_settling_began_is_refused(framecall: Call, tmp_path: Path) -> None:
    folder = docket_of(tmp_path, right_entries(), one_fault())
    settler(folder, "R1").close()
    write(folder, "R3", right_entries())
    said = framecall("settle", folder.path, CLAIM).sentence()
    assert "by R3 was changed after settling began" in said


def test_what_was_settled_of_a_changed_review_is_set_aside_and_kept(
    framecall: Call, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = docket_of(tmp_path, right_entries(), one_fault())
    settler(folder, "R1").close()
    path = folder.session(CLAIM, "R1", settling=True)
    before = path.read_bytes()
    with Journal.reopen(folder.session(CLAIM, "R2")) as journal:
        journal.append(Note(text="once more", at=Spot(frame=0, pts=0)))
    monkeypatch.setattr("tui.cli.start.check_terminal", lambda: None)
    monkeypatch.setattr("tui.cli.settle._show", begin_only)
    assert framecall("settle", folder.path, CLAIM, "--anew").code == 0
    assert path.with_name(f"{path.name}.aside-1").read_bytes() == before
    assert path.read_bytes() != before
    assert framecall("settle", folder.path, CLAIM, "--anew").code == 0
    assert not path.with_name(f"{path.name}.aside-2").exists()


def test_a_settling_that_cannot_be_set_aside_is_told(tmp_path: Path) -> None:
    folder = docket_of(tmp_path, right_entries(), one_fault())
    with pytest.raises(SessionError, match="cannot be set aside"):
        set_aside(folder.session(CLAIM, "R9", settling=True))


def begin_only(order: SettleOrder, case: Case, path: Path, reviewer: str) -> int:
    """In place of the screen: only the session is begun."""
    open_journal(path, case, reviewer).close()
    return 0


@pytest.fixture
def no_screen(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("tui.cli.start.check_terminal", lambda: None)
    monkeypatch.setattr("tui.cli.settle._show", begin_only)


@pytest.mark.usefixtures("no_screen")
def test_a_docket_that_is_read_only_is_refused(
    framecall: Call, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = docket_of(tmp_path, right_entries(), one_fault())
    opens = os.open

    def read_only(path: str | Path, flags: int, *mode: int) -> int:
        if str(path).endswith(".settling.session.jsonl"):
            raise OSError(errno.EROFS, "Read-only file system")
        return opens(path, flags, *mode)

    monkeypatch.setattr("os.open", read_only)
    said = framecall("settle", folder.path, CLAIM).sentence()
    assert "cannot be written (Read-only file system)" in said


@pytest.mark.usefixtures("no_screen")
def test_a_reviewers_code_that_is_too_long_is_refused(framecall: Call, tmp_path: Path) -> None:
    folder = docket_of(tmp_path, right_entries(), one_fault())
    said = framecall("settle", folder.path, CLAIM, "--reviewer", "R" * 90).sentence()
    assert said.startswith("The settling cannot be begun: ")


def test_reviews_of_other_footage_or_rules_are_refused(framecall: Call, tmp_path: Path) -> None:
    folder = docket_of(tmp_path, right_entries())
    path = write(folder, "R2", one_fault())
    head = read_session(path).header
    for change, words in (
        ({"footage": head.footage.model_copy(update={"sha256": "cd" * 32})}, "other footage"),
        ({"event": head.event.model_copy(update={"title": "Mine"})}, "an event defined otherwise"),
    ):
        lines = read_session(path).lines
        path.unlink()
        with Journal.create(path, head.model_copy(update=change)) as journal:
            for line in lines:
                journal.append(line.entry)
        assert (
            f"is of {words} than that by R1" in framecall("settle", folder.path, CLAIM).sentence()
        )


def test_a_review_that_changes_while_it_is_read_is_refused(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = docket_of(tmp_path, right_entries(), one_fault())
    docket = read(folder)
    with Journal.reopen(folder.session(CLAIM, "R2")) as journal:
        journal.append(Note(text="once more", at=Spot(frame=0, pts=0)))
    with pytest.raises(Exception, match="was changed just now; try once more"):
        case_of(docket, CLAIM)


def test_a_session_at_the_settlings_place_that_settles_nothing_is_gone_on_with(
    tmp_path: Path,
) -> None:
    """Torn before its first entry: the head alone is there."""
    folder = docket_of(tmp_path, right_entries(), one_fault())
    made = settler(folder, "R1")
    made.close()
    made.path.write_bytes(made.path.read_bytes().partition(b"\n")[0] + b"\n")
    with pytest.raises(Exception, match="needs a terminal"):
        settle(SettleOrder(folder.path, CLAIM, "R1"))
    again = settler(folder, "R1")
    assert any(isinstance(line.entry, Settling) for line in again.settlement.review.lines)
    again.close()


def test_what_is_said_at_the_end_tells_what_is_left(tmp_path: Path) -> None:
    made = settler(docket_of(tmp_path, right_entries(), one_fault()))
    assert made.settlement.ending == "1 of 1 difference is left to settle."
    made.settlement.take(0, "seen")
    assert made.settlement.ending == made.settlement.review.ruling.summary
    made.close()
