"""The docket folder, and the docket as it stands on the disk."""

import os
from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sessions.docket.claim_state import State
from sessions.docket.claims import ClaimsError, write_claims
from sessions.docket.docket import Docket, DocketError, DocketFolder, session_codes
from sessions.record.entries import Note
from sessions.record.journal import Journal
from tests.sessions.docket.docket_samples import (
    LISTED,
    session_header,
    standing_review,
    states,
)
from tests.sessions.samples import spot


def test_everything_has_its_place(folder: DocketFolder) -> None:
    path = folder.path
    assert folder.claims_file == path / "claims.csv"
    assert folder.rulings == path / "rulings"
    assert folder.footage(LISTED) == path / "footage/a.mp4"
    assert folder.session("C-1", "one") == path / "sessions/C-1.one.session.jsonl"
    settling = folder.session("C-1", "one", settling=True)
    assert settling == path / "sessions/C-1.one.settling.session.jsonl"


def test_codes_that_would_break_a_file_name_are_encoded(folder: DocketFolder) -> None:
    # RFC 3986, 2.1: each byte of the UTF-8 text as a percent sign and two hexadecimal digits
    name = folder.session("../a.b~c", "é").name
    assert name == "%2E%2E%2Fa%2Eb%7Ec.%C3%A9.session.jsonl"
    assert session_codes(name) == ("../a.b~c", "é")


@given(st.text(min_size=1, max_size=12), st.text(min_size=1, max_size=12), st.booleans())
def test_a_session_file_name_tells_claim_and_reviewer(
    claim_id: str, reviewer: str, settling: bool
) -> None:
    folder = DocketFolder(Path("docket"))
    try:
        path = folder.session(claim_id, reviewer, settling)
    except DocketError:
        return
    assert path.parent == folder.sessions
    assert len(path.name) <= 255
    assert session_codes(path.name) == (claim_id, reviewer)


@pytest.mark.parametrize(
    ("claim_id", "reviewer"), [("C-1", ""), ("é" * 20, "one"), ("C-1", "\udcff")]
)
def test_a_code_that_cannot_name_a_file_is_refused(
    folder: DocketFolder, claim_id: str, reviewer: str
) -> None:
    with pytest.raises(DocketError, match="cannot name a session file"):
        folder.session(claim_id, reviewer)


@pytest.mark.parametrize(
    "name", ["notes.txt", "C-1.session.jsonl", "a.b.c.session.jsonl", ".b.session.jsonl"]
)
def test_other_files_are_no_sessions(name: str) -> None:
    assert session_codes(name) is None


def test_states_are_derived_from_the_session_files(
    folder: DocketFolder, opened: Callable[[], Docket]
) -> None:
    assert states(opened()) == {"C-2": State.UNTOUCHED, "C-1": State.UNTOUCHED}
    standing_review(folder, "C-1", "one")
    assert states(opened())["C-1"] is State.AWAITING
    standing_review(folder, "C-1", "two")
    assert states(opened())["C-1"] is State.STANDS


def test_a_docket_without_sessions_is_untouched(tmp_path: Path) -> None:
    write_claims(tmp_path / "claims.csv", [LISTED])
    docket = Docket(tmp_path, tmp_path / "index")
    assert docket.refresh()
    assert states(docket) == {"C-1": State.UNTOUCHED}


def test_an_open_docket_follows_what_others_do(
    folder: DocketFolder, opened: Callable[[], Docket]
) -> None:
    docket = opened()
    assert not docket.refresh()
    path = folder.session("C-1", "one")
    with Journal.create(path, session_header("C-1", "one")) as journal:
        assert docket.refresh()
        assert states(docket)["C-1"] is State.OPEN
        assert not docket.refresh()
        journal.append(Note(text="a remark", at=spot(0)))
        assert docket.refresh()
    path.unlink()
    assert docket.refresh()
    assert states(docket)["C-1"] is State.UNTOUCHED
    write_claims(folder.claims_file, [LISTED])
    assert docket.refresh()
    assert list(states(docket)) == ["C-1"]


def unread(docket: Docket) -> list[str]:
    return [p.state.claim.claim for p in docket.placed if not p.state.is_read]


def test_a_docket_can_be_shown_before_its_sessions_are_judged(
    folder: DocketFolder, tmp_path: Path
) -> None:
    standing_review(folder, "C-1", "one")
    docket = Docket(folder.path, tmp_path / "index")
    assert docket.survey()
    assert states(docket) == {"C-2": State.UNTOUCHED, "C-1": State.UNTOUCHED}
    assert (unread(docket), docket.due) == (["C-1"], 1)
    assert docket.refresh()
    assert states(docket)["C-1"] is State.AWAITING
    assert (unread(docket), docket.due) == ([], 0)
    docket.save()
    again = Docket(folder.path, tmp_path / "index")
    assert again.survey()
    assert states(again)["C-1"] is State.AWAITING
    assert (unread(again), again.due) == ([], 0)


def test_claims_follow_while_many_sessions_are_judged(
    folder: DocketFolder, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("sessions.docket.docket.FIRST_PAUSE", 0.0)
    for claim_id in ("C-1", "C-2"):
        standing_review(folder, claim_id, "one")
    docket = Docket(folder.path, tmp_path / "index")
    left: list[int] = []
    docket.refresh(lambda done, total: left.append(len(unread(docket))))
    assert left == [1, 0]


def test_sessions_of_unlisted_claims_are_kept_apart(
    folder: DocketFolder, opened: Callable[[], Docket]
) -> None:
    standing_review(folder, "C-9", "one")
    docket = opened()
    assert [(r.claim, r.reviewer) for r in docket.strays] == [("C-9", "one")]


def test_a_docket_without_a_claims_file_says_so(tmp_path: Path) -> None:
    with pytest.raises(ClaimsError, match=r"claims\.csv cannot be read"):
        Docket(tmp_path, tmp_path / "index").refresh()


@pytest.mark.parametrize("name", ["docket", os.fsdecode(b"docket-\xff")])
def test_a_docket_that_is_a_link_without_an_end_says_so(tmp_path: Path, name: str) -> None:
    (tmp_path / name).symlink_to(name)
    with pytest.raises(ClaimsError, match=r"cannot be read \(Too many levels of symbolic links\)"):
        Docket(tmp_path / name, tmp_path / "index").refresh()


def test_a_place_that_cannot_hold_sessions_is_named(tmp_path: Path) -> None:
    write_claims(tmp_path / "claims.csv", [LISTED])
    (tmp_path / "sessions").write_text("a file")
    with pytest.raises(DocketError, match=r"cannot be listed \(Not a directory\)"):
        Docket(tmp_path, tmp_path / "index").refresh()


def test_a_damaged_session_says_so_and_does_not_count(
    folder: DocketFolder, opened: Callable[[], Docket]
) -> None:
    path = standing_review(folder, "C-1", "one")
    path.write_bytes(path.read_bytes().replace(b"start", b"stars", 1))
    docket = opened()
    assert states(docket)["C-1"] is State.OPEN
    (problem,) = docket.placed[1].state.problems
    assert problem.startswith("the session by one cannot be used: The session file ")
    assert "is damaged at line" in problem


def test_only_regular_files_are_read(folder: DocketFolder, opened: Callable[[], Docket]) -> None:
    os.mkfifo(folder.session("C-1", "one"))
    folder.session("C-1", "two").mkdir()
    folder.session("C-1", "three").symlink_to("gone")
    assert states(opened())["C-1"] is State.UNTOUCHED


def test_a_session_that_cannot_be_looked_at_is_named_and_stops_no_other(
    folder: DocketFolder, opened: Callable[[], Docket]
) -> None:
    endless = folder.session("C-1", "one")
    endless.symlink_to(endless.name)
    standing_review(folder, "C-1", "two")
    docket = opened()
    assert states(docket)["C-1"] is State.AWAITING
    (problem,) = docket.placed[1].state.problems
    assert problem == "the session by one cannot be read (Too many levels of symbolic links)"


def test_a_link_may_lead_out_of_the_docket_only_where_its_settings_say_so(tmp_path: Path) -> None:
    folder = DocketFolder(tmp_path / "season")
    elsewhere = tmp_path / "elsewhere"
    (folder.path / "footage").mkdir(parents=True)
    elsewhere.mkdir()
    (elsewhere / "a.mp4").touch()
    (folder.path / "footage" / "own.mp4").touch()
    (folder.path / "footage" / "a.mp4").symlink_to(elsewhere / "a.mp4")
    (folder.path / "footage" / "within.mp4").symlink_to("own.mp4")
    for name in ("footage/own.mp4", "footage/within.mp4", "footage/none.mp4"):
        assert folder.inside(name) == folder.path / name
    with pytest.raises(DocketError, match=r"leads out of the docket, to .*elsewhere/a\.mp4"):
        folder.inside("footage/a.mp4")
    folder.settings_file.write_text(f'folders = ["{elsewhere}"]\n')
    assert folder.inside("footage/a.mp4") == folder.path / "footage/a.mp4"
