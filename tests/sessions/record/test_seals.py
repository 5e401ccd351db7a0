"""Seals: each line of a session file ends with the SHA-256 of itself without its seal."""

import json
from collections.abc import Callable
from hashlib import sha256
from pathlib import Path

import pytest

from sessions.errors import DamagedSession
from sessions.record.entries import Note
from sessions.record.journal import Journal
from sessions.record.recording import parse_session, sealed
from tests.sessions.samples import WHEN, header, spot

PATH = Path("session.jsonl")


@pytest.fixture
def lines(tmp_path: Path) -> list[bytes]:
    """The lines of a session of one header and two notes, as a journal writes them."""
    path = tmp_path / "session.jsonl"
    with Journal.create(path, header("3-3-3"), lambda: WHEN) as journal:
        for text in ("one", 'with "seal" and }, and ü'):
            journal.append(Note(text=text, at=spot(1)))
    return path.read_bytes().splitlines()


def test_a_seal_comes_last_and_is_the_hash_of_the_rest(lines: list[bytes]) -> None:
    for line in lines:
        said = json.loads(line)
        assert list(said)[-1] == "seal"
        member = b',"seal":"' + said["seal"].encode() + b'"'
        assert line.endswith(member + b"}")
        assert sha256(line.removesuffix(member + b"}") + b"}").hexdigest() == said["seal"]


def joined(lines: list[bytes]) -> bytes:
    return b"\n".join(lines) + b"\n"


def unsealed(line: bytes) -> bytes:
    return line[: line.rindex(b',"seal"')] + b"}"


def reworded(line: bytes) -> bytes:
    return line.replace(b'"frame":1', b'"frame":2')


def another_seal(line: bytes) -> bytes:
    return line[:-3] + (b"0" if line[-3:-2] != b"0" else b"1") + line[-2:]


def seal_first(line: bytes) -> bytes:
    said = json.loads(line)
    return json.dumps({"seal": said.pop("seal"), **said}).encode()


WRONG: dict[str, tuple[Callable[[bytes], bytes], str]] = {
    "left out": (unsealed, "it has no seal"),
    "not last": (seal_first, "it has no seal"),
    "of other words": (reworded, "it was changed since it was written"),
    "changed": (another_seal, "it was changed since it was written"),
    "of what is no line": (
        lambda line: sealed(unsealed(line).replace(b'"note"', b'"remark"')),
        "entry: ",
    ),
    "of what refers to what is not before it": (
        lambda line: sealed(unsealed(line)[:-1] + b',"replaces":2}'),
        "line 2 refers to line 2, which is not before it",
    ),
}


@pytest.mark.parametrize("case", WRONG)
def test_a_last_line_whose_seal_is_wrong_is_refused_and_named(
    lines: list[bytes], case: str
) -> None:
    change, words = WRONG[case]
    with pytest.raises(DamagedSession) as refused:
        parse_session(joined([*lines[:-1], change(lines[-1])]), PATH)
    assert "at line 3 (" in str(refused.value)
    assert words in str(refused.value)


def test_a_header_without_its_seal_is_refused(lines: list[bytes]) -> None:
    with pytest.raises(DamagedSession, match=r"at line 1 \(it has no seal\)"):
        parse_session(joined([unsealed(lines[0]), *lines[1:]]), PATH)


def test_a_line_that_was_changed_and_sealed_anew_breaks_the_chain(lines: list[bytes]) -> None:
    lines[1] = sealed(unsealed(lines[1]).replace(b"one", b"two"))
    with pytest.raises(DamagedSession, match=r"at line 3 .*does not follow line 2"):
        parse_session(joined(lines), PATH)
