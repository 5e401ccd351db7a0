"""Footage that is looked at while it is still being read: index and fingerprint run behind.

The first frames are numbered by the first packets; the others follow as they are read. The file is
held open from the beginning, and what is read must be the state that it was in then.
"""

import hashlib
import os
import threading
import time
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass, field
from pathlib import Path

from sessions.errors import FootageError
from tui.footage.cache import FileIdentity, Progress, keep_fingerprint
from tui.footage.index import FootageIndex, keep_index
from tui.footage.indexing import build_index

_BLOCK = 1 << 20
_LOOK_SECONDS = 0.1
_MOST_SECONDS = 2.0  # for which the first picture is waited for before more is read
_BREATH = 0.0005
_GENTLE = 5  # how much less urgent than the bench (see nice(1)); more than the pass over pictures


@dataclass(frozen=True)
class OpenedState:
    """In which state a file is: its size in bytes, times of change in ns, and inode."""

    size: int
    modified_ns: int
    changed_ns: int
    inode: int

    @classmethod
    def of(cls, stat: os.stat_result) -> "OpenedState":
        """The state that the system tells."""
        return cls(stat.st_size, stat.st_mtime_ns, stat.st_ctime_ns, stat.st_ino)


@dataclass
class Readout:
    """What the reading has come to: the index so far and, in the end, the fingerprint."""

    index: FootageIndex | None = None
    sha256: str = ""
    failure: str = ""
    """Why it was broken off, in a sentence; empty where it was not."""
    done: dict[str, int] = field(default_factory=dict)
    """Bytes read, for the index and for the fingerprint."""


class FirstReading:
    """Reads a file to its end, the index in one thread and the fingerprint in another.

    ``tell`` is called from these threads whenever there is more in ``readout``. Raises OSError
    where the file cannot be opened.
    """

    def __init__(
        self,
        path: Path,
        folder: Path,
        track: int | None,
        tell: Callable[[], None],
        *,
        whole: bool = False,
    ) -> None:
        self._path, self._folder, self._track, self._tell = path, folder, track, tell
        self._whole = whole
        self._identity = FileIdentity.of(path)
        self._handle = os.open(path, os.O_RDONLY | os.O_CLOEXEC)
        self.state = OpenedState.of(os.fstat(self._handle))
        self.readout = Readout()
        self._changed = threading.Condition()
        self._closed = False
        self._shown = threading.Event()
        self._left = 2
        for work in (self._index, self._fingerprint):
            threading.Thread(target=self._run, args=(work,), daemon=True, name="read").start()

    @property
    def percent(self) -> int:
        """How much of the file has been read both for the index and for the fingerprint."""
        least = min(self.readout.done.get(what, 0) for what in ("index", "fingerprint"))
        return 100 * least // self.state.size

    def wait(self, *, whole: bool, progress: Progress | None = None) -> None:
        """Wait for the first numbered frames, or for all of it.

        Raises FootageError where the reading is broken off.
        """

        def ready() -> bool:
            readout = self.readout
            came = bool(readout.sha256) or (not whole and readout.index is not None)
            return came or bool(readout.failure)

        if whole:
            self.go_on()
        with self._changed:
            self._tell_of(progress)
            while not ready():
                self._changed.wait(_LOOK_SECONDS)
                self._tell_of(progress)
            if self.readout.failure:
                raise FootageError(self.readout.failure)

    def _tell_of(self, progress: Progress | None) -> None:
        if progress:
            by_decoding = "order" in self.readout.done
            progress(
                "order of frames, by decoding" if by_decoding else "reading", self.percent, 100
            )

    def go_on(self) -> None:
        """Read on behind the first frames: the first picture is there, or nobody waits for it."""
        self._shown.set()

    def close(self) -> None:
        """Read no further."""
        self._closed = True
        self.go_on()

    def check(self) -> None:
        """FootageError where the file, or what lies under its name, is not what it was."""
        try:
            there = OpenedState.of(os.stat(self._path))
        except OSError:
            there = None
        if self.state != there or self.state != OpenedState.of(os.fstat(self._handle)):
            raise FootageError(
                f"{self._path} changed while it was being read; wait until the recording or "
                "copying has finished, then open it again."
            )

    def _run(self, work: Callable[[], None]) -> None:
        with suppress(OSError, AttributeError):  # not every system knows urgency by thread
            os.setpriority(os.PRIO_PROCESS, threading.get_native_id(), _GENTLE)
        failure = ""
        try:
            work()
        except _Closed:
            pass
        except FootageError as error:
            failure = str(error)
        except Exception as error:  # whatever it is, those who wait must hear of it
            failure = f"{self._path} can no longer be read ({error}); open it again."
        with self._changed:
            self._left -= 1
            last = not self._left
            if failure:
                self.readout.failure = self.readout.failure or failure
        try:
            if last and not self.readout.failure and not self._closed:
                self._complete()
        except FootageError as error:
            self.readout.failure = str(error)
        finally:
            if last:
                os.close(self._handle)
        self._announce()

    def _index(self) -> None:
        def publish(index: FootageIndex) -> None:
            self.check()
            self.readout.index = index
            self._announce()
            self._wait_for_picture()

        whole = build_index(self._path, self._note, self._track, publish, whole=self._whole)
        if not whole.frames:
            raise FootageError(f"{self._path} holds no frame that is shown; ask for the original.")
        before = self.readout.index
        if before is not None and not _goes_on(before, whole):
            raise FootageError(
                f"The end of {self._path} tells another order of its first frames than they were "
                "shown in, so nothing can be judged by them; open it again, which reads it whole "
                "first, and begin another session."
            )
        publish(whole)

    def _fingerprint(self) -> None:
        self._wait_for_picture()
        digest, at = hashlib.sha256(), 0
        while block := os.pread(self._handle, _BLOCK, at):
            digest.update(block)
            at += len(block)
            self._note("fingerprint", at, self.state.size)
        self._sha256 = digest.hexdigest()

    def _wait_for_picture(self) -> None:
        """Let the first picture come first: threads in a hurry would only hinder each other."""
        self._shown.wait(_MOST_SECONDS)
        self._shown.set()

    def _note(self, what: str, done: int, _: int) -> None:
        if self._closed or self.readout.failure:
            raise _Closed
        time.sleep(_BREATH)  # so that what draws and answers keys has its turn
        self.readout.done[what] = done

    def _complete(self) -> None:
        """Hand out the whole index and the fingerprint, once nothing has changed meanwhile."""
        whole = self.readout.index
        assert whole is not None
        self.check()
        keep_fingerprint(self._identity, self._folder, self._sha256)
        keep_index(whole, self._sha256, self._folder, self._track, self._whole)
        self.readout.sha256 = self._sha256

    def _announce(self) -> None:
        with self._changed:
            self._changed.notify_all()
        self._tell()


class _Closed(Exception):
    """Nobody wants the reading any more."""


def _goes_on(before: FootageIndex, whole: FootageIndex) -> bool:
    """Whether the frames that had their numbers for good have them still, and their times."""
    count = before.numbered
    return (
        before.time_base == whole.time_base
        and whole.frames >= count
        and bool((before.pts[:count] == whole.pts[:count]).all())
        and bool((before.packet_of[:count] == whole.packet_of[:count]).all())
    )
