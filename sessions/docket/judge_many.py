"""Judging many sessions: each is judged by itself, so that several processes can share them."""

import os
from collections.abc import Callable, Generator, Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor, as_completed
from concurrent.futures.process import BrokenProcessPool
from contextlib import suppress
from multiprocessing import get_context, resource_tracker

from sessions.docket.review_summary import ReviewSummary

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
