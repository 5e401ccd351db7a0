"""The user's cache folder, and the fingerprints of footage kept in it.

What is kept there can be lost or read-only without harm.
"""

import hashlib
import json
import os
import re
import tempfile
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path

import platformdirs

from sessions.errors import FootageError

Progress = Callable[[str, int, int], None]
"""Called with what is being done ("fingerprint" or "index"), bytes done, and bytes in all."""

_BLOCK = 1 << 20
_VERSION = 1
VARIABLE = "FRAMECALL_CACHE"


def cache_folder() -> Path:
    """The folder named by the environment variable FRAMECALL_CACHE, else the user's own."""
    named = os.environ.get(VARIABLE)
    return Path(named) if named else platformdirs.user_cache_path("framecall")


def keep(path: Path, content: bytes) -> None:
    """Write a cache file whole or not at all; a folder that takes no files is no error."""
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        descriptor, partial = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.")
    except OSError:
        return
    try:
        with os.fdopen(descriptor, "wb") as file:
            file.write(content)
        os.replace(partial, path)
    except OSError:
        Path(partial).unlink(missing_ok=True)


@dataclass(frozen=True)
class FileIdentity:
    """Which file, in which state: real path, size in bytes, time of change in ns, and inode.

    ``entry_changed_ns`` is when its entry was changed, by which no other file's fingerprint is
    taken for its own; it is no other file by that, as rights and names may change.
    """

    path: str
    size: int
    changed_ns: int
    inode: int
    entry_changed_ns: int = field(default=0, compare=False)

    @classmethod
    def of(cls, path: Path) -> "FileIdentity":
        """The identity of the file as it is now; OSError where there is none."""
        stat = path.stat()
        return cls(
            os.path.realpath(path), stat.st_size, stat.st_mtime_ns, stat.st_ino, stat.st_ctime_ns
        )

    def check(self, path: Path) -> None:
        """FootageError where another file lies at a path by now, or other bytes in this one."""
        try:
            now = FileIdentity.of(path)
        except OSError as error:
            raise FootageError(
                f"{path} cannot be reached any more ({error.strerror}); check the path."
            ) from None
        if now != self:
            raise changed(path)

    @property
    def is_overwritten(self) -> bool:
        """Whether this very file holds other bytes by now.

        One that was removed, or replaced by another of its name, goes on for who has it open.
        """
        try:
            stat = os.stat(self.path)
        except OSError:
            return False
        now = (stat.st_size, stat.st_mtime_ns)
        return stat.st_ino == self.inode and now != (self.size, self.changed_ns)


def changed(path: Path) -> FootageError:
    """That a file is not what it was; to be raised."""
    return FootageError(f"{path} has changed since it was opened; close it and open it again.")


def fingerprint(path: Path, folder: Path, progress: Progress | None = None) -> str:
    """The SHA-256 of the file in hexadecimal, from the cache folder if the file is unchanged."""
    identity = FileIdentity.of(path)
    known = kept_fingerprint(identity, folder)
    if known is not None:
        return known
    found = sha256_of(path, progress)
    if FileIdentity.of(path) != identity:
        raise FootageError(
            f"{path} changed while it was being read; wait until the recording or copying has "
            "finished, then open it again."
        )
    keep_fingerprint(identity, folder, found)
    return found


def kept_fingerprint(identity: FileIdentity, folder: Path) -> str | None:
    """The SHA-256 that is kept of a file in this state; None where none is."""
    return _recall(_record(identity, folder))


def keep_fingerprint(identity: FileIdentity, folder: Path, sha256: str) -> None:
    """Keep the SHA-256 of a file in this state."""
    keep(_record(identity, folder), json.dumps({"version": _VERSION, "sha256": sha256}).encode())


def _record(identity: FileIdentity, folder: Path) -> Path:
    key = hashlib.sha256(repr(identity).encode()).hexdigest()
    return folder / "fingerprints" / f"{key}.json"


def sha256_of(path: Path, progress: Progress | None = None) -> str:
    """The SHA-256 of the whole file in hexadecimal, read afresh."""
    total, done = path.stat().st_size, 0
    digest = hashlib.sha256()
    with path.open("rb", buffering=0) as file:
        while block := file.read(_BLOCK):
            digest.update(block)
            done += len(block)
            if progress:
                progress("fingerprint", done, total)
    return digest.hexdigest()


def _recall(record: Path) -> str | None:
    try:
        kept = json.loads(record.read_bytes())
    except (OSError, ValueError):
        return None
    if not isinstance(kept, dict) or kept.get("version") != _VERSION:
        return None
    value = kept.get("sha256")
    return value if isinstance(value, str) and re.fullmatch("[0-9a-f]{64}", value) else None
