"""A session begun while its footage was still being read, and the line that completes it."""

from collections.abc import Sequence
from pathlib import Path

import pytest
from pydantic import ValidationError

from sessions.docket.review_summary import read_review
from sessions.errors import SessionError
from sessions.record.entries import Entry, FootageRead, Note, Retracted, completed
from sessions.record.header import FileState, Header
from sessions.record.journal import Journal
from sessions.record.recording import parse_session, read_session
from sessions.record.session import fold
from tests.sessions.samples import as_lines, footage, header, spot

STATE = FileState(modified_ns=1, changed_ns=2, inode=3)
READ = FootageRead(footage=footage(1000))


def begun() -> Header:
    """The header while forty frames are known."""
    known = footage(40).model_copy(update={"sha256": "", "nominal_rate": None})
    return Header.model_validate({**header().model_dump(), "footage": known, "reading": STATE})


def written(path: Path, *entries: Entry) -> Path:
    with Journal.create(path, begun()) as journal:
        for entry in entries:
            journal.append(entry)
    return path


def test_the_line_completes_the_header(tmp_path: Path) -> None:
    path = written(tmp_path / "s.jsonl", Note(text="seen", at=spot(3)), READ)
    recording = read_session(path)
    assert recording.header.footage == footage(1000)
    assert recording.header.reading is None
    assert fold(recording.header, recording.lines).header == recording.header


@pytest.mark.parametrize("entries", [(), (Note(text="seen", at=spot(3)),)])
def test_without_it_nothing_is_judged(tmp_path: Path, entries: Sequence[Entry]) -> None:
    path = written(tmp_path / "s.jsonl", *entries)
    with pytest.raises(SessionError, match="let it be read"):
        read_session(path)
    assert parse_session(path.read_bytes(), path).header.reading == STATE  # its bench goes on
    assert "let it be read" in read_review(path, "C1", "reviewer-1").problem


def test_a_session_that_grows_by_it_says_the_same_as_one_read_from_the_file() -> None:
    lines = as_lines([Note(text="seen", at=spot(3)), READ, Retracted(seq=2)])
    whole = completed(begun(), lines)
    assert whole.footage == READ.footage  # and nothing takes it back
    assert fold(begun(), lines).header == fold(whole, lines).header == whole


def test_a_header_that_is_whole_is_not_changed_by_it() -> None:
    other = FootageRead(footage=footage(7))
    assert fold(header(), as_lines([other])).header == header()


@pytest.mark.parametrize("change", [{"reading": STATE}, {"footage": begun().footage}])
def test_a_header_either_knows_the_fingerprint_or_says_what_was_read(
    change: dict[str, object],
) -> None:
    with pytest.raises(ValidationError, match="either the fingerprint"):
        Header.model_validate({**header().model_dump(), **change})


def test_footage_that_was_read_has_a_fingerprint() -> None:
    with pytest.raises(ValidationError, match="has a fingerprint"):
        FootageRead(footage=begun().footage)
