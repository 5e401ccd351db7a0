"""The session file: append-only JSON Lines, chained by SHA-256 and written through to the disk.

Each line after the first carries the SHA-256 (FIPS 180-4) of the bytes of the line before, its
line feed left out; and each line ends with the SHA-256 of itself, its seal left out, so that the
last line is guarded as well. An entry counts as made only when ``append`` returns. A last line
without its line feed was torn before it was acknowledged: it is dropped and reported. Any other
damage is named by its line and refused.
"""

import errno
import fcntl
import hashlib
import json
import os
import re
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from types import TracebackType
from typing import Self

from pydantic import ValidationError

from sessions.errors import DamagedSession, ForeignSession, SessionError, SessionInUse, WriteRefused
from sessions.record.entries import Entry, Line
from sessions.record.header import Header
from sessions.validation import first_problem

FORMAT, VERSION = "framecall-session", 2

_SEALED = re.compile(rb'(\{.*),"seal":"([0-9a-f]{64})"\}', re.DOTALL)


@dataclass(frozen=True)
class Recording:
    """What a session file holds; ``torn`` counts the bytes of a last line that was never finished.

    ``whole`` is the length in bytes of all that is sound, ``last_hash`` the hash of its last line,
    ``sha256`` that of all whole lines: the fingerprint by which others name the session.
    """

    header: Header
    lines: tuple[Line, ...]
    torn: int
    whole: int
    last_hash: str
    sha256: str


def line_hash(line: bytes) -> str:
    """SHA-256 of a line's bytes without its line feed, as 64 hexadecimal digits."""
    return _sha256(line)


def _sha256(data: bytes) -> str:
    return hashlib.sha256(data).hexdigest()


def read_session(path: Path) -> Recording:
    """Read a session file, checking every line against the chain.

    Raises SessionError (unreadable), ForeignSession or DamagedSession with the line.
    """
    return parse_session(_bytes(path), path)


def _bytes(path: Path) -> bytes:
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
    *whole, tail = data.split(b"\n")
    if not whole:
        raise ForeignSession(
            f"{path} holds no session: its first line is missing; name another file with --session."
        )
    header = _header(whole[0], path)
    lines: list[Line] = []
    before = line_hash(whole[0])
    for number, raw in enumerate(whole[1:], 2):
        lines.append(_line(raw, number, before, path))
        before = line_hash(raw)
    sound = data[: len(data) - len(tail)]
    return Recording(header, tuple(lines), len(tail), len(sound), before, _sha256(sound))


def _header(raw: bytes, path: Path) -> Header:
    try:
        data = json.loads(raw)
    except (ValueError, RecursionError):
        data = None
    if not isinstance(data, dict) or data.get("format") != FORMAT:
        raise ForeignSession(f"{path} is not a framecall session file; name another file.")
    if (version := data.get("version")) != VERSION:
        maker = "the program that made it" if version == 1 else "a newer framecall"
        raise ForeignSession(
            f"{path} is of session version {version}, and this program knows version {VERSION}; "
            f"open it with {maker}."
        )
    try:
        return Header.model_validate_json(_unsealed(raw, 1, path))
    except ValidationError as error:
        raise _damaged(path, 1, first_problem(error)) from None


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


def _unsealed(raw: bytes, number: int, path: Path) -> bytes:
    """A line without its seal; raises DamagedSession where the seal is not that of the line."""
    match = _SEALED.fullmatch(raw)
    if match is None:
        raise _damaged(path, number, "it has no seal")
    body = match[1] + b"}"
    if line_hash(body).encode() != match[2]:
        raise _damaged(path, number, "it was changed since it was written")
    return body


def _damaged(path: Path, number: int, what: str) -> DamagedSession:
    return DamagedSession(
        f"The session file {path} is damaged at line {number} ({what}); nothing was changed, "
        "restore the file from a copy."
    )


def utc_now() -> datetime:
    """The time of an entry."""
    return datetime.now(UTC)


class Journal:
    """A session file held open for appending, locked against other programs.

    Make one with ``create`` or ``reopen``; ``recording`` is what the file held when it was opened.
    """

    def __init__(
        self, path: Path, handle: int, recording: Recording, now: Callable[[], datetime]
    ) -> None:
        self.path = path
        self.recording = recording
        self._handle = handle
        self._now = now
        self._whole = recording.whole
        self._last_hash = recording.last_hash
        self._next = len(recording.lines) + 1

    @classmethod
    def create(cls, path: Path, header: Header, now: Callable[[], datetime] = utc_now) -> Self:
        """Begin a session file; raises SessionError where it exists or cannot be written."""
        raw = sealed(header.model_dump_json(exclude_none=True).encode())
        try:
            handle = os.open(path, os.O_RDWR | os.O_CREAT | os.O_EXCL | os.O_CLOEXEC, 0o644)
        except OSError as error:
            raise _not_opened(path, error) from None
        journal = cls(path, handle, Recording(header, (), 0, 0, line_hash(raw), _sha256(b"")), now)
        try:
            _lock(handle, path)
            journal._write(raw)
        except SessionError:
            journal.close()
            path.unlink(missing_ok=True)
            raise
        _sync_folder(path)
        return journal

    @classmethod
    def reopen(cls, path: Path, now: Callable[[], datetime] = utc_now) -> Self:
        """Go on with a session file; a torn last line is cut off (see ``recording.torn``)."""
        try:
            handle = os.open(path, os.O_RDWR | os.O_CLOEXEC)
        except OSError as error:
            raise _not_opened(path, error) from None
        try:
            _lock(handle, path)
            recording = read_session(path)
            if recording.torn:
                os.ftruncate(handle, recording.whole)
            os.lseek(handle, recording.whole, os.SEEK_SET)
        except BaseException:
            os.close(handle)
            raise
        return cls(path, handle, recording, now)

    def append(self, entry: Entry, replaces: int | None = None) -> Line:
        """Write one entry through to the disk.

        Raises WriteRefused, with the file as it was before, where the disk does not take it.
        """
        line = Line(
            seq=self._next, at=self._now(), prev=self._last_hash, entry=entry, replaces=replaces
        )
        raw = sealed(line.model_dump_json(exclude_none=True).encode())
        self._write(raw)
        self._last_hash = line_hash(raw)
        self._next += 1
        return line

    def _write(self, raw: bytes) -> None:
        data = raw + b"\n"
        try:
            self._cut_back()  # a failing disk may have kept parts of the entry before
            rest = memoryview(data)
            while rest:
                rest = rest[os.write(self._handle, rest) :]
            os.fsync(self._handle)
        except OSError as error:
            raise self._refused(error) from None
        self._whole += len(data)

    def _refused(self, error: OSError) -> WriteRefused:
        """The error of an entry of which nothing is left in the file, where the disk lets go."""
        left = ""
        try:
            self._cut_back()
        except OSError:
            left = " Parts of this one may be left at the end of the file."
        return WriteRefused(
            f"The entry was not saved: the disk refused {self.path} ({error.strerror}); "
            f"make room, then tag again. All entries before it are safe.{left}"
        )

    def _cut_back(self) -> None:
        os.ftruncate(self._handle, self._whole)
        os.lseek(self._handle, self._whole, os.SEEK_SET)

    def close(self) -> None:
        """Give the file free for other programs."""
        if self._handle >= 0:
            os.close(self._handle)
            self._handle = -1

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()


def _lock(handle: int, path: Path) -> None:
    try:
        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except BlockingIOError:
        raise SessionInUse(
            f"The session {path} is open elsewhere; close it there, or name another with --session."
        ) from None
    except OSError as error:
        raise SessionError(
            f"The session {path} cannot be locked here ({error.strerror}); name a place on a disk "
            "that can lock files, with --session."
        ) from None


def _not_opened(path: Path, error: OSError) -> SessionError:
    if error.errno == errno.EEXIST:
        return SessionError(f"The session file {path} exists already; open it, or name another.")
    return SessionError(
        f"The session file {path} cannot be written ({error.strerror}); "
        "name another place with --session."
    )


def _sync_folder(path: Path) -> None:
    """Make the file's name last as well as its bytes."""
    with suppress(OSError):  # a folder that may not be listed, or a file system that need not
        folder = os.open(path.parent, os.O_RDONLY | os.O_CLOEXEC)
        try:
            os.fsync(folder)
        finally:
            os.close(folder)
