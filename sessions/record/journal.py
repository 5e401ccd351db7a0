"""The session file: append-only JSON Lines, chained by SHA-256 and written through to the disk.

Each line after the first carries the SHA-256 (FIPS 180-4) of the bytes of the line before, its
line feed left out; and each line ends with the SHA-256 of itself, its seal left out, so that the
last line is guarded as well.

The lines that one key writes are one **deed**: each but the last says how many follow (``more``).
A deed is written at once and counts as made only when ``append_all`` returns. At the end of a file
what is not whole was torn before it was acknowledged, and is dropped and reported: a line without
its seal, and the lines of a deed whose last line is not there. A last line that lacks nothing but
its line feed is whole, and kept. Any other damage is named by its line and refused.
"""

import errno
import fcntl
import os
from collections.abc import Callable, Sequence
from contextlib import suppress
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from types import TracebackType
from typing import Self

from sessions.errors import (
    SessionError,
    SessionInUse,
    SessionLost,
    WriteRefused,
)
from sessions.record.entries import Entry, Line
from sessions.record.header import Header
from sessions.record.recording import (
    Recording,
    bytes_of,
    line_hash,
    parse_session,
    sealed,
)
from sessions.record.wholefile import Part, sweep

# -- writing


def utc_now() -> datetime:
    """The time of an entry."""
    return datetime.now(UTC)


@dataclass(frozen=True)
class Draft:
    """An entry to be written, and the line that it amends, if any."""

    entry: Entry
    replaces: int | None = None


@dataclass(frozen=True)
class Deed:
    """The lines of one deed as they will stand in the file, and their bytes."""

    lines: tuple[Line, ...]
    data: bytes


def _deed(drafts: Sequence[Draft], first: int, before: str, at: datetime) -> Deed:
    """The lines of a deed, numbered from ``first``, after a line whose hash is ``before``."""
    lines: list[Line] = []
    raws: list[bytes] = []
    for place, draft in enumerate(drafts):
        line = Line(
            seq=first + place,
            at=at,
            prev=before,
            entry=draft.entry,
            replaces=draft.replaces,
            more=len(drafts) - place - 1 or None,
        )
        raws.append(_sealed_line(line))
        before = line_hash(raws[-1])
        lines.append(line)
    return Deed(tuple(lines), b"".join(raw + b"\n" for raw in raws))


def _sealed_line(said: Header | Line) -> bytes:
    return sealed(said.model_dump_json(exclude_none=True).encode())


class Journal:
    """A session file held open for appending, locked against other programs.

    Make one with ``create`` or ``reopen``; ``recording`` is what the file held when it was opened.
    All that was acknowledged is kept in memory as well, so that it can be saved elsewhere should
    the file be lost while it is open.
    """

    def __init__(
        self,
        path: Path,
        handle: int,
        recording: Recording,
        data: bytes,
        now: Callable[[], datetime],
    ) -> None:
        self.path = path
        self.recording = recording
        self._handle = handle
        self._data = bytearray(data)
        self._now = now
        self._last_hash = recording.last_hash
        self._next = len(recording.lines) + 1
        self._is_clean = True
        self._changed_at = os.fstat(handle).st_mtime_ns

    @classmethod
    def create(
        cls,
        path: Path,
        header: Header,
        now: Callable[[], datetime] = utc_now,
        first: Sequence[Draft] = (),
    ) -> Self:
        """Begin a session file, with a first deed where one is given; there whole, or not at all.

        Raises SessionError where the file exists or cannot be written.
        """
        raw = _sealed_line(header)
        deed = _deed(first, 1, line_hash(raw), now()) if first else Deed((), b"")
        return cls._begin(path, raw + b"\n" + deed.data, now)

    @classmethod
    def _begin(cls, path: Path, data: bytes, now: Callable[[], datetime]) -> Self:
        """A new file of these bytes under a name that is free, locked before it has the name."""
        sweep(path.parent)
        try:
            part = Part(path.parent)
        except OSError as error:
            raise _not_opened(path, error) from None
        handle = os.dup(part.handle)
        try:
            _lock(handle, path)
            _begun(part, data, path)
        except BaseException:
            os.close(handle)
            raise
        finally:
            part.close()
        return cls(path, handle, parse_session(data, path), data, now)

    @classmethod
    def reopen(cls, path: Path, now: Callable[[], datetime] = utc_now) -> Self:
        """Go on with a session file; a torn last deed is cut off (see ``recording.damage``)."""
        try:
            handle = os.open(path, os.O_RDWR | os.O_CLOEXEC)
        except OSError as error:
            raise _not_opened(path, error) from None
        try:
            _lock(handle, path)
            data = bytes_of(path)
            recording = parse_session(data, path)
            if recording.mended:
                os.pwrite(handle, b"\n", recording.whole - 1)
            if recording.torn or recording.mended:
                os.ftruncate(handle, recording.whole)
                os.fsync(handle)
            os.lseek(handle, recording.whole, os.SEEK_SET)
            sound = data[: recording.whole - 1] + b"\n"
            journal = cls(path, handle, recording, sound, now)
        except OSError as error:
            os.close(handle)
            raise _not_opened(path, error) from None
        except BaseException:
            os.close(handle)
            raise
        sweep(path.parent)
        return journal

    # -- one deed

    def append(self, entry: Entry, replaces: int | None = None) -> Line:
        """Write one entry as a deed of its own; see ``append_all``."""
        return self.append_all([Draft(entry, replaces)])[0]

    def append_all(self, drafts: Sequence[Draft]) -> tuple[Line, ...]:
        """Write the entries of one deed through to the disk, all of them or none.

        Raises WriteRefused, with the file as it was before, where the disk does not take them, and
        SessionLost where the path no longer names the file.
        """
        return self.commit(self.draw_up(drafts))

    def draw_up(self, drafts: Sequence[Draft]) -> Deed:
        """The lines that a deed would be, to be looked at before ``commit`` writes them."""
        return _deed(drafts, self._next, self._last_hash, self._now())

    def commit(self, deed: Deed) -> tuple[Line, ...]:
        """Write a deed that was just drawn up; raises as ``append_all`` does."""
        if not deed.lines:
            return ()
        self.check_place()
        try:
            self._cut_back()  # a failing disk may have kept parts of the deed before
            rest = memoryview(deed.data)
            while rest:
                rest = rest[os.write(self._handle, rest) :]
            os.fsync(self._handle)
        except OSError as error:
            raise self._refused(error) from None
        try:
            self._check_named(len(self._data) + len(deed.data))
        except SessionLost:
            with suppress(OSError):  # what it was written to may be named again later
                if os.fstat(self._handle).st_size > len(self._data):
                    self._cut_back()
            raise
        self._data += deed.data
        self._last_hash = line_hash(deed.data[:-1].rsplit(b"\n", 1)[-1])
        self._next += len(deed.lines)
        self._changed_at = os.fstat(self._handle).st_mtime_ns
        return deed.lines

    def _refused(self, error: OSError) -> WriteRefused:
        """The error of a deed of which nothing is left in the file, where the disk lets go."""
        left = ""
        try:
            self._cut_back()
        except OSError:
            self._is_clean = False
            left = " Parts of this one may be left at the end of the file."
        return WriteRefused(
            f"The entry was not saved: the disk refused {self.path} ({error.strerror}); "
            f"make room, then tag again. All entries before it are safe.{left}"
        )

    def _cut_back(self) -> None:
        os.ftruncate(self._handle, len(self._data))
        os.lseek(self._handle, len(self._data), os.SEEK_SET)
        self._is_clean = True

    # -- the file and its name

    def check_place(self) -> None:
        """Raises SessionLost where the path no longer names the file, as it was written last."""
        self._check_named(len(self._data))
        if not self._is_clean:
            return
        changed_at = os.fstat(self._handle).st_mtime_ns
        if changed_at != self._changed_at:  # written to by another: are there other bytes now?
            if os.pread(self._handle, len(self._data), 0) != self._data:
                raise self._lost("was changed by another program")
            self._changed_at = changed_at

    def _check_named(self, length: int) -> None:
        """Raises SessionLost unless the path names the open file, and that is of this length.

        It may be longer where the disk did not let go of what it refused.
        """
        held = os.fstat(self._handle)
        try:
            named = os.stat(self.path)
        except FileNotFoundError:
            raise self._lost("was removed") from None
        except OSError as error:
            raise self._lost(f"became unreachable ({error.strerror})") from None
        if (named.st_dev, named.st_ino) != (held.st_dev, held.st_ino):
            raise self._lost("was replaced by another file")
        if held.st_size < length:
            raise self._lost("was cut short")
        if held.st_size > length and self._is_clean:
            raise self._lost("was added to by another program")

    def _lost(self, what: str) -> SessionLost:
        return SessionLost(
            f"The entry was not saved: the session file {self.path} {what} while it was open. "
            "All entries before it are kept in memory: save the review elsewhere."
        )

    def save_elsewhere(self, path: Path) -> None:
        """Write all that was acknowledged to a new file, and go on there.

        Raises SessionError where the name is taken, or where the disk does not take it.
        """
        other = type(self)._begin(path, bytes(self._data), self._now)
        os.close(self._handle)
        self.path, self._handle = other.path, other._handle
        self._changed_at, self._is_clean = other._changed_at, True

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


def _begun(part: Part, data: bytes, path: Path) -> None:
    """Write a session that begins, and give it its name; raises SessionError."""
    try:
        part.write(data)
    except OSError as error:
        raise WriteRefused(
            f"The session {path} was not begun: the disk refused it ({error.strerror}); make room, "
            "or name another place with --session."
        ) from None
    try:
        part.name(path)
    except OSError as error:
        raise _not_opened(path, error) from None


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
