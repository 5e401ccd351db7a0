"""Many sessions judged by several processes."""

import os
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from pathlib import Path

import pytest

from sessions.docket import index
from sessions.docket.docket import DocketFolder, SessionJudge
from sessions.docket.index import judge_all
from sessions.docket.review_summary import ReviewSummary
from tests.sessions.docket.docket_samples import claim, new_docket, standing_review

NAMES = [f"{number}.one.session.jsonl" for number in range(12)]


@dataclass(frozen=True)
class Telling:
    """Says which process judged, and ends any other than the first before it judges ``fatal``."""

    first: int
    fatal: str = ""

    def __call__(self, name: str) -> ReviewSummary:
        if name == self.fatal and os.getpid() != self.first:
            os._exit(1)
        return ReviewSummary(claim=name, reviewer=str(os.getpid()))


@pytest.fixture
def sharing(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(index, "MANY", len(NAMES))
    monkeypatch.setattr(index, "SHARE", 5)


@pytest.mark.usefixtures("sharing")
def test_many_sessions_are_judged_by_other_processes() -> None:
    found = list(judge_all(NAMES, Telling(os.getpid()), 2))
    assert sorted(name for name, _ in found) == sorted(NAMES)
    assert all(review.claim == name for name, review in found)
    assert str(os.getpid()) not in {review.reviewer for _, review in found}


@pytest.mark.usefixtures("sharing")
def test_few_sessions_are_judged_here() -> None:
    found = list(judge_all(NAMES[:-1], Telling(os.getpid()), 2))
    assert {review.reviewer for _, review in found} == {str(os.getpid())}


@pytest.mark.usefixtures("sharing")
def test_others_judge_session_files_as_this_process_does(tmp_path: Path) -> None:
    folder: DocketFolder = new_docket(tmp_path / "docket", [claim("C-1")])
    names = [standing_review(folder, "C-1", f"R{n}").name for n in range(len(NAMES))]
    (folder.sessions / names[3]).write_bytes(b"damaged")
    judge = SessionJudge(folder.sessions)
    assert dict(judge_all(names, judge, 2)) == {name: judge(name) for name in names}


@pytest.mark.usefixtures("sharing")
def test_what_a_process_that_was_ended_leaves_is_judged_here() -> None:
    found = list(judge_all(NAMES, Telling(os.getpid(), NAMES[7]), 2))
    assert sorted(name for name, _ in found) == sorted(NAMES)
    assert dict(found)[NAMES[7]].reviewer == str(os.getpid())


@pytest.mark.usefixtures("sharing")
@pytest.mark.parametrize("error", [OSError("no more processes"), ValueError("fds_to_keep")])
def test_where_no_process_can_be_begun_all_is_judged_here(
    error: Exception, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuse(*_: object) -> None:
        raise error

    monkeypatch.setattr(ProcessPoolExecutor, "submit", refuse)
    found = list(judge_all(NAMES, Telling(os.getpid()), 2))
    assert {review.reviewer for _, review in found} == {str(os.getpid())}
    assert [name for name, _ in found] == NAMES


@pytest.mark.usefixtures("sharing")
def test_judging_can_be_given_up() -> None:
    judged = judge_all(NAMES, Telling(os.getpid()), 2)
    next(judged)
    judged.close()
    assert list(judged) == []


def test_a_share_is_judged_name_by_name() -> None:
    judged = index._judge_share(NAMES[:2], Telling(os.getpid()))
    assert [(name, review.claim) for name, review in judged] == [(n, n) for n in NAMES[:2]]


def test_where_the_system_does_not_say_which_cores_may_be_used_all_are(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.delattr(os, "sched_getaffinity", raising=False)
    monkeypatch.setattr(os, "cpu_count", lambda: 7)
    assert index._cores() == 7
    monkeypatch.setattr(os, "cpu_count", lambda: None)
    assert index._cores() == 1


def test_a_system_that_refuses_what_other_processes_need_is_borne(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    asked = []

    def refuse() -> None:
        asked.append(True)
        raise OSError("no more processes")

    monkeypatch.setattr("multiprocessing.resource_tracker.ensure_running", refuse)
    index.prepare()
    assert asked
