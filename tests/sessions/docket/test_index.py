"""The derived index of a docket."""

import os
from collections.abc import Callable
from pathlib import Path

import pytest

from sessions.docket import index as docket_index
from sessions.docket.claim_state import State
from sessions.docket.docket import Docket, DocketFolder
from sessions.docket.index import WORTH_SAVING, DocketIndex
from sessions.docket.review_summary import ReviewSummary
from sessions.ruling.ruling import Standing
from tests.sessions.docket.docket_samples import (
    standing_review,
    states,
)


def index_file(tmp_path: Path) -> Path:
    (file,) = (tmp_path / "index").iterdir()
    return file


class Counting:
    """Judges by name, and counts what it judged."""

    def __init__(self) -> None:
        self.judged: list[str] = []

    def __call__(self, name: str) -> ReviewSummary:
        self.judged.append(name)
        return ReviewSummary(claim="C-1", reviewer=name, unread=name == "unread")


def test_only_changed_sessions_are_judged_again(tmp_path: Path) -> None:
    file, judge = tmp_path / "index" / "docket.json", Counting()
    stamps = {"a": (1, 1), "b": (1, 1)}
    assert DocketIndex(file).refresh(stamps, judge)
    assert judge.judged == ["a", "b"]
    warm = DocketIndex(file)
    assert not warm.refresh(stamps, judge)
    assert warm.refresh({"a": (2, 1), "b": (1, 2)}, judge)
    assert warm.refresh({"b": (1, 2)}, judge)
    assert judge.judged == ["a", "b", "a", "b"]
    assert [r.reviewer for r in warm.reviews()] == ["b"]


def test_a_file_that_could_not_be_read_is_tried_again(tmp_path: Path) -> None:
    index, judge = DocketIndex(tmp_path / "docket.json"), Counting()
    assert index.refresh({"unread": (1, 1)}, judge)
    assert not index.refresh({"unread": (1, 1)}, judge)
    assert judge.judged == ["unread", "unread"]


def test_the_number_of_sessions_judged_is_told(tmp_path: Path) -> None:
    told: list[tuple[int, int]] = []
    stamps = {"a": (1, 1), "b": (1, 1)}
    index = DocketIndex(tmp_path / "docket.json")
    index.refresh(stamps, Counting(), lambda done, of: told.append((done, of)))
    assert told == [(1, 2), (2, 2)]


def test_what_was_judged_before_an_interruption_is_kept(tmp_path: Path) -> None:
    file, judge = tmp_path / "docket.json", Counting()

    def interrupt(done: int, of: int) -> None:
        raise KeyboardInterrupt

    stamps = {"a": (1, 1), "b": (1, 1)}
    with pytest.raises(KeyboardInterrupt):
        DocketIndex(file).refresh(stamps, judge, interrupt)
    assert DocketIndex(file).refresh(stamps, judge)
    assert judge.judged == ["a", "b"]


def test_what_was_known_of_a_changed_session_is_kept_until_it_is_judged_again(
    tmp_path: Path,
) -> None:
    index = DocketIndex(tmp_path / "docket.json")
    index.refresh({"a": (1, 1), "gone": (1, 1)}, Counting())
    assert index.survey({"a": (2, 2), "new": (1, 1)})
    assert (index.due, list(index.unread)) == (["a", "new"], ["new"])
    assert [r.reviewer for r in index.reviews()] == ["a"]
    assert index.judge(Counting())
    assert (index.due, list(index.unread)) == ([], [])
    assert not index.survey({"a": (2, 2), "new": (1, 1)})


def test_a_few_changes_among_many_are_kept_when_the_docket_is_left(tmp_path: Path) -> None:
    file, judge = tmp_path / "docket.json", Counting()
    stamps = {str(number): (1, 1) for number in range(2 * WORTH_SAVING)}
    index = DocketIndex(file)
    index.refresh(stamps, judge)
    before = file.read_bytes()
    assert index.refresh(stamps | {"7": (2, 2)}, judge)
    assert file.read_bytes() == before
    index.save()
    assert file.read_bytes() != before
    judge.judged.clear()
    DocketIndex(file).refresh(stamps | {"7": (2, 2)}, judge)
    assert judge.judged == []


@pytest.mark.parametrize("damage", [b"", b"{}", b"\xff", b'{"made_by": "x", "sessions": {"a": 1}}'])
def test_a_damaged_index_is_ignored(
    folder: DocketFolder, opened: Callable[[], Docket], tmp_path: Path, damage: bytes
) -> None:
    standing_review(folder, "C-1", "one")
    opened()
    index_file(tmp_path).write_bytes(damage)
    assert states(opened())["C-1"] is State.AWAITING
    assert index_file(tmp_path).read_bytes() != damage


def test_a_word_changed_in_the_index_changes_no_standing(
    folder: DocketFolder, opened: Callable[[], Docket], tmp_path: Path
) -> None:
    standing_review(folder, "C-1", "one")
    opened()
    kept = index_file(tmp_path).read_bytes()
    forged = kept.replace(b'"standing":"stands"', b'"standing":"scratch"')
    assert forged != kept
    index_file(tmp_path).write_bytes(forged)
    placed = opened().find("C-1")
    assert placed is not None
    assert placed.state.reviews[0].runs[0].standing is Standing.STANDS
    assert index_file(tmp_path).read_bytes() == kept


def test_a_session_put_in_another_s_place_is_judged_though_size_and_time_are_the_same(
    folder: DocketFolder, opened: Callable[[], Docket], tmp_path: Path
) -> None:
    standing_review(folder, "C-1", "one")
    (session,) = folder.sessions.iterdir()
    before = session.stat()
    opened()
    forged = session.read_bytes().replace(b"4.004", b"4.005")
    session.write_bytes(forged)
    os.utime(session, ns=(before.st_atime_ns, before.st_mtime_ns))
    assert session.stat().st_mtime_ns == before.st_mtime_ns
    placed = opened().find("C-1")
    assert placed is not None
    assert "cannot be used" in placed.state.problems[0]


def test_an_index_by_other_rules_is_ignored(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    file, judge, stamps = tmp_path / "docket.json", Counting(), {"a": (1, 1)}
    DocketIndex(file).refresh(stamps, judge)
    monkeypatch.setattr(docket_index, "rules_fingerprint", lambda: "other rules")
    DocketIndex(file).refresh(stamps, judge)
    assert judge.judged == ["a", "a"]


def test_a_docket_opens_though_no_index_can_be_kept(folder: DocketFolder, tmp_path: Path) -> None:
    standing_review(folder, "C-1", "one")
    (tmp_path / "index").write_text("a file where the folder should be")
    docket = Docket(folder.path, tmp_path / "index")
    assert docket.refresh()
    assert states(docket)["C-1"] is State.AWAITING


def test_what_the_index_keeps_comes_back_whole(
    folder: DocketFolder, opened: Callable[[], Docket]
) -> None:
    standing_review(folder, "C-1", "one")
    assert opened().placed == opened().placed
