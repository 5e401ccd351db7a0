"""Building the clips into a folder: several at once, each whole or not at all, none twice."""

import errno
import fcntl
import hashlib
import os
import shutil
import signal
import tempfile
import threading
from collections.abc import Callable, Iterator, Mapping, Sequence
from concurrent.futures import FIRST_COMPLETED, Future, ProcessPoolExecutor, wait
from concurrent.futures.process import BrokenProcessPool
from contextlib import ExitStack, contextmanager, suppress
from functools import cache
from importlib import resources
from multiprocessing import get_context, parent_process
from multiprocessing.queues import SimpleQueue
from multiprocessing.synchronize import Event
from pathlib import Path
from typing import Literal

from pydantic import Field, ValidationError

from sessions.errors import FramecallError
from sessions.rules.events import load_event
from sessions.validation import Frozen
from tui.demo.layout import RATE
from tui.demo.painter import ScenePainter
from tui.demo.performance import perform
from tui.demo.score import Score, scores
from tui.demo.truth import witness
from tui.footage.writer import VideoWriter


class DemoError(FramecallError):
    """The invented footage cannot be built."""


MANIFEST = "framecall-demo.json"


class Built(Frozen):
    """One clip as built: the digest of what it was built from, and its size in bytes."""

    digest: str
    size_bytes: int = Field(ge=0)


class Manifest(Frozen):
    """All clips that were built in a folder, by name."""

    format: Literal["framecall-demo"] = "framecall-demo"
    version: Literal[1] = 1
    clips: dict[str, Built] = Field(default_factory=dict)

    def holds(self, folder: Path, name: str, digest: str) -> bool:
        """Whether a clip in the folder is still what would be built."""
        built = self.clips.get(name)
        clip = clip_path(folder, name)
        return (
            built is not None
            and built.digest == digest
            and clip.is_file()
            and clip.stat().st_size == built.size_bytes
            and truth_path(folder, name).is_file()
        )

    def with_clips(self, clips: Mapping[str, Built]) -> "Manifest":
        """The manifest with some clips added or replaced."""
        return Manifest(clips={**self.clips, **clips})


def clip_path(folder: Path, name: str) -> Path:
    """Where a clip lies in a folder."""
    return folder / f"{name}.mp4"


def truth_path(folder: Path, name: str) -> Path:
    """Where the truth of a clip lies: beside it."""
    return folder / f"{name}.truth.json"


def read_manifest(folder: Path) -> Manifest:
    """The manifest of a folder; an empty one where there is none, or none that can be read."""
    try:
        return Manifest.model_validate_json((folder / MANIFEST).read_bytes())
    except (OSError, ValidationError):
        return Manifest()


def digest_of(score: Score, scale: float) -> str:
    """SHA-256 of all that a clip is built from: its score, its scale and the drawing code."""
    text = f"{score.model_dump_json()} {scale} {_code()}"
    return hashlib.sha256(text.encode()).hexdigest()


@cache
def _code() -> str:
    """SHA-256 of this package's own modules: when the drawing changes, so does every clip."""
    hashed = hashlib.sha256()
    files = [f for f in resources.files("tui.demo").iterdir() if f.name.endswith(".py")]
    for file in sorted(files, key=lambda f: f.name):
        hashed.update(file.read_bytes())
    return hashed.hexdigest()


_CODING = {
    "preset": "ultrafast",
    "x264-params": "qp=26",  # what a rate would need is not worked out
    "bf": "2",  # the preset alone would leave the B-frames out
    "g": "120",
    "threads": "2",  # a frame is encoded while the next is painted
}
"""The fastest way to encode on two cores; the picture must show single pixels and faint marks."""

_TOLD_EVERY = 60


def film(painter: ScenePainter, path: Path, told: Callable[[int], None]) -> None:
    """Paint and encode all frames of a performance to ``path``.

    ``told`` is called now and then with the number of frames that are done.

    Raises OSError where the disk does not take it; nothing is then left at ``path``.
    """
    with VideoWriter(path, painter.size, RATE, options=_CODING) as writer:
        for number, planes in enumerate(painter.frames(), 1):
            writer.write_planes(planes)
            if number % _TOLD_EVERY == 0:
                told(number)


Progress = Callable[[str, int, int], None]
"""Is called with the name of a clip, how many of its frames are done, and how many it has."""

_LOOKS_EVERY = 0.2
"""Seconds between two looks at the progress of other processes."""

ASIDE = ".framecall-building-"
"""How the name of a folder begins in which something is built until it is whole."""


def build(
    folder: str | os.PathLike[str],
    names: Sequence[str] | None = None,
    progress: Progress | None = None,
    workers: int = 2,
    *,
    scale: float = 1.0,
) -> list[Path]:
    """Build the named clips (all, without names) and their truths; gives the clips' paths.

    Clips that are there already, from the same score and drawing code, are left as they are. Up
    to ``workers`` clips are built at once, each in a process of its own. ``scale`` times 1280x720
    is the size of the picture. Raises DemoError for an unknown name, and where the folder cannot
    be written or the disk is full.
    """
    wanted = named_scores(names)
    place = Path(folder)
    try:
        _build(place, wanted, progress or _silent, workers, scale)
    except OSError as error:
        raise DemoError(_sentence(place, error)) from None
    except BrokenProcessPool:
        raise DemoError(
            f"A process that was building into {place} was ended from outside; build it again, "
            "with less running beside it."
        ) from None
    return [clip_path(place, score.name) for score in wanted]


def named_scores(names: Sequence[str] | None) -> list[Score]:
    """The scores of the named clips, of all without names; DemoError for an unknown name."""
    known = scores()
    chosen = list(known) if names is None else list(dict.fromkeys(names))
    if unknown := [name for name in chosen if name not in known]:
        raise DemoError(f'There is no demo clip "{unknown[0]}"; take one of {", ".join(known)}.')
    return [known[name] for name in chosen]


def _sentence(folder: Path, error: OSError) -> str:
    if error.errno in (errno.ENOSPC, errno.EDQUOT):
        return f"The disk that holds {folder} is full; make room there, or name another folder."
    if error.errno in (errno.EACCES, errno.EPERM, errno.EROFS):
        return f"The folder {folder} may not be written to; name another folder for the demo."
    reason = error.strerror or str(error)
    return f"The demo cannot be built in {folder} ({reason}); name another folder for it."


def _silent(name: str, done: int, frames: int) -> None:
    """Report no progress."""


@contextmanager
def set_aside(parent: Path) -> Iterator[Path]:
    """Make a new folder within ``parent`` to build something in, and remove it at the end.

    Folders that ended builds have left are removed first; a build that still runs holds a lock on
    its folder, which keeps it. SIGTERM and SIGHUP end the program as an exception does.
    """
    with _as_exceptions(signal.SIGTERM, signal.SIGHUP):
        with _locked(parent, waiting=True):
            for left in parent.glob(f"{ASIDE}*"):
                with suppress(OSError), _locked(left):
                    shutil.rmtree(left, ignore_errors=True)
            aside = Path(tempfile.mkdtemp(prefix=ASIDE, dir=parent))
            lock = ExitStack()
            lock.enter_context(_locked(aside))
        with lock:
            try:
                yield aside
            finally:
                shutil.rmtree(aside, ignore_errors=True)


@contextmanager
def _locked(folder: Path, *, waiting: bool = False) -> Iterator[None]:
    """Hold the lock on a folder; BlockingIOError where it is held, unless ``waiting`` for it."""
    handle = os.open(folder, os.O_RDONLY | os.O_DIRECTORY)
    try:
        fcntl.flock(handle, fcntl.LOCK_EX if waiting else fcntl.LOCK_EX | fcntl.LOCK_NB)
        yield
    finally:
        os.close(handle)


@contextmanager
def _as_exceptions(*signals: signal.Signals) -> Iterator[None]:
    """Let signals that would end the program raise SystemExit, so that it leaves nothing behind."""

    def end(number: int, frame: object) -> None:
        raise SystemExit(128 + number)

    kept = {}
    if threading.current_thread() is threading.main_thread():
        kept = {s: signal.signal(s, end) for s in signals if signal.getsignal(s) is signal.SIG_DFL}
    try:
        yield
    finally:
        for number, handler in kept.items():
            signal.signal(number, handler)


def _build(
    folder: Path, wanted: list[Score], progress: Progress, workers: int, scale: float
) -> None:
    folder.mkdir(parents=True, exist_ok=True)
    digests = {score.name: digest_of(score, scale) for score in wanted}
    manifest = read_manifest(folder)
    stale = [s for s in wanted if not manifest.holds(folder, s.name, digests[s.name])]
    if not stale:
        return
    with set_aside(folder) as aside:
        for name in _made(stale, aside, progress, min(workers, len(stale)), scale):
            for path in (truth_path, clip_path):
                os.replace(path(aside, name), path(folder, name))
            size = clip_path(folder, name).stat().st_size
            # read again: another program may have built other clips in the meantime
            built = {name: Built(digest=digests[name], size_bytes=size)}
            manifest = read_manifest(folder).with_clips(built)
            (aside / MANIFEST).write_text(manifest.model_dump_json(indent=1), encoding="utf-8")
            os.replace(aside / MANIFEST, folder / MANIFEST)


def _made(
    stale: list[Score], aside: Path, progress: Progress, workers: int, scale: float
) -> Iterator[str]:
    """Build clips into a folder aside; yields each one's name when it is done."""
    if workers <= 1:
        for score in stale:
            _make(score, aside, scale, progress)
            yield score.name
        return
    yield from _made_at_once(stale, aside, progress, workers, scale)


def _made_at_once(
    stale: list[Score], aside: Path, progress: Progress, workers: int, scale: float
) -> Iterator[str]:
    # a forked child of a program with threads may hang, so every worker starts afresh
    context = get_context("spawn")
    told: SimpleQueue[tuple[str, int, int]] = context.SimpleQueue()
    stop = context.Event()
    longest_first = sorted(stale, key=_length, reverse=True)
    pool = ProcessPoolExecutor(workers, context, _begin, (told, stop))
    try:
        waiting: dict[Future[None], str] = {
            pool.submit(_make_in_worker, score, aside, scale): score.name for score in longest_first
        }
        while waiting:
            done, _ = wait(waiting, timeout=_LOOKS_EVERY, return_when=FIRST_COMPLETED)
            while not told.empty():
                progress(*told.get())
            for future in done:
                future.result()
                yield waiting.pop(future)
    finally:
        stop.set()
        pool.shutdown(wait=True, cancel_futures=True)


def _length(score: Score) -> int:
    """How many formations a clip shows, by which its length can be compared with others'."""
    return len(load_event(score.event).rows) * len(score.runs)


_tell: Progress = _silent
"""How a worker tells its progress; raises InterruptedError where it is to stop."""


def _begin(told: "SimpleQueue[tuple[str, int, int]]", stop: Event) -> None:
    """Make a process a worker: it stops when it is told to, and ends with its parent."""
    global _tell

    def tell(name: str, done: int, frames: int) -> None:
        if stop.is_set():
            raise InterruptedError
        told.put((name, done, frames))

    _tell = tell
    # an interrupt from the terminal reaches all processes; the parent alone decides what it means
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    threading.Thread(target=_end_with_parent, daemon=True).start()


def _end_with_parent() -> None:
    parent = parent_process()
    assert parent is not None
    parent.join()
    os._exit(1)


def _make_in_worker(score: Score, aside: Path, scale: float) -> None:
    _make(score, aside, scale, _tell)


def _make(score: Score, aside: Path, scale: float, progress: Progress) -> None:
    performance = perform(score)
    frames = performance.frames
    truth = witness(performance, scale).model_dump_json(indent=1)
    truth_path(aside, score.name).write_text(truth + "\n", encoding="utf-8")
    film(
        ScenePainter(performance, scale),
        clip_path(aside, score.name),
        lambda done: progress(score.name, done, frames),
    )
    progress(score.name, frames, frames)
