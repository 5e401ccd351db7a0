"""Building the clips into a folder: several at once, each whole or not at all, none twice."""

import errno
import os
import shutil
import tempfile
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import FIRST_COMPLETED, Future, ProcessPoolExecutor, wait
from concurrent.futures.process import BrokenProcessPool
from multiprocessing import get_context
from multiprocessing.queues import SimpleQueue
from pathlib import Path

from tui.demo.errors import DemoError
from tui.demo.film import film
from tui.demo.manifest import (
    NAME,
    Built,
    clip_path,
    digest_of,
    read_manifest,
    truth_path,
)
from tui.demo.painter import Painter
from tui.demo.score import FIRST_SET, Score, scores
from tui.demo.tape import perform
from tui.demo.witness import witness

__all__ = ["FIRST_SET", "build"]

Progress = Callable[[str, int, int], None]
"""Told the name of a clip, how many of its frames are done, and how many it has."""

_TOLD_EVERY = 0.2
"""Seconds between two tellings, while other processes build."""

_told: "SimpleQueue[tuple[str, int, int]] | None" = None


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
    """Nobody wants to know."""


def _build(
    folder: Path, wanted: list[Score], progress: Progress, workers: int, scale: float
) -> None:
    folder.mkdir(parents=True, exist_ok=True)
    manifest = read_manifest(folder)
    digests = {score.name: digest_of(score, scale) for score in wanted}
    stale = [s for s in wanted if not manifest.holds(folder, s.name, digests[s.name])]
    if not stale:
        return
    aside = Path(tempfile.mkdtemp(prefix=".building-", dir=folder))
    try:
        for name in _made(stale, aside, progress, min(workers, len(stale)), scale):
            for path in (truth_path, clip_path):
                os.replace(path(aside, name), path(folder, name))
            size = clip_path(folder, name).stat().st_size
            manifest = manifest.with_clips({name: Built(digest=digests[name], size_bytes=size)})
            (aside / NAME).write_text(manifest.model_dump_json(indent=1), encoding="utf-8")
            os.replace(aside / NAME, folder / NAME)
    finally:
        shutil.rmtree(aside, ignore_errors=True)


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
    longest_first = sorted(stale, key=lambda score: -len(score.event) * len(score.runs))
    pool = ProcessPoolExecutor(workers, context, _begin, (told,))
    try:
        waiting: dict[Future[None], str] = {
            pool.submit(_make_in_worker, score, aside, scale): score.name for score in longest_first
        }
        while waiting:
            done, _ = wait(waiting, timeout=_TOLD_EVERY, return_when=FIRST_COMPLETED)
            while not told.empty():
                progress(*told.get())
            for future in done:
                future.result()
                yield waiting.pop(future)
    finally:
        pool.shutdown(wait=True, cancel_futures=True)


def _begin(told: "SimpleQueue[tuple[str, int, int]]") -> None:
    global _told
    _told = told


def _make_in_worker(score: Score, aside: Path, scale: float) -> None:
    assert _told is not None
    queue = _told
    _make(score, aside, scale, lambda *progress: queue.put(progress))


def _make(score: Score, aside: Path, scale: float, progress: Progress) -> None:
    performance = perform(score)
    frames = performance.frames
    truth = witness(performance, scale).model_dump_json(indent=1)
    truth_path(aside, score.name).write_text(truth + "\n", encoding="utf-8")
    film(
        Painter(performance, scale),
        clip_path(aside, score.name),
        lambda done: progress(score.name, done, frames),
    )
    progress(score.name, frames, frames)
