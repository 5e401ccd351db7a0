"""The session file: written through, read back, and told from what is none."""

import os
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given

from sessions.errors import ForeignSession, SessionError
from sessions.record.entries import Entry, Note, Retracted
from sessions.record.journal import Journal, utc_now
from sessions.record.recording import line_hash, parse_session, read_session
from sessions.record.session import fold
from sessions.ruling.judge import rule
from tests.proofs import examples
from tests.sessions.samples import WHEN, header, session_of, spot, standing_session
from tests.sessions.strategies import Drawn, drawn_sessions

HEADER = header("3-3-3", frames=100)


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


@examples(
    few=10,
    many=80,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
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


# -- files that are not ours


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (b"", "is empty; nothing was saved there yet: remove the file, then begin the review"),
        (b"\0" * 900, "is empty; nothing was saved there yet: remove the file"),
        (b'{"fo', "holds but a part of its first line; nothing was saved there yet: remove the"),
        (b'{"format":"framecall-session","ver', "holds but a part of its first line"),
        (b'{"format":"framecall-ruling"', "is not a framecall session file"),
        (b"a remark", "is not a framecall session file"),
        (b"\n", "is not a framecall session file"),
        (b"{}\n", "is not a framecall session file"),
        (b"[1, 2]\n", "is not a framecall session file"),
        (b"\x89PNG\r\n\x1a\n", "is not a framecall session file"),
        (b'{"format":"framecall-ruling","version":1}\n', "is not a framecall session file"),
        (b'{"format":"framecall-session","version":1}\n', "open it with the program that made it."),
        (b'{"format":"framecall-session","version":3}\n', "open it with a newer framecall."),
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


def test_a_name_that_no_file_can_have_is_no_session(tmp_path: Path) -> None:
    with pytest.raises(SessionError, match=r"cannot be read \(File name too long\)"):
        read_session(tmp_path / ("x" * 300))


def test_a_sessions_ruling_needs_nothing_but_its_bytes(path: Path) -> None:
    entries = standing_session(header("3-3-3"))
    with Journal.create(path, header("3-3-3")) as journal:
        for entry in entries:
            journal.append(entry)
    recording = parse_session(path.read_bytes(), Path("elsewhere"))
    ruling = rule(fold(recording.header, recording.lines))
    assert ruling == rule(session_of(header("3-3-3"), entries))
    assert ruling.best_time == "4.004"
