"""The session file: written through, locked, torn, full, foreign."""

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
from hypothesis import HealthCheck, given, settings

from sessions.entries import Entry, Note, Retracted
from sessions.errors import ForeignSession, SessionError, SessionInUse, WriteRefused
from sessions.journal import Journal, line_hash, parse_session, read_session, utc_now
from sessions.judge import rule
from sessions.session import fold
from tests.sessions.samples import WHEN, header, session_of, spot, standing_session
from tests.sessions.strategies import Drawn, drawn_sessions

HEADER = header("3-3-3", frames=100)
NOBODY = 65534


def note(text: str = "cups set back") -> Note:
    return Note(text=text, at=spot(3))


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "session.jsonl"


def write(path: Path, *entries: Entry) -> None:
    with Journal.create(path, HEADER, lambda: WHEN) as journal:
        for entry in entries:
            journal.append(entry)


# FIPS 180-4 examples: one block, two blocks, and the empty message (digests from memory, and as
# hashlib gives them).
@pytest.mark.parametrize(
    ("message", "digest"),
    [
        (b"", "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855"),
        (b"abc", "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"),
        (
            b"abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq",
            "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1",
        ),
    ],
)
def test_a_line_is_hashed_by_sha_256(message: bytes, digest: str) -> None:
    assert line_hash(message) == digest


@settings(
    max_examples=40,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)
@given(drawn_sessions())
def test_what_was_appended_is_read_back(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, drawn: Drawn
) -> None:
    monkeypatch.setattr(os, "fsync", lambda handle: None)  # or it takes the disk's time
    path = tmp_path / "round-trip.jsonl"
    path.unlink(missing_ok=True)
    with Journal.create(path, drawn.header, lambda: WHEN) as journal:
        lines = tuple(journal.append(entry) for entry in drawn.entries)
    recording = read_session(path)
    assert recording.header == drawn.header
    assert recording.lines == lines
    assert tuple(line.entry for line in lines) == drawn.entries
    assert recording.torn == 0
    assert rule(fold(recording.header, recording.lines)) == rule(drawn.session)


def test_each_line_carries_the_hash_of_the_line_before(path: Path) -> None:
    write(path, note("one"), note("two"))
    raw = path.read_bytes().splitlines()
    assert len(raw) == 3
    lines = read_session(path).lines
    assert [line.prev for line in lines] == [line_hash(raw[0]), line_hash(raw[1])]
    assert [line.seq for line in lines] == [1, 2]
    assert [line.at for line in lines] == [WHEN, WHEN]


def test_a_session_goes_on_where_it_was_left(path: Path) -> None:
    write(path, note("one"))
    with Journal.reopen(path) as journal:
        assert [line.entry for line in journal.recording.lines] == [note("one")]
        journal.append(note("two"), replaces=1)
        journal.append(Retracted(seq=2))
    lines = read_session(path).lines
    assert [line.seq for line in lines] == [1, 2, 3]
    assert lines[1].replaces == 1


def test_an_entry_is_on_the_disk_before_it_counts(
    path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    synced: list[int] = []
    fsync = os.fsync

    def watched(handle: int) -> None:
        synced.append(path.stat().st_size)
        fsync(handle)

    with Journal.create(path, HEADER) as journal:
        monkeypatch.setattr(os, "fsync", watched)
        journal.append(note())
        assert synced == [path.stat().st_size]


def test_the_time_of_an_entry_is_in_utc() -> None:
    assert utc_now().utcoffset() is not None
    assert utc_now().tzname() == "UTC"


def test_a_session_that_exists_is_not_begun_again(path: Path) -> None:
    write(path, note())
    before = path.read_bytes()
    with pytest.raises(SessionError, match=r"session\.jsonl exists already; open it"):
        Journal.create(path, HEADER)
    assert path.read_bytes() == before


def test_a_session_that_is_not_there_is_named(path: Path) -> None:
    with pytest.raises(SessionError, match="cannot be written"):
        Journal.reopen(path)
    with pytest.raises(SessionError, match=r"cannot be read \(No such file"):
        read_session(path)


def test_a_pipe_is_no_session_and_holds_nobody_up(path: Path) -> None:
    os.mkfifo(path)
    with pytest.raises(SessionError, match="is not a file"):
        read_session(path)
    with pytest.raises(SessionError, match="is not a file"):
        Journal.reopen(path)


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


# -- files that are not ours


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (b"", "its first line is missing"),
        (b'{"format":"framecall-session"', "its first line is missing"),
        (b"\n", "is not a framecall session file"),
        (b"{}\n", "is not a framecall session file"),
        (b"[1, 2]\n", "is not a framecall session file"),
        (b"\x89PNG\r\n\x1a\n", "is not a framecall session file"),
        (b'{"format":"framecall-ruling","version":1}\n', "is not a framecall session file"),
        (b'{"format":"framecall-session","version":2}\n', "is of session version 2"),
        (b'{"format":"framecall-session"}\n', "is of session version None"),
    ],
)
def test_a_file_that_holds_no_session_of_ours_is_refused(
    path: Path, content: bytes, says: str
) -> None:
    path.write_bytes(content)
    with pytest.raises(ForeignSession) as caught:
        read_session(path)
    assert str(caught.value).startswith(str(path))
    assert says in str(caught.value)
    assert path.read_bytes() == content


def test_a_file_of_brackets_without_end_is_refused(path: Path) -> None:
    path.write_bytes(b"[" * 100_000 + b"\n")
    with pytest.raises(ForeignSession):
        read_session(path)


def test_a_folder_is_no_session(tmp_path: Path) -> None:
    with pytest.raises(SessionError, match="is not a file; name a session file"):
        read_session(tmp_path)
    with pytest.raises(SessionError, match="Is a directory"):
        Journal.reopen(tmp_path)


def test_a_sessions_ruling_needs_nothing_but_its_bytes(path: Path) -> None:
    entries = standing_session(header("3-3-3"))
    with Journal.create(path, header("3-3-3")) as journal:
        for entry in entries:
            journal.append(entry)
    recording = parse_session(path.read_bytes(), Path("elsewhere"))
    ruling = rule(fold(recording.header, recording.lines))
    assert ruling == rule(session_of(header("3-3-3"), entries))
    assert ruling.best_time == "4.004"
