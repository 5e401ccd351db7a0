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
    try:
        return _write_set(folder, files, replace)
    except OSError as error:
        raise DocumentError(
            f"The documents cannot be written to {folder} ({error.strerror}); name another folder "
            "with --out."
        ) from None


def _write_set(folder: Path, files: Mapping[str, bytes], replace: bool) -> tuple[Path, ...]:
    folder.mkdir(parents=True, exist_ok=True)
    paths = tuple(folder / name for name in files)
    own: list[Path] = []  # what is to be removed again, should this fail
    try:
        parts = [_part(folder, data, replace, own) for data in files.values()]
        if not replace:
            _reserve(paths[0])
            own += paths
        for part, path in zip(parts, paths, strict=True):
            part.replace(path)
        _sync(folder)
    except BaseException:
        for path in own:
            with suppress(OSError):
                path.unlink(missing_ok=True)
        raise
    return paths


def _part(folder: Path, data: bytes, replace: bool, own: list[Path]) -> Path:
    """A file aside, entered into ``own`` before it is begun."""
    path = folder / f".{secrets.token_hex(8)}.part"
    own.append(path)
    _write(path, data, _DRAFT_MODE if replace else _ISSUED_MODE)
    return path


def _write(path: Path, data: bytes, mode: int) -> None:
    handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL | os.O_CLOEXEC, mode)
    with os.fdopen(handle, "wb") as target:
        target.write(data)
        target.flush()
        os.fsync(target.fileno())


def _reserve(path: Path) -> None:
    """Take a name, so that of two programs at once only one gets it."""
    try:
        os.close(os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL | os.O_CLOEXEC, _ISSUED_MODE))
    except FileExistsError:
        raise DocumentError(
            f"{path} was issued in the meantime; look at it, and issue again."
        ) from None


def _sync(folder: Path) -> None:
    handle = os.open(folder, os.O_RDONLY | os.O_CLOEXEC)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
