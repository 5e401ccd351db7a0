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
from contextlib import contextmanager, suppress
from types import TracebackType
from typing import Self

from tui.picture.terminal import (
    KNOCK,
    QUERIES,
    Terminal,
    ended,
    opened,
    read_replies,
    understands_queries,
)

LONGEST_WAIT = 0.6
"""Seconds to wait for a terminal that does not answer."""

LONGEST_ANSWER = 5.0
"""Seconds to wait for all answers of a terminal that does: later ones would be read as keys."""

PROMPT = 0.02
"""Seconds within which a terminal on this machine answers."""


class Asking:
    """Questions sent to a terminal that answers, and does so while other things are done.

    Use it as a context: however that is left, the replies are taken from the input, and the
    terminal is as it was. ``into`` and ``out`` are file descriptors. A terminal is asked only once
    it has answered a first, harmless question; ``longest`` is how many seconds it has for that.
    """

    def __init__(self, into: int, out: int, longest: float = LONGEST_WAIT) -> None:
        self._into, self._out = into, out
        self._before = termios.tcgetattr(into)
        self._replies: bytes | None = None
        self._heard = b""
        self._is_asked = False
        tty.setcbreak(into, termios.TCSANOW)
        os.write(out, KNOCK.encode())
        self._end = time.monotonic() + longest
        self._ask_within(PROMPT)

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
                with suppress(termios.error):  # the terminal is gone, and its settings with it
                    termios.tcsetattr(self._into, termios.TCSANOW, self._before)
        return self._replies

    def _read(self) -> bytes:
        if not self._is_asked:
            self._ask_within(max(0.0, self._end - time.monotonic()))
        if self._is_asked:
            self._hear(ended, LONGEST_ANSWER)
        return self._heard

    def _ask_within(self, seconds: float) -> None:
        """Ask all questions, once the first is answered."""
        if self._hear(opened, seconds):
            os.write(self._out, QUERIES.encode())
            self._heard, self._is_asked = b"", True

    def _hear(self, enough: Callable[[bytes], bool], seconds: float) -> bool:
        """Read what comes until it is enough; whether it was, in so many seconds."""
        end = time.monotonic() + seconds
        while not enough(self._heard):
            left = max(0.0, end - time.monotonic())
            if not select.select([self._into], [], [], left)[0]:
                return False
            data = self._data()
            if not data:
                return False
            self._heard += data
        return True

    def _data(self) -> bytes:
        """What is there to be read; nothing where the terminal is gone."""
        try:
            return os.read(self._into, 4096)
        except OSError:
            return b""


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
