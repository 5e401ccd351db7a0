"""Asking the terminal what it can do, before anything is drawn on it."""

import fcntl
import os
import select
import struct
import sys
import termios
import time
import tty
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from types import TracebackType
from typing import Self

from tui.picture.terminal import QUERIES, Terminal, ended, read_replies, understands_queries

LONGEST_WAIT = 0.6
"""Seconds to wait for a terminal that does not answer."""


class Asking:
    """Questions sent to a terminal at once, which it answers while other things are done.

    Use it as a context: however that is left, the replies are taken from the input, and the
    terminal is as it was. ``into`` and ``out`` are file descriptors; ``longest`` is how many
    seconds after the questions replies are waited for.
    """

    def __init__(self, into: int, out: int, longest: float = LONGEST_WAIT) -> None:
        self._into = into
        self._before = termios.tcgetattr(into)
        tty.setcbreak(into, termios.TCSANOW)
        os.write(out, QUERIES.encode())
        self._end = time.monotonic() + longest
        self._replies: bytes | None = None

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.replies()

    def replies(self) -> bytes:
        """What the terminal replied, waiting until the last answer has come."""
        if self._replies is None:
            try:
                self._replies = self._read()
            finally:
                termios.tcsetattr(self._into, termios.TCSANOW, self._before)
        return self._replies

    def _read(self) -> bytes:
        replies = b""
        while not ended(replies):
            left = max(0.0, self._end - time.monotonic())
            if not select.select([self._into], [], [], left)[0]:
                break
            replies += os.read(self._into, 4096)
        return replies


@contextmanager
def probe(environment: Mapping[str, str] = os.environ) -> Iterator[Callable[[], Terminal]]:
    """Ask the terminal at standard input and output; gives what waits for the answers.

    Where there is none, or one that would print the questions, the environment alone speaks.
    """
    into, out = sys.__stdin__, sys.__stdout__
    if into is None or out is None or not (into.isatty() and out.isatty()):
        yield lambda: read_replies(b"", environment)
        return
    size, pixels = _window(out.fileno())
    if not understands_queries(environment):
        yield lambda: read_replies(b"", environment, size, pixels)
        return
    with Asking(into.fileno(), out.fileno()) as asking:
        yield lambda: read_replies(asking.replies(), environment, size, pixels)


def _window(terminal: int) -> tuple[tuple[int, int], tuple[int, int]]:
    """Columns and rows, and width and height in pixels, as the kernel knows them; 0 if it does not.

    Source: tty_ioctl(4), TIOCGWINSZ.
    """
    told = fcntl.ioctl(terminal, termios.TIOCGWINSZ, bytes(8))
    rows, columns, width, height = struct.unpack("4H", told)
    return (columns, rows), (width, height)
