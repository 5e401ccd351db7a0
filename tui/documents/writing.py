"""Several files that appear together: written aside, then moved to their names."""

import os
import secrets
from collections.abc import Mapping
from contextlib import suppress
from pathlib import Path

from tui.documents.errors import DocumentError

_ISSUED_MODE = 0o444
_DRAFT_MODE = 0o644


def write_set(folder: Path, files: Mapping[str, bytes], *, replace: bool) -> tuple[Path, ...]:
    """Write files by name, the last of them last; gives their paths.

    Without ``replace`` they are read-only, and a first file that is there already is refused.
    Raises DocumentError, with none of the files left, where the disk does not take them.
    """
    parts: dict[str, Path] = {}
    reserved: list[Path] = []
    try:
        folder.mkdir(parents=True, exist_ok=True)
        for name, data in files.items():
            parts[name] = folder / f".{secrets.token_hex(8)}.part"
            _write(parts[name], data, _DRAFT_MODE if replace else _ISSUED_MODE)
        if not replace:
            reserved.append(_reserve(folder / next(iter(files))))
        for name, part in parts.items():
            part.replace(folder / name)
        _sync(folder)
    except OSError as error:
        for left in (*parts.values(), *reserved):
            with suppress(OSError):
                left.unlink(missing_ok=True)
        raise DocumentError(_sentence(folder, error)) from None
    return tuple(folder / name for name in files)


def _write(path: Path, data: bytes, mode: int) -> None:
    handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL | os.O_CLOEXEC, mode)
    with os.fdopen(handle, "wb") as target:
        target.write(data)
        target.flush()
        os.fsync(target.fileno())


def _reserve(path: Path) -> Path:
    """Take a name, so that of two programs at once only one gets it."""
    os.close(os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL | os.O_CLOEXEC, _ISSUED_MODE))
    return path


def _sync(folder: Path) -> None:
    handle = os.open(folder, os.O_RDONLY | os.O_CLOEXEC)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def _sentence(folder: Path, error: OSError) -> str:
    if isinstance(error, FileExistsError):
        return (
            f"A ruling of that number was issued into {folder} in the meantime; look at it, and "
            "issue again."
        )
    return (
        f"The documents cannot be written to {folder} ({error.strerror}); name another folder "
        "with --out."
    )
