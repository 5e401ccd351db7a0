"""Files that appear together or not at all."""

import errno
import os
from pathlib import Path
from typing import Any

import pytest

from sessions.errors import DocumentError
from tui.documents.issued_files import write_set

FILES = {"a.html": b"page", "a.txt": b"text", "a.json": b"{}"}


def test_all_files_are_there_and_read_only(tmp_path: Path) -> None:
    paths = write_set(tmp_path / "new", FILES, replace=False)
    assert {path.name: path.read_bytes() for path in paths} == FILES
    assert sorted(os.listdir(tmp_path / "new")) == sorted(FILES)
    assert {path.stat().st_mode & 0o777 for path in paths} == {0o444}


def test_an_issued_name_is_never_taken_again(tmp_path: Path) -> None:
    write_set(tmp_path, FILES, replace=False)
    with pytest.raises(DocumentError, match="was issued in the meantime"):
        write_set(tmp_path, dict.fromkeys(FILES, b"other"), replace=False)
    assert {name: (tmp_path / name).read_bytes() for name in FILES} == FILES
    assert sorted(os.listdir(tmp_path)) == sorted(FILES)


def test_a_draft_takes_the_place_of_the_one_before(tmp_path: Path) -> None:
    write_set(tmp_path, FILES, replace=True)
    write_set(tmp_path, dict.fromkeys(FILES, b"other"), replace=True)
    assert {(tmp_path / name).read_bytes() for name in FILES} == {b"other"}


def test_a_full_disk_leaves_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def full(handle: int) -> None:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(DocumentError, match="No space left on device"):
        write_set(tmp_path, FILES, replace=False)
    assert os.listdir(tmp_path) == []


def test_a_failure_at_the_last_file_leaves_no_reserved_name(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    move = os.replace

    def failing(source: Any, target: Any) -> None:
        if Path(target).suffix == ".json":
            raise OSError(errno.EIO, os.strerror(errno.EIO))
        move(source, target)

    monkeypatch.setattr(os, "replace", failing)
    with pytest.raises(DocumentError, match="Input/output error"):
        write_set(tmp_path, FILES, replace=False)
    assert os.listdir(tmp_path) == []


def test_a_folder_that_is_a_file_is_named(tmp_path: Path) -> None:
    (tmp_path / "file").write_bytes(b"")
    with pytest.raises(DocumentError, match=r"File exists.*--out"):
        write_set(tmp_path / "file", FILES, replace=True)
