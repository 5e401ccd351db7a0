"""A session file held by another program, on a full disk, or where nobody may write."""

import errno
import fcntl
import os
import resource
import signal
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest

from sessions.errors import ForeignSession, SessionError, SessionInUse, WriteRefused
from sessions.record.entries import Note
from sessions.record.journal import Journal
from sessions.record.recording import read_session
from tests.sessions.record.test_journal import HEADER, note, write

NOBODY = 65534


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "session.jsonl"


# -- another program

HOLDER = """
import fcntl, os, sys
handle = os.open(sys.argv[1], os.O_RDWR)
fcntl.flock(handle, fcntl.LOCK_EX)
print("held", flush=True)
sys.stdin.read()
"""


@contextmanager
def held_elsewhere(path: Path) -> Iterator[subprocess.Popen[str]]:
    """A second process that holds the lock on a file."""
    with subprocess.Popen(
        [sys.executable, "-c", HOLDER, str(path)],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    ) as holder:
        assert holder.stdout is not None
        assert holder.stdout.readline() == "held\n"
        try:
            yield holder
        finally:
            holder.kill()


def test_a_session_open_in_another_program_is_refused_until_that_ends(path: Path) -> None:
    write(path, note())
    with held_elsewhere(path), pytest.raises(SessionInUse, match="is open elsewhere; close it"):
        Journal.reopen(path)
    with Journal.reopen(path) as journal:
        journal.append(note("after the other was killed"))


def test_a_session_is_held_while_it_is_open_and_given_free_after(path: Path) -> None:
    journal = Journal.create(path, HEADER)
    with pytest.raises(SessionInUse):
        Journal.reopen(path)
    journal.close()
    journal.close()
    Journal.reopen(path).close()


def no_locks(handle: int, operation: int) -> None:
    """The lock of a place that has none."""
    raise OSError(errno.ENOLCK, os.strerror(errno.ENOLCK))


@pytest.mark.parametrize("begin", [True, False])
def test_a_place_that_cannot_lock_files_is_refused_with_a_remedy(
    path: Path, begin: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    if not begin:
        write(path, note())
    monkeypatch.setattr("sessions.record.journal.fcntl.flock", no_locks)
    with pytest.raises(SessionError, match=r"cannot be locked here .*a disk that can lock files"):
        Journal.create(path, HEADER) if begin else Journal.reopen(path)


def test_a_session_that_cannot_be_locked_leaves_no_file(
    path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("sessions.record.journal.fcntl.flock", no_locks)
    with pytest.raises(SessionError):
        Journal.create(path, HEADER)
    assert not path.exists()


def test_a_session_refused_as_damaged_is_given_free(path: Path) -> None:
    path.write_bytes(b"{}\n")
    with pytest.raises(ForeignSession):
        Journal.reopen(path)
    handle = os.open(path, os.O_RDWR)
    fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
    os.close(handle)


# -- a disk that is full, or may not be written


@contextmanager
def files_limited_to(size: int) -> Iterator[None]:
    """The operating system refuses to let any file grow beyond so many bytes."""
    assert signal.getsignal(signal.SIGXFSZ) is signal.SIG_IGN, "or the process would be killed"
    soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (size, hard))
    try:
        yield
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))


@pytest.mark.parametrize("room", [0, 1, 50])
def test_a_full_disk_loses_nothing_and_the_next_entry_is_written(path: Path, room: int) -> None:
    with Journal.create(path, HEADER) as journal:
        journal.append(note("before"))
        before = path.read_bytes()
        with files_limited_to(len(before) + room), pytest.raises(WriteRefused) as caught:
            journal.append(note("refused"))
        assert path.read_bytes() == before
        journal.append(note("after"))
    texts = [e.entry.text for e in read_session(path).lines if isinstance(e.entry, Note)]
    assert texts == ["before", "after"]
    sentence = str(caught.value)
    assert str(path) in sentence
    assert "make room, then tag again" in sentence


def test_an_entry_that_a_failing_disk_keeps_parts_of_is_cut_off_before_the_next(
    path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    with Journal.create(path, HEADER) as journal:
        journal.append(note("before"))
        with monkeypatch.context() as failing:
            failing.setattr("sessions.record.journal.os.fsync", broken_disk)
            failing.setattr("sessions.record.journal.os.ftruncate", broken_disk)
            for _ in range(2):
                with pytest.raises(WriteRefused, match="may be left at the end of the file"):
                    journal.append(note("refused, and longer than the next"))
        journal.append(note("after"))
    recording = read_session(path)
    texts = [e.entry.text for e in recording.lines if isinstance(e.entry, Note)]
    assert (texts, recording.torn) == (["before", "after"], 0)


def broken_disk(*_: int) -> None:
    """What a disk that fails does to whatever is asked of it."""
    raise OSError(errno.EIO, os.strerror(errno.EIO))


@pytest.mark.parametrize("room", [0, 20])
def test_a_header_that_the_disk_refuses_leaves_no_file(path: Path, room: int) -> None:
    with files_limited_to(room), pytest.raises(WriteRefused):
        Journal.create(path, HEADER)
    assert not path.exists()
    write(path, note())


@contextmanager
def as_nobody() -> Iterator[None]:
    """Without a superuser's right to write everywhere, where the tests run as one."""
    user = os.geteuid()
    if user == 0:
        os.seteuid(NOBODY)
    try:
        yield
    finally:
        os.seteuid(user)


@pytest.fixture
def open_to_all() -> Iterator[Path]:
    """A folder that every user may enter: not so the one that pytest gives."""
    with TemporaryDirectory() as name:
        folder = Path(name)
        folder.chmod(0o755)
        yield folder


def test_a_folder_that_may_not_be_written_is_named(open_to_all: Path) -> None:
    folder = open_to_all / "read-only"
    folder.mkdir()
    folder.chmod(0o555)
    with as_nobody(), pytest.raises(SessionError, match=r"cannot be written \(Permission denied\)"):
        Journal.create(folder / "session.jsonl", HEADER)
    assert list(folder.iterdir()) == []


def test_a_session_is_begun_in_a_folder_that_may_not_be_listed(open_to_all: Path) -> None:
    folder = open_to_all / "drop box"
    folder.mkdir()
    folder.chmod(0o333)
    with as_nobody():
        write(folder / "session.jsonl", note())
    assert len(read_session(folder / "session.jsonl").lines) == 1


def test_a_session_that_may_only_be_read_is_not_reopened_but_can_be_judged(
    open_to_all: Path,
) -> None:
    path = open_to_all / "session.jsonl"
    write(path, note())
    path.chmod(0o444)
    with as_nobody():
        with pytest.raises(SessionError, match=r"cannot be written \(Permission denied\)"):
            Journal.reopen(path)
        assert len(read_session(path).lines) == 1
