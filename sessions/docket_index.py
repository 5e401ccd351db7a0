"""The derived index of a docket: what each session file says, so that it need not be judged again.

One JSON file, which may be deleted at any time. It is ignored where it is damaged, or was derived
by other rules than this program's; a session is judged again when its size or its time of change
differs. Session files only grow, so the two tell every change.
"""

import hashlib
import os
import stat
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from functools import cache
from importlib import resources
from pathlib import Path

from pydantic import TypeAdapter, ValidationError

from sessions.review import Review
from sessions.wholefile import write_whole

Stamp = tuple[int, int]
"""Size in bytes, and time of change in nanoseconds."""
Progress = Callable[[int, int], None]
"""Told how many sessions are judged, of how many that had changed."""


@dataclass(frozen=True, slots=True)
class Indexed:
    """What one session file said when it had this stamp."""

    stamp: Stamp
    review: Review


@dataclass(frozen=True, slots=True)
class _File:
    made_by: str
    sessions: dict[str, Indexed]


_FORMAT = TypeAdapter(_File)


class DocketIndex:
    """Reviews by the names of their session files, kept up with the files by ``refresh``."""

    def __init__(self, file: Path) -> None:
        self.file = file
        self._sessions = _load(file)

    def reviews(self) -> Iterable[Review]:
        """The review of every session file, in no order."""
        return [indexed.review for indexed in self._sessions.values()]

    def refresh(
        self,
        stamps: Mapping[str, Stamp],
        judge: Callable[[str], Review],
        progress: Progress | None = None,
    ) -> bool:
        """Judge the sessions whose stamps differ; what is judged is kept even when interrupted.

        Whether anything changed.
        """
        known = self._sessions
        kept = {name: found for name, found in known.items() if _holds(found, stamps.get(name))}
        due = [name for name in stamps if name not in kept]
        self._sessions = kept
        try:
            for count, name in enumerate(due, 1):
                kept[name] = Indexed(stamp=stamps[name], review=judge(name))
                if progress is not None:
                    progress(count, len(due))
        finally:
            changed = len(kept) != len(known) or any(kept.get(n) != known.get(n) for n in due)
            if changed:
                self._save()
        return changed

    def _save(self) -> None:
        """Write the index; without one, the next opening is slower and nothing else is lost."""
        file = _File(rules_fingerprint(), self._sessions)
        data = _FORMAT.dump_json(file, exclude_defaults=True)
        try:
            self.file.parent.mkdir(parents=True, exist_ok=True)
            write_whole(self.file, data)
        except OSError:
            return


def stamps_of(folder: Path, is_session: Callable[[str], bool]) -> dict[str, Stamp]:
    """The stamp of every session file in a folder; raises OSError where it cannot be listed."""
    with os.scandir(folder) as entries:
        found = ((entry.name, _stamp(entry)) for entry in entries if is_session(entry.name))
        return {name: stamp for name, stamp in found if stamp is not None}


def _stamp(entry: os.DirEntry[str]) -> Stamp | None:
    """The stamp of a regular file; ``None`` for others, and for one that went meanwhile."""
    try:
        found = entry.stat()
    except FileNotFoundError:
        return None
    return (found.st_size, found.st_mtime_ns) if stat.S_ISREG(found.st_mode) else None


def _holds(found: Indexed, stamp: Stamp | None) -> bool:
    """Whether what was found still holds; a file that could not be read is tried again."""
    return found.stamp == stamp and not found.review.unread


@cache
def rules_fingerprint() -> str:
    """SHA-256 over the code and data of this package, by which every review was derived."""
    digest = hashlib.sha256()
    for entry in sorted(resources.files("sessions").iterdir(), key=lambda entry: entry.name):
        if entry.name.endswith((".py", ".toml")):
            digest.update(entry.read_bytes())
    return digest.hexdigest()


def _load(file: Path) -> dict[str, Indexed]:
    try:
        found = _FORMAT.validate_json(file.read_bytes())
    except (OSError, ValidationError):
        return {}
    return found.sessions if found.made_by == rules_fingerprint() else {}
