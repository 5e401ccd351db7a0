"""Reading a session file: every line checked against the chain, what is torn told, damage named.

The format is that of ``sessions.record.journal``, which writes it.
"""

import hashlib
import json
import re
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from pydantic import ValidationError
from pydantic.json_schema import models_json_schema

from sessions.errors import (
    DamagedSession,
    ForeignSession,
    SessionError,
)
from sessions.record.entries import Line, completed
from sessions.record.header import Header
from sessions.validation import first_problem

FORMAT, VERSION = "framecall-session", 2

GENESIS = "0" * 64
"""What stands for the hash of the line before where a line is not written yet."""

_BEGINS = b'{"format":"' + FORMAT.encode() + b'"'
_SEALED = re.compile(rb'(\{.*),"seal":"([0-9a-f]{64})"\}', re.DOTALL)
_SEAL = re.compile(rb',"seal":"[0-9a-f]{64}"\}')


@dataclass(frozen=True)
class Recording:
    """What a session file holds, its header completed.

    ``torn`` counts the bytes of a last deed that was never finished. ``mended`` says that the last
    line feed was lost or damaged, and nothing else. ``whole`` is the length in bytes of all that is
    sound, that line feed in its place, ``last_hash`` the hash of its last line, ``sha256`` that of
    all whole lines: the fingerprint by which others name the session.
    """

    header: Header
    lines: tuple[Line, ...]
    torn: int
    whole: int
    last_hash: str
    sha256: str
    mended: bool = False

    def check_complete(self, path: Path) -> None:
        """Raises SessionError where the footage was never read to its end: nothing can be ruled."""
        if self.header.reading is not None:
            raise SessionError(
                f"The session {path} was begun while its footage was still being read, and that "
                "was broken off; open the footage with `framecall review` and let it be read."
            )

    @property
    def damage(self) -> str:
        """What was amiss with the end of the file, in a sentence; empty where nothing was."""
        if self.torn:
            return "A last entry, torn before it was acknowledged, was left out."
        if self.mended:
            return (
                f"The end of line {len(self.lines) + 1}, the last, was damaged; its seal holds, so "
                "nothing is lost."
            )
        return ""


def line_hash(line: bytes) -> str:
    """SHA-256 of a line's bytes without its line feed, as 64 hexadecimal digits."""
    return sha256_of(line)


def sha256_of(data: bytes) -> str:
    """SHA-256 of bytes, as 64 hexadecimal digits."""
    return hashlib.sha256(data).hexdigest()


def read_session(path: Path) -> Recording:
    """Read a session file, checking every line against the chain.

    Raises SessionError (unreadable, or begun on footage that was never read to its end),
    ForeignSession or DamagedSession with the line.
    """
    recording = parse_session(bytes_of(path), path)
    recording.check_complete(path)
    return recording


def bytes_of(path: Path) -> bytes:
    """The bytes of a session file; raises SessionError where it cannot be read."""
    try:
        if path.exists() and not path.is_file():
            raise SessionError(f"{path} is not a file; name a session file.")
        return path.read_bytes()
    except OSError as error:
        raise SessionError(
            f"The session file {path} cannot be read ({error.strerror}); check its path."
        ) from None


def parse_session(data: bytes, path: Path) -> Recording:
    """The recording in a session file's bytes; ``path`` is for the messages alone."""
    *raws, tail = data.split(b"\n")
    last = next((part for part in (tail, tail[:-1]) if _is_sealed(part)), None)
    if last is not None:
        raws.append(last)
    if not raws:
        raise _without_header(data, path)
    header = _header(raws[0], data, path)
    lines: list[Line] = []
    before = line_hash(raws[0])
    for number, raw in enumerate(raws[1:], 2):
        lines.append(_line(raw, number, before, path))
        _check_deed(lines, path)
        before = line_hash(raw)
    kept = _whole_deeds(lines)
    sound = b"".join(raw + b"\n" for raw in raws[: kept + 1])
    return Recording(
        header=completed(header, lines[:kept]),
        lines=tuple(lines[:kept]),
        torn=max(0, len(data) - len(sound)),
        whole=len(sound),
        last_hash=line_hash(raws[kept]),
        sha256=sha256_of(sound),
        mended=last is not None and kept == len(lines),
    )


def _check_deed(lines: Sequence[Line], path: Path) -> None:
    """Raises DamagedSession where the last line is not the one that its deed goes on with."""
    waited_for = (lines[-2].more or 0) if len(lines) > 1 else 0
    if waited_for and (lines[-1].more or 0) != waited_for - 1:
        number = len(lines) + 1
        raise _damaged(path, number, f"the deed of line {number - 1} does not go on with it")


def _whole_deeds(lines: Sequence[Line]) -> int:
    """How many lines belong to deeds of which every line is there."""
    count = len(lines)
    while count and lines[count - 1].more:
        count -= 1
    return count


def _without_header(data: bytes, path: Path) -> ForeignSession:
    """What to say of a file that has not even a first line."""
    remedy = "nothing was saved there yet: remove the file, then begin the review again."
    if not data.strip(b"\0"):
        return ForeignSession(f"{path} is empty; {remedy}")
    if data[: len(_BEGINS)] == _BEGINS[: len(data)]:
        return ForeignSession(f"{path} holds but a part of its first line; {remedy}")
    return _foreign(path)


def _foreign(path: Path) -> ForeignSession:
    return ForeignSession(f"{path} is not a framecall session file; name another file.")


def _header(raw: bytes, data: bytes, path: Path) -> Header:
    """The first line as a header; a file that bears the marks of a session is damaged, not foreign.

    ``data`` is the whole file.
    """
    match = _SEALED.fullmatch(raw)
    if match is not None and not _is_sealed(raw):
        raise _damaged(path, 1, "it was changed since it was written")
    said = _object(raw)
    if said is None or said.get("format") != FORMAT:
        if match is None and (data.startswith(_BEGINS) or _SEAL.search(data)):
            raise _damaged(path, 1, "it was changed since it was written")
        raise _foreign(path)
    if (version := said.get("version")) != VERSION:
        maker = "the program that made it" if version == 1 else "a newer framecall"
        raise ForeignSession(
            f"{path} is of session version {version}, and this program knows version {VERSION}; "
            f"open it with {maker}."
        )
    try:
        return Header.model_validate_json(_unsealed(raw, 1, path))
    except ValidationError as error:
        raise _damaged(path, 1, first_problem(error)) from None


def _object(raw: bytes) -> dict[str, Any] | None:
    """The JSON object of a line; ``None`` where it is none."""
    try:
        said = json.loads(raw)
    except (ValueError, RecursionError):
        return None
    return said if isinstance(said, dict) else None


def _line(raw: bytes, number: int, before: str, path: Path) -> Line:
    try:
        line = Line.model_validate_json(_unsealed(raw, number, path))
    except ValidationError as error:
        raise _damaged(path, number, first_problem(error)) from None
    if line.prev != before:
        raise _damaged(path, number, f"it does not follow line {number - 1} as that is now")
    if line.seq != number - 1:
        raise _damaged(path, number, f"its number is {line.seq}, not {number - 1}")
    return line


def sealed(body: bytes) -> bytes:
    """A JSON object with its seal as the last member."""
    return body[:-1] + b',"seal":"' + line_hash(body).encode() + b'"}'


def _is_sealed(raw: bytes) -> bool:
    """Whether bytes are a line whose seal is its own."""
    match = _SEALED.fullmatch(raw)
    return match is not None and line_hash(match[1] + b"}").encode() == match[2]


def _unsealed(raw: bytes, number: int, path: Path) -> bytes:
    """A line without its seal; raises DamagedSession where the seal is not that of the line."""
    match = _SEALED.fullmatch(raw)
    if match is None:
        raise _damaged(path, number, "it has no seal")
    if not _is_sealed(raw):
        raise _damaged(path, number, "it was changed since it was written")
    return match[1] + b"}"


def _damaged(path: Path, number: int, what: str) -> DamagedSession:
    return DamagedSession(
        f"The session file {path} is damaged at line {number} ({what}); nothing was changed, "
        "restore the file from a copy."
    )


# -- the JSON Schema (draft 2020-12) of the session file: its first line, and each line after it


def session_schema() -> dict[str, Any]:
    """A schema that any line of a session file meets; the header is its first."""
    references, definitions = models_json_schema(
        [(Header, "validation"), (Line, "validation")],
        ref_template="#/$defs/{model}",
    )
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "A line of a framecall session file (JSON Lines)",
        "oneOf": [references[(Header, "validation")], references[(Line, "validation")]],
        "$defs": definitions["$defs"],
    }
