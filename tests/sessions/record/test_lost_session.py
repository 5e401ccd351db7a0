"""A session whose file is removed, replaced or changed while it is open."""

import os
import shutil
from collections.abc import Callable
from pathlib import Path

import pytest

from sessions.errors import SessionError, SessionLost
from sessions.record.entries import Note
from sessions.record.journal import Journal
from sessions.record.recording import read_session
from tests.sessions.samples import WHEN, header, spot

HEADER = header("3-3-3", frames=100)


def note(text: str) -> Note:
    return Note(text=text, at=spot(3))


@pytest.fixture
def path(tmp_path: Path) -> Path:
    folder = tmp_path / "reviews"
    folder.mkdir()
    return folder / "session.jsonl"


def replaced(path: Path) -> None:
    copy = path.with_name("restored")
    copy.write_bytes(path.read_bytes())
    copy.replace(path)


def cut_short(path: Path) -> None:
    os.truncate(path, path.stat().st_size - 10)


def written_over(path: Path) -> None:
    """By bytes of the same length, as a program does that restores a file in place."""
    with path.open("r+b") as file:
        file.seek(-20, os.SEEK_END)
        file.write(b"0123456789")


def added_to(path: Path) -> None:
    with path.open("ab") as file:
        file.write(b"{}\n")


def emptied(path: Path) -> None:
    os.truncate(path, 0)


LOSSES: dict[str, tuple[Callable[[Path], object], str]] = {
    "removed": (Path.unlink, "was removed"),
    "renamed": (lambda path: path.rename(path.with_name("moved")), "was removed"),
    "replaced": (replaced, "was replaced by another file"),
    "cut short": (cut_short, "was cut short"),
    "emptied": (emptied, "was cut short"),
    "written over": (written_over, "was changed by another program"),
    "added to": (added_to, "was added to by another program"),
    "folder removed": (lambda path: shutil.rmtree(path.parent), "was removed"),
    "folder renamed": (lambda path: path.parent.rename(path.parent.with_name("x")), "was removed"),
}


@pytest.mark.parametrize("loss", LOSSES)
def test_an_entry_is_refused_in_a_sentence_and_all_before_it_can_be_saved_elsewhere(
    path: Path, tmp_path: Path, loss: str
) -> None:
    lose, what = LOSSES[loss]
    with Journal.create(path, HEADER, lambda: WHEN) as journal:
        journal.append_all([])
        journal.append(note("one"))
        journal.append(note("two"))
        acknowledged = path.read_bytes()
        lose(path)
        left = path.read_bytes() if path.exists() else None
        for _ in range(2):
            with pytest.raises(SessionLost) as refused:
                journal.append(note("refused"))
        assert str(refused.value) == (
            f"The entry was not saved: the session file {path} {what} while it was open. All "
            "entries before it are kept in memory: save the review elsewhere."
        )
        assert (path.read_bytes() if path.exists() else None) == left
        other = tmp_path / "saved.jsonl"
        journal.save_elsewhere(other)
        assert other.read_bytes() == acknowledged
        assert journal.path == other
        journal.append(note("three"))
        with pytest.raises(SessionError, match="is open elsewhere"):
            Journal.reopen(other)
    said = [e.entry.text for e in read_session(other).lines if isinstance(e.entry, Note)]
    assert said == ["one", "two", "three"]
    assert (path.read_bytes() if path.exists() else None) == left


def test_a_session_that_comes_back_to_its_name_goes_on(path: Path) -> None:
    with Journal.create(path, HEADER, lambda: WHEN) as journal:
        journal.append(note("one"))
        path.rename(path.with_name("moved"))
        with pytest.raises(SessionLost):
            journal.append(note("refused"))
        path.with_name("moved").rename(path)
        journal.append(note("two"))
    said = [e.entry.text for e in read_session(path).lines if isinstance(e.entry, Note)]
    assert said == ["one", "two"]


def test_a_file_that_was_only_touched_or_has_a_second_name_is_still_the_session(
    path: Path,
) -> None:
    with Journal.create(path, HEADER, lambda: WHEN) as journal:
        journal.append(note("one"))
        os.utime(path, ns=(1, 1))
        journal.append(note("two"))
        os.link(path, path.with_name("second"))
        journal.append(note("three"))
    assert len(read_session(path).lines) == 3


def test_a_name_that_is_taken_is_not_saved_over(path: Path, tmp_path: Path) -> None:
    taken = tmp_path / "taken"
    taken.write_text("a remark")
    with Journal.create(path, HEADER) as journal:
        journal.append(note("one"))
        path.unlink()
        with pytest.raises(SessionError, match="exists already"):
            journal.save_elsewhere(taken)
        assert taken.read_text() == "a remark"
        journal.save_elsewhere(path)
    assert len(read_session(path).lines) == 1


@pytest.mark.parametrize("cut", [False, True])
def test_a_session_that_is_lost_while_a_deed_is_written_keeps_none_of_it(
    path: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, cut: bool
) -> None:
    moved = path.with_name("moved")
    write = os.write

    def moving(handle: int, data: bytes) -> int:
        written = write(handle, data)
        if path.exists():
            path.rename(moved)
            if cut:
                os.truncate(moved, 10)
        return written

    with Journal.create(path, HEADER, lambda: WHEN) as journal:
        before = path.read_bytes()
        monkeypatch.setattr(os, "write", moving)
        with pytest.raises(SessionLost, match="was removed"):
            journal.append(note("refused"))
        monkeypatch.undo()
        assert moved.read_bytes() == (before[:10] if cut else before)
        journal.save_elsewhere(tmp_path / "saved.jsonl")
    assert not read_session(tmp_path / "saved.jsonl").lines


def test_a_session_whose_folder_cannot_be_searched_any_more_is_lost(
    path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    with Journal.create(path, HEADER, lambda: WHEN) as journal:
        stat = os.stat

        def refused(name: Path, **options: object) -> os.stat_result:
            if name == path:
                raise PermissionError(13, "Permission denied")
            return stat(name)

        monkeypatch.setattr(os, "stat", refused)
        with pytest.raises(SessionLost, match=r"became unreachable \(Permission denied\)"):
            journal.append(note("refused"))


def test_a_session_that_the_disk_cannot_mend_is_not_opened(
    path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    Journal.create(path, HEADER, lambda: WHEN).close()
    with path.open("ab") as file:
        file.write(b"{torn")

    def refuse(handle: int, length: int) -> None:
        raise OSError(5, "Input/output error")

    monkeypatch.setattr(os, "ftruncate", refuse)
    with pytest.raises(SessionError, match=r"cannot be written \(Input/output error\)"):
        Journal.reopen(path)
