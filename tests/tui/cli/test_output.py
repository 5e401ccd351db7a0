"""Standard output whose reader goes away, whose disk is full, or that is not there."""

import errno
import io
import os
import sys
from pathlib import Path

import pytest

from sessions.docket.claims import ListedClaim, write_claims
from sessions.record.header import Claim
from tests.tui.cli.conftest import Call
from tests.tui.documents.papers import STANDS, document, session
from tui.cli.output import OutputRefused, say
from tui.documents.issuing import document_set


class Refusing(io.StringIO):
    """Standard output that takes nothing, or only fails as it is flushed."""

    def __init__(self, error: OSError, late: bool, handle: int) -> None:
        super().__init__()
        self.error, self.late, self.handle = error, late, handle

    def write(self, text: str) -> int:
        if not self.late:
            raise self.error
        return len(text)

    def flush(self) -> None:
        raise self.error

    def fileno(self) -> int:
        return self.handle


@pytest.fixture
def handle() -> int:
    """The writing end of a pipe, closed by whoever is given it."""
    reading, writing = os.pipe()
    os.close(reading)
    return writing


def refuse(
    monkeypatch: pytest.MonkeyPatch, number: int, handle: int, *, late: bool = True
) -> OSError:
    error = OSError(number, os.strerror(number))
    monkeypatch.setattr(sys, "stdout", Refusing(error, late, handle))
    return error


def test_what_is_said_is_there_at_once(monkeypatch: pytest.MonkeyPatch) -> None:
    reading, writing = os.pipe()
    with os.fdopen(writing, "w", encoding="utf-8") as out, os.fdopen(reading, "rb") as seen:
        monkeypatch.setattr(sys, "stdout", out)
        say("né\n")
        assert seen.read(4) == "né\n".encode()


@pytest.mark.parametrize("late", [True, False])
def test_a_reader_that_went_away_is_no_error_then_or_as_the_program_ends(
    monkeypatch: pytest.MonkeyPatch, handle: int, late: bool
) -> None:
    refuse(monkeypatch, errno.EPIPE, handle, late=late)
    say("hello")
    # whatever the buffer still holds goes nowhere, and no longer into the broken pipe
    assert os.write(handle, b"rest") == 4
    os.close(handle)


@pytest.mark.parametrize("late", [True, False])
@pytest.mark.parametrize("number", [errno.ENOSPC, errno.EDQUOT, errno.EFBIG])
def test_a_full_disk_is_told_in_a_sentence(
    monkeypatch: pytest.MonkeyPatch, handle: int, number: int, late: bool
) -> None:
    refuse(monkeypatch, number, handle, late=late)
    with pytest.raises(OutputRefused, match=r"^The output was cut off: its disk is full; make"):
        say("hello")
    assert os.write(handle, b"rest") == 4
    os.close(handle)


def test_a_terminal_that_has_hung_up_is_no_error(monkeypatch: pytest.MonkeyPatch) -> None:
    master, line = os.openpty()
    os.close(master)
    with pytest.raises(OSError, match="Input/output error"):
        os.write(line, b"hello")
    refuse(monkeypatch, errno.EIO, line)
    say("hello")
    assert os.write(line, b"rest") == 4
    os.close(line)


def test_any_other_error_is_not_hidden(monkeypatch: pytest.MonkeyPatch, handle: int) -> None:
    error = refuse(monkeypatch, errno.EIO, handle)
    with pytest.raises(OSError) as raised:  # noqa: PT011 - the very error is looked at
        say("hello")
    assert raised.value is error
    os.close(handle)


def test_an_output_that_was_closed_before_the_program_began_is_no_error(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(sys, "stdout", None)
    say("hello")


def test_what_the_output_has_no_bytes_for_is_printed_as_its_code(
    framecall: Call, monkeypatch: pytest.MonkeyPatch
) -> None:
    out = io.BytesIO()
    monkeypatch.setattr(sys, "stdout", io.TextIOWrapper(out, "latin-1"))
    assert framecall("keys").code == 0
    assert b"\\u2192" in out.getvalue(), "the right arrow is not in ISO 8859-1"


@pytest.mark.parametrize("command", ["register", "records"])
def test_json_shows_no_terminal_what_it_would_act_on(
    framecall: Call, tmp_path: Path, command: str
) -> None:
    hostile = "\u202eU\x1b[31m10"
    claims = [ListedClaim("C-1", "cycle", hostile, "S-1", "7.1", "7.5", "a.mp4")]
    write_claims(tmp_path / "claims.csv", claims)
    made = document(session(*STANDS, claim=Claim(id="C-1", time="7.1")))
    document_set(*made, tmp_path / "rulings", "C-1.ruling-1")
    told = framecall(command, tmp_path, "--json").out
    assert told.isascii()
    assert "\x1b" not in told
    assert r"\u202eU\u001b[31m10" in told
