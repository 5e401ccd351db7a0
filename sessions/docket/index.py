"""The derived index of a docket: what each session file says, so that it need not be judged again.

One file of JSON under a seal, which may be deleted at any time. It is ignored where a byte of it
was changed, or where it was derived by other rules than this program's; a session is judged again
when its stamp differs. It is a help, no evidence: documents are issued from the sessions alone.
"""

import hashlib
import os
import stat
from collections.abc import Callable, Generator, Iterable, Iterator, Mapping, Sequence
from concurrent.futures import ProcessPoolExecutor, as_completed
from concurrent.futures.process import BrokenProcessPool
from contextlib import suppress
from dataclasses import dataclass
from functools import cache
from importlib import resources
from multiprocessing import get_context, resource_tracker
from pathlib import Path

from pydantic import TypeAdapter, ValidationError

from sessions.docket.review_summary import ReviewSummary
from sessions.record.wholefile import write_whole

Judge = Callable[[str], ReviewSummary]
"""From the name of a session file to its review; sent to other processes, so it pickles."""

MANY = 300
"""Sessions that are judged here in about the time that other processes take to begin."""
SHARE = 50
"""Sessions that a process is given at once."""
MOST_PROCESSES = 8
NICENESS = 2
"""Judging gives way to those who work at the machine."""


def prepare() -> None:
    """Begin what other processes need, before a screen takes standard error away.

    Without this, all is judged here once a screen is shown.
    """
    with suppress(OSError):
        resource_tracker.ensure_running()


def judge_all(
    names: Sequence[str], judge: Judge, processes: int | None = None
) -> Generator[tuple[str, ReviewSummary]]:
    """Each name with its review, in no order; many are shared by so many processes.

    Without a number there are as many processes as this one may use cores. What no other process
    can do, because the system refuses or ends it, is done here.
    """
    left = dict.fromkeys(names)
    count = processes or min(MOST_PROCESSES, _cores())
    if len(left) >= MANY and count > 1:
        for name, review in _shared(names, judge, count):
            del left[name]
            yield name, review
    for name in left:
        yield name, judge(name)


def _cores() -> int:
    """How many cores this process may use."""
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


def _shared(names: Sequence[str], judge: Judge, count: int) -> Iterator[tuple[str, ReviewSummary]]:
    """What other processes judge, until they can do no more."""
    try:
        # a forked child of a program with threads may hang, so every process starts afresh
        pool = ProcessPoolExecutor(count, get_context("spawn"), os.nice, (NICENESS,))
        shares = [names[at : at + SHARE] for at in range(0, len(names), SHARE)]
        futures = [pool.submit(_judge_share, share, judge) for share in shares]
    except (OSError, ValueError):  # ValueError: standard error is no file
        return
    try:
        for future in as_completed(futures):
            yield from future.result()
    except (BrokenProcessPool, OSError):
        return
    finally:
        pool.shutdown(cancel_futures=True)


def _judge_share(names: Sequence[str], judge: Judge) -> list[tuple[str, ReviewSummary]]:
    return [(name, judge(name)) for name in names]


Stamp = tuple[int, ...]
"""Size in bytes, times of change of the bytes and of the entry in nanoseconds, and inode."""
Progress = Callable[[int, int], None]
"""Told how many sessions are judged, of how many that had changed."""

WORTH_SAVING = 100
"""The index is written at once when one in so many sessions has changed since it was last."""


@dataclass(frozen=True, slots=True)
class KeptReview:
    """What one session file said when it had this stamp."""

    stamp: Stamp
    review: ReviewSummary


_FORMAT = TypeAdapter(dict[str, KeptReview])


class DocketIndex:
    """Reviews by the names of their session files, kept up with the files by ``refresh``."""

    def __init__(self, file: Path) -> None:
        self.file = file
        self.due: list[str] = []
        """The sessions that are still to be judged, as of the last survey."""
        self._sessions = _load(file)
        self._stamps: Mapping[str, Stamp] = {}
        self._unsaved = 0

    def reviews(self) -> Iterable[ReviewSummary]:
        """The review of every session file judged so far, in no order."""
        return [indexed.review for indexed in self._sessions.values()]

    @property
    def unread(self) -> Iterable[str]:
        """The session files of which nothing is known yet."""
        return [name for name in self.due if name not in self._sessions]

    def refresh(
        self, stamps: Mapping[str, Stamp], judge: Judge, progress: Progress | None = None
    ) -> bool:
        """Judge the sessions whose stamps differ; what is judged is kept even when interrupted.

        Whether anything changed.
        """
        gone = self.survey(stamps)
        return self.judge(judge, progress) or gone

    def survey(self, stamps: Mapping[str, Stamp]) -> bool:
        """Find what is due, and forget the sessions that are gone; whether there were any.

        What was known of a session that changed is kept until it is judged again.
        """
        known = self._sessions
        self._sessions = {name: found for name, found in known.items() if name in stamps}
        self._stamps = stamps
        self.due = [name for name, stamp in stamps.items() if not _holds(known.get(name), stamp)]
        gone = len(known) - len(self._sessions)
        self._unsaved += gone
        return gone > 0

    def judge(self, judge: Judge, progress: Progress | None = None) -> bool:
        """Judge what is due; whether anything changed."""
        due, changed = self.due, 0
        judged = judge_all(due, judge)
        left = set(due)
        try:
            for name, review in judged:
                now = KeptReview(stamp=self._stamps[name], review=review)
                changed += now != self._sessions.get(name)
                self._sessions[name] = now
                left.discard(name)
                if progress is not None:
                    progress(len(due) - len(left), len(due))
        finally:
            judged.close()
            self.due = [name for name in due if name in left]
            self._unsaved += changed
            if self._unsaved * WORTH_SAVING >= len(self._sessions):
                self.save()
        return changed > 0

    def save(self) -> None:
        """Write the index if it changed; without one, the next opening is slower, no more."""
        if not self._unsaved:
            return
        data = _FORMAT.dump_json(self._sessions, exclude_defaults=True)
        self._unsaved = 0
        try:
            self.file.parent.mkdir(parents=True, exist_ok=True)
            write_whole(self.file, _seal(data) + b"\n" + data)
        except OSError:
            return


def stamps_of(folder: Path, is_session: Callable[[str], bool]) -> dict[str, Stamp]:
    """The stamp of every session file in a folder; raises OSError where it cannot be listed."""
    with os.scandir(folder) as entries:
        found = ((entry.name, _stamp(entry)) for entry in entries if is_session(entry.name))
        return {name: stamp for name, stamp in found if stamp is not None}


def _stamp(entry: os.DirEntry[str]) -> Stamp | None:
    """The stamp of a regular file; ``None`` for others, and for one that went meanwhile.

    One that cannot be looked at has a stamp too, so that reading it says why.
    """
    try:
        found = entry.stat()
    except FileNotFoundError:
        return None
    except OSError:
        return (0,)
    return stamp_of(found) if stat.S_ISREG(found.st_mode) else None


def stamp_of(found: os.stat_result) -> Stamp:
    """What tells a file from what it was: no program can set the time of its entry's change."""
    return found.st_size, found.st_mtime_ns, found.st_ctime_ns, found.st_ino


def _holds(found: KeptReview | None, stamp: Stamp) -> bool:
    """Whether what was found still holds; a file that could not be read is tried again."""
    return found is not None and found.stamp == stamp and not found.review.unread


@cache
def rules_fingerprint() -> str:
    """SHA-256 over the code and data of ``sessions``, by which every review was derived."""
    digest = hashlib.sha256()
    with resources.as_file(resources.files("sessions")) as package:
        for file in sorted(package.rglob("*")):
            if file.suffix in (".py", ".toml"):
                digest.update(file.relative_to(package).as_posix().encode())
                digest.update(file.read_bytes())
    return digest.hexdigest()


def _load(file: Path) -> dict[str, KeptReview]:
    try:
        seal, _, data = file.read_bytes().partition(b"\n")
        return _FORMAT.validate_json(data) if seal == _seal(data) else {}
    except (OSError, ValidationError):
        return {}


def _seal(data: bytes) -> bytes:
    """SHA-256 over the bytes of an index and the rules by which they were derived."""
    return hashlib.sha256(rules_fingerprint().encode() + data).hexdigest().encode()
