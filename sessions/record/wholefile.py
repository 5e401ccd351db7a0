"""Files written whole: a reader sees the file as it was before, or as it is after.

A file is written under a name of its own beside its place, and gets its name when it is whole and
on the disk. What a program that was killed leaves behind bears such a name and is locked by nobody:
``sweep`` removes it.
"""

import errno
import fcntl
import os
import re
import secrets
import stat
from contextlib import suppress
from pathlib import Path
from types import TracebackType
from typing import Self

PART = re.compile(r"\.[0-9a-f]{16}\.part(\.\w+)?")
"""The names of files that are being written."""

_NO_LINKS = (errno.EPERM, errno.ENOTSUP, errno.EOPNOTSUPP, errno.ENOSYS, errno.EMLINK)
"""What file systems say that know no second name of a file."""


def write_whole(path: Path, data: bytes) -> None:
    """Replace a file's bytes in one step; raises OSError with the old file untouched.

    A new file has the rights that the umask leaves; one that is replaced keeps its own, and its
    group where that may be given: others of a shared folder go on as before.
    """
    place = Path(os.path.realpath(path))  # unlike ``resolve``, no error for links without an end
    with Part(place.parent) as part:
        with suppress(OSError):
            old = place.stat()
            with suppress(PermissionError):
                os.fchown(part.handle, -1, old.st_gid)
            os.fchmod(part.handle, stat.S_IMODE(old.st_mode))
        part.write(data)
        part.replace(place)


class Part:
    """A file on its way to its name; as a context, it is removed unless it got one.

    ``mode`` are the rights that the umask is taken from, ``suffix`` ends its name where what
    writes it goes by that. ``handle`` is open for reading and writing, and stays so after
    ``replace`` and ``name``, until ``close``. Raises OSError.
    """

    def __init__(self, folder: Path, mode: int = 0o666, suffix: str = "") -> None:
        self.handle = -1
        while self.handle < 0:
            self.path = folder / f".{secrets.token_hex(8)}.part{suffix}"
            flags = os.O_RDWR | os.O_CREAT | os.O_EXCL | os.O_CLOEXEC
            handle = os.open(self.path, flags, mode)
            with suppress(OSError):  # some places cannot lock; nothing is swept there
                fcntl.flock(handle, fcntl.LOCK_EX)
            if os.fstat(handle).st_nlink:
                self.handle = handle
            else:  # swept before it was locked
                os.close(handle)

    def write(self, data: bytes) -> None:
        """Add bytes at its end, and put all of it on the disk."""
        rest = memoryview(data)
        while rest:
            rest = rest[os.write(self.handle, rest) :]
        os.fsync(self.handle)

    def replace(self, path: Path) -> None:
        """Give it its name, in place of what bears it."""
        os.replace(self.path, path)
        sync_folder(path.parent)

    def name(self, path: Path) -> None:
        """Give it its name; raises FileExistsError where something bears it."""
        try:
            os.link(self.path, path)
        except OSError as error:
            if error.errno not in _NO_LINKS:
                raise
            os.close(os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL | os.O_CLOEXEC, 0o666))
            os.replace(self.path, path)
        self.path.unlink(missing_ok=True)
        sync_folder(path.parent)

    def close(self) -> None:
        """Close the file; removes what got no name."""
        if self.handle >= 0:
            with suppress(OSError):
                self.path.unlink(missing_ok=True)
            os.close(self.handle)
            self.handle = -1

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()


def sync_folder(folder: Path) -> None:
    """Make the names of a folder last as well as its files' bytes."""
    with suppress(OSError):  # a folder that may not be listed, or a file system that need not
        handle = os.open(folder, os.O_RDONLY | os.O_CLOEXEC)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def sweep(folder: Path) -> None:
    """Remove what programs that were killed left half written in a folder, as far as that goes."""
    with suppress(OSError):
        with os.scandir(folder) as entries:
            left = [Path(entry.path) for entry in entries if PART.fullmatch(entry.name)]
        for path in left:
            with suppress(OSError):
                _remove_unused(path)


def _remove_unused(path: Path) -> None:
    """Remove a file; raises OSError where a program holds it locked."""
    handle = os.open(path, os.O_RDONLY | os.O_NOFOLLOW | os.O_NONBLOCK | os.O_CLOEXEC)
    try:
        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
        path.unlink()
    finally:
        os.close(handle)
