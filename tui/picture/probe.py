"""Asking the terminal what it can do, before anything is drawn on it."""

import os
import select
import sys
import termios
import time
import tty
from collections.abc import Mapping

from tui.picture.terminal import QUERIES, Terminal, ended, read_replies, understands_queries

LONGEST_WAIT = 0.6
"""Seconds to wait for a terminal that does not answer."""


def probe(environment: Mapping[str, str] = os.environ) -> Terminal:
    """Ask the terminal at standard input and output; it is left as it was.

    Where there is none, or one that would print the questions, the environment alone speaks.
    """
    into, out = sys.__stdin__, sys.__stdout__
    if into is None or out is None or not (into.isatty() and out.isatty()):
        return read_replies(b"", environment)
    replies = b""
    if understands_queries(environment):
        replies = ask(into.fileno(), out.fileno())
    return read_replies(replies, environment, os.get_terminal_size(out.fileno()))


def ask(into: int, out: int, longest: float = LONGEST_WAIT) -> bytes:
    """Send all questions to a terminal at once; what it replied until the last answer came."""
    before = termios.tcgetattr(into)
    tty.setcbreak(into, termios.TCSANOW)
    try:
        os.write(out, QUERIES.encode())
        replies, end = b"", time.monotonic() + longest
        while not ended(replies) and (left := end - time.monotonic()) > 0:
            if select.select([into], [], [], left)[0]:
                replies += os.read(into, 4096)
        return replies
    finally:
        termios.tcsetattr(into, termios.TCSANOW, before)
