"""The invented docket: every state of a claim, from footage that is drawn once."""

import hashlib
import re
import shutil
from datetime import UTC, datetime
from pathlib import Path

import pytest

from sessions.docket.claim_state import State
from sessions.docket.claims import ListedClaim
from sessions.docket.docket import Docket, DocketFolder
from sessions.docket.work_order import Placed, next_claim
from sessions.record.entries import Finished
from sessions.record.header import Header
from sessions.record.recording import read_session
from tui.cli import demo
from tui.demo.build import DemoError
from tui.demo.docket import PlannedClaim, build_docket, plan
from tui.demo.layout import LEAGUE
from tui.documents.league import load_league
from tui.footage.footage import Footage

STATES = {
    "C-01": State.STANDS,
    "C-03": State.SCRATCH,
    "C-05": State.DIFFERING,
    "C-06": State.AWAITING,
    "C-09": State.NO_ATTEMPT,
    "C-10": State.AWAITING,
    "C-11": State.OPEN,
    "C-14": State.IN_DOUBT,
}
"""Claims that somebody has looked at; the others are untouched."""


@pytest.fixture(scope="module")
def placed(demo_docket: Path, tmp_path_factory: pytest.TempPathFactory) -> dict[str, Placed]:
    docket = Docket(demo_docket, tmp_path_factory.mktemp("index"))
    docket.refresh()
    return {one.state.claim.claim: one for one in docket.placed}


def test_there_are_claims_in_all_events_and_in_every_state(placed: dict[str, Placed]) -> None:
    assert len(placed) >= 12
    assert {one.state.claim.event for one in placed.values()} == {"3-3-3", "3-6-3", "cycle"}
    states = {claim: one.state.state for claim, one in placed.items()}
    assert states == dict.fromkeys(placed, State.UNTOUCHED) | STATES
    assert not any(one.state.problems for one in placed.values())


def test_a_claim_whose_run_another_has_ruled_is_ruled_by_that_one(
    placed: dict[str, Placed],
) -> None:
    assert placed["C-02"].set_aside == "is ruled by claim C-01, run 2 (stands)"
    assert placed["C-04"].set_aside == "is ruled by claim C-03, run 2 (stands)"


def test_both_reviewers_have_something_to_look_at(placed: dict[str, Placed]) -> None:
    for reviewer, mine in (("R1", "C-06"), ("R2", "C-10")):
        assert next_claim(placed.values(), reviewer) is not None
        assert placed[mine].is_due(reviewer)


def test_tapes_and_sessions_tell_nothing_of_what_is_on_them(demo_docket: Path) -> None:
    told = " ".join(path.name for path in demo_docket.rglob("*"))
    assert not any(clip in told for clip in plan().tapes.values())
    for session in (demo_docket / "sessions").iterdir():
        header = read_session(session).header
        assert header.claim.competitor is None
        assert header.claim.time is None
        assert re.fullmatch(r"tape-\d\.mp4", header.footage.name)


def test_every_finished_review_was_blind_and_watched_at_full_speed(demo_docket: Path) -> None:
    for session in (demo_docket / "sessions").iterdir():
        entries = [line.entry for line in read_session(session).lines]
        finished = [entry for entry in entries if isinstance(entry, Finished)]
        assert finished in ([], [Finished(blind=True)])
        assert bool(finished) == any(entry.kind == "played" for entry in entries)


def digest(folder: Path) -> dict[str, str]:
    return {
        str(path.relative_to(folder)): hashlib.sha256(path.read_bytes()).hexdigest()
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    }


def header_of(footage: Footage, claim: ListedClaim, reviewer: str) -> Header:
    return demo._header(footage, claim, reviewer)


def test_built_twice_it_is_the_same_and_built_again_it_is_left_alone(
    demo_docket: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("tui.demo.docket.build", lambda *_, **__: [])
    clips = tmp_path / "clips"
    clips.mkdir()
    cache = demo_docket.parent / "cache" / "demo"
    for name in plan().tapes.values():
        for path in cache.glob(f"{name}.*"):
            shutil.copy(path, clips)
    again = tmp_path / "again"
    build_docket(again, clips, header_of)
    assert digest(again) == digest(demo_docket)
    (again / "sessions" / "C-01.R1.session.jsonl").unlink()
    build_docket(again, clips, header_of)
    assert not (again / "sessions" / "C-01.R1.session.jsonl").exists()
    assert not list(tmp_path.glob(".building-*"))


def test_a_folder_that_holds_something_else_is_refused(tmp_path: Path) -> None:
    (tmp_path / "mine.txt").write_text("mine")
    with pytest.raises(DemoError, match="holds something else"):
        build_docket(tmp_path, tmp_path, header_of)
    assert [path.name for path in tmp_path.iterdir()] == ["mine.txt"]
    with pytest.raises(DemoError, match="holds something else"):
        build_docket(tmp_path / "mine.txt", tmp_path, header_of)


def test_a_place_that_cannot_be_written_is_refused_in_one_sentence(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("tui.demo.docket.build", lambda *_, **__: [])
    with pytest.raises(DemoError, match="cannot be built in"):
        build_docket(tmp_path / "season", tmp_path / "no-clips", header_of)
    assert not (tmp_path / "season").exists()
    assert not DocketFolder(tmp_path / "season").claims_file.exists()


def test_a_planned_claim_has_one_time() -> None:
    with pytest.raises(ValueError, match="is of a run, or states a time"):
        PlannedClaim(claim="C", division="U", record="9.000", tape="tape-1")


def test_claims_and_documents_say_that_everything_is_invented(demo_docket: Path) -> None:
    claims = DocketFolder(demo_docket).claims_file.read_text("utf-8-sig").splitlines()
    assert claims[0].endswith(",note")
    assert all(line.endswith(",invented") for line in claims[1:])
    league = load_league(DocketFolder(demo_docket).league_file)
    assert league.name == f"{LEAGUE} (invented)"
    assert "invented" in league.appeal


def test_the_invented_reviews_were_written_on_a_day_that_has_passed(demo_docket: Path) -> None:
    for session in (demo_docket / "sessions").iterdir():
        assert read_session(session).header.made < datetime.now(UTC)
