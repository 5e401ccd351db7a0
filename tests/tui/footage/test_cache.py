"""The fingerprint is that of the whole file as it is now, computed once."""

import json
import os
from pathlib import Path

import pytest

from sessions.errors import FootageError
from tui.footage import cache as module
from tui.footage.cache import VARIABLE, cache_folder, fingerprint, sha256_of

# FIPS 180-2, appendix B.1: SHA-256 of "abc"
ABC = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"


@pytest.fixture
def abc(tmp_path: Path) -> Path:
    path = tmp_path / "abc"
    path.write_bytes(b"abc")
    return path


def test_the_fingerprint_is_sha_256(abc: Path) -> None:
    assert sha256_of(abc) == ABC


def test_progress_is_told_in_bytes_up_to_the_whole(tmp_path: Path) -> None:
    path = tmp_path / "large"
    path.write_bytes(bytes(3_000_000))
    told: list[tuple[str, int, int]] = []
    fingerprint(path, tmp_path / "cache", lambda *args: told.append(args))
    assert told[-1] == ("fingerprint", 3_000_000, 3_000_000)
    assert [done for _, done, _ in told] == sorted(done for _, done, _ in told)
    assert len(told) == 3


def test_an_unchanged_file_is_read_once(abc: Path, tmp_path: Path) -> None:
    told: list[object] = []
    for _ in range(2):
        assert fingerprint(abc, tmp_path / "cache", lambda *args: told.append(args)) == ABC
    assert len(told) == 1


def test_a_changed_file_is_read_again(abc: Path, tmp_path: Path) -> None:
    assert fingerprint(abc, tmp_path / "cache") == ABC
    abc.write_bytes(b"abd")
    os.utime(abc, ns=(1, 1))
    assert fingerprint(abc, tmp_path / "cache") == sha256_of(abc) != ABC


def test_a_file_that_changes_while_it_is_read_is_refused(
    abc: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def read_and_grow(path: Path, progress: object) -> str:
        path.write_bytes(b"abcd")
        return ABC

    monkeypatch.setattr(module, "sha256_of", read_and_grow)
    with pytest.raises(FootageError, match="changed while it was being read"):
        fingerprint(abc, tmp_path / "cache")


@pytest.mark.parametrize(
    "record",
    [
        b"",
        b"[]",
        b"\xff\xfe",
        b'{"version": 1}',
        b'{"version": 1, "sha256": "short"}',
        b'{"version": 1, "sha256": 5}',
        json.dumps({"version": 0, "sha256": "0" * 64}).encode(),
    ],
)
def test_a_damaged_or_old_record_is_replaced(record: bytes, abc: Path, tmp_path: Path) -> None:
    fingerprint(abc, tmp_path / "cache")
    (kept,) = (tmp_path / "cache" / "fingerprints").iterdir()
    good = kept.read_bytes()
    kept.write_bytes(record)
    assert fingerprint(abc, tmp_path / "cache") == ABC
    assert kept.read_bytes() == good


def test_a_cache_folder_that_cannot_be_made_is_no_error(abc: Path, tmp_path: Path) -> None:
    blocked = tmp_path / "file"
    blocked.write_bytes(b"in the way")
    assert fingerprint(abc, blocked) == ABC


def test_a_full_disk_leaves_no_partial_file(
    abc: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuse(*_: object) -> None:
        raise OSError("no space left on device")

    monkeypatch.setattr(os, "replace", refuse)
    assert fingerprint(abc, tmp_path / "cache") == ABC
    assert list((tmp_path / "cache" / "fingerprints").iterdir()) == []


def test_the_cache_folder_can_be_named_in_the_environment(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setenv(VARIABLE, str(tmp_path))
    assert cache_folder() == tmp_path
    monkeypatch.delenv(VARIABLE)
    assert cache_folder().name == "framecall"
