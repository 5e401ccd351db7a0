"""The files of issued rulings: read and checked one after the other, written all or none.

Each ruling names the one before it by number and SHA-256.
"""

import os
import re
from collections.abc import Mapping
from contextlib import ExitStack, suppress
from dataclasses import dataclass
from hashlib import sha256
from pathlib import Path

from pydantic import ValidationError

from sessions.errors import DocumentError
from sessions.record.wholefile import Part, sweep
from sessions.validation import first_problem
from tui.documents.pages import RulingDocument


@dataclass(frozen=True, slots=True)
class Issued:
    """An issued ruling; ``sha256`` is of its JSON file."""

    path: Path
    number: int
    sha256: str
    document: RulingDocument


def next_number(folder: Path, stem: str) -> int:
    """The number for the next ruling: one more than the highest that was ever taken there."""
    taken = re.compile(rf"{re.escape(stem)}\.ruling-([1-9]\d*)\.")
    numbers = [int(found[1]) for name in _names(folder) if (found := taken.match(name))]
    return max(numbers, default=0) + 1


def issued_rulings(folder: Path, stem: str) -> tuple[Issued, ...]:
    """All issued rulings in order, each checked against its printed files and the ruling before it.

    Raises DocumentError for one that is not as it was issued.
    """
    pattern = re.compile(rf"{re.escape(stem)}\.ruling-([1-9]\d*)\.json")
    found = sorted((int(m[1]), m[0]) for name in _names(folder) if (m := pattern.fullmatch(name)))
    chain: list[Issued] = []
    for number, name in found:
        ruling = read_issued(folder / name, number)
        _check_printed(ruling)
        _check_follows(ruling, chain[-1] if chain else None)
        chain.append(ruling)
    last, taken = (chain[-1].number if chain else 0), next_number(folder, stem) - 1
    if taken > last:
        path = folder / f"{stem}.ruling-{taken}.json"
        raise _changed(path, "it is missing, though other files of that ruling are there")
    return tuple(chain)


def _names(folder: Path) -> list[str]:
    try:
        return [entry.name for entry in folder.iterdir()]
    except FileNotFoundError:
        return []
    except OSError as error:
        raise DocumentError(
            f"The folder {folder} cannot be read ({error.strerror}); name another with --out."
        ) from None


def read_issued(path: Path, number: int) -> Issued:
    """One issued ruling by its path and number; DocumentError where its file is not as issued."""
    try:
        data = path.read_bytes()
        document = RulingDocument.model_validate_json(data)
    except OSError as error:
        raise _changed(path, error.strerror or "cannot be read") from None
    except ValidationError as error:
        raise _changed(path, first_problem(error)) from None
    if document.number != number:
        raise _changed(path, f"it says that it is number {document.number}")
    return Issued(path, number, sha256(data).hexdigest(), document)


def _check_printed(ruling: Issued) -> None:
    for name, expected in ruling.document.printed.items():
        file = ruling.path.with_name(Path(name).name)
        try:
            found = sha256(file.read_bytes()).hexdigest()
        except OSError as error:
            raise _changed(file, error.strerror or "cannot be read") from None
        if found != expected:
            raise _changed(file, f"its SHA-256 is not the one in {ruling.path.name}")


def _check_follows(ruling: Issued, before: Issued | None) -> None:
    said = ruling.document.supersedes
    told = None if said is None else (said.number, said.sha256)
    if told != (None if before is None else (before.number, before.sha256)):
        raise _changed(ruling.path, "it does not follow the ruling before it, which was changed")


def _changed(path: Path, what: str) -> DocumentError:
    return DocumentError(
        f"The issued ruling {path} is not as it was issued ({what}); restore the file from a copy."
    )


_ISSUED_MODE = 0o444
_DRAFT_MODE = 0o666


def write_set(folder: Path, files: Mapping[str, bytes], *, replace: bool) -> tuple[Path, ...]:
    """Write files by name, in their order, and give their paths.

    Without ``replace`` they are read-only, and refused where the first of them exists already.
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
    sweep(folder)
    paths = tuple(folder / name for name in files)
    mode = _DRAFT_MODE if replace else _ISSUED_MODE
    with ExitStack() as unnamed:
        parts = [unnamed.enter_context(Part(folder, mode)) for _ in files]
        for part, data in zip(parts, files.values(), strict=True):
            part.write(data)
        if not replace:
            _reserve(paths[0])
        try:
            for part, path in zip(parts, paths, strict=True):
                part.replace(path)
        except BaseException:
            for path in () if replace else paths:
                with suppress(OSError):
                    path.unlink(missing_ok=True)
            raise
    return paths


def _reserve(path: Path) -> None:
    """Create an empty file of a name, so that of two programs only one gets it."""
    try:
        os.close(os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL | os.O_CLOEXEC, _ISSUED_MODE))
    except FileExistsError:
        raise DocumentError(
            f"{path} was issued in the meantime; look at it, and issue again."
        ) from None
