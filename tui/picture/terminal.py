"""What a terminal can do: asked of it before anything is drawn, and read from its environment.

Sequences: ECMA-48 and xterm's control sequences (DA1, CPR, DECRQM, DECRQSS, XTVERSION,
XTSMGRAPHICS, window reports), kitty's graphics protocol; all from memory.
"""

import fcntl
import os
import re
import select
import struct
import sys
import termios
import time
import tty
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from types import TracebackType
from typing import Self

from tui.picture.glyphs import OCTANTS

SENTINEL = "\x1b[c"
"""Primary device attributes: every terminal answers it, and answers in order."""

KNOCK = "\x1b[6n"
"""Asks for the cursor's position; whoever answers answers more. A late reply to this question does
nothing; the late replies to others would be read as keys that the reviewer typed.
"""

_STYLE = "\x1b[48;2;1;2;3m\x1bP$qm\x1b\\\x1b[0m"
_KITTY = "\x1b_Gi=31,s=1,v=1,a=q,t=d,f=24;AAAA\x1b\\"
_MEASURE = "\r{}\x1b[6n"
_ERASE = "\r\x1b[K"
_OCTANT = chr(int(OCTANTS.direct[5]))
_MEASURED = ("\u2598", _OCTANT, "\u2598\x1b[2b")
"""A block element, an octant, and a block that REP makes three of: tmux repeats letters only."""

QUERIES = (
    "\x1b[?2026$p\x1b[16t\x1b[14t\x1b[>q\x1b[?1;1;0S"
    + _STYLE
    + _KITTY
    + "".join(_MEASURE.format(text) for text in _MEASURED)
    + _ERASE
    + SENTINEL
)
"""One batch of questions; what they print is erased again."""

_DA1 = re.compile(rb"\x1b\[\?([\d;]*)c")
_CURSOR = re.compile(rb"\x1b\[\d+;(\d+)R")
_SYNC = re.compile(rb"\x1b\[\?2026;([123])\$y")
_CELL = re.compile(rb"\x1b\[6;(\d+);(\d+)t")
_AREA = re.compile(rb"\x1b\[4;(\d+);(\d+)t")
_NAME = re.compile(rb"\x1bP>\|([^\x1b]*)\x1b")
_STYLE_REPLY = re.compile(rb"\x1bP1\$r[^\x1b]*48[:;]2[:;]+1[:;]2[:;]3[^\x1b]*m\x1b")
_REGISTERS = re.compile(rb"\x1b\[\?1;0;(\d+)S")
_KITTY_REPLY = re.compile(rb"\x1b_Gi=31;OK\x1b")


@dataclass(frozen=True, slots=True)
class Terminal:
    """What is known of the terminal; everything is off until something says otherwise."""

    name: str = ""
    multiplexer: str | None = None
    """``tmux`` or ``screen``, which answer themselves instead of the terminal behind them."""
    answers: bool = False
    """It answered the sentinel."""
    reports_cursor: bool = False
    """It answers where its cursor is, which serves as an acknowledgement."""
    utf8: bool = False
    colours: int = 0
    """0 (none), 16, 256, or 1 << 24."""
    octants: bool = False
    """An octant takes one cell."""
    repeats: bool = False
    """It knows REP."""
    synchronised: bool = False
    """It knows mode 2026, by which an update shows at once."""
    cell: tuple[int, int] | None = None
    """Width and height of a cell in pixels."""
    kitty: bool = False
    sixel: bool = False
    registers: int = 256
    """Colours that sixels have at a time, as far as it tells."""


def opened(replies: bytes) -> bool:
    """Whether the reply to the knock is there."""
    return _CURSOR.search(replies) is not None


def ended(replies: bytes) -> bool:
    """Whether the reply to the sentinel is there."""
    return _DA1.search(replies) is not None


def read_replies(
    replies: bytes,
    environment: Mapping[str, str],
    size: tuple[int, int] = (0, 0),
    pixels: tuple[int, int] = (0, 0),
) -> Terminal:
    """What the replies and the environment say.

    ``size`` is the terminal's columns and rows, ``pixels`` its width and height as the kernel knows
    them, which counts where the terminal does not answer.
    """
    attributes = _DA1.search(replies)
    widths = [int(column) - 1 for column in _CURSOR.findall(replies)]
    block, octant, repeated = widths if len(widths) == len(_MEASURED) else (None,) * 3
    multiplexer = _multiplexer(environment, _name(replies))
    return Terminal(
        name=_name(replies),
        multiplexer=multiplexer,
        answers=attributes is not None,
        reports_cursor=bool(widths),
        utf8=_is_utf8(environment) if block is None else block == 1,
        colours=_colours(replies, environment),
        octants=octant == 1,
        repeats=repeated == 3,
        synchronised=_SYNC.search(replies) is not None,
        cell=_cell(replies, size, pixels),
        kitty=_KITTY_REPLY.search(replies) is not None,
        sixel=attributes is not None and b"4" in attributes[1].split(b";")[1:],
        registers=int(registers[1]) if (registers := _REGISTERS.search(replies)) else 256,
    )


def understands_queries(environment: Mapping[str, str]) -> bool:
    """Whether a terminal of this type takes the questions without printing them."""
    return environment.get("TERM", "") not in ("", "dumb", "linux", "unknown")


def _name(replies: bytes) -> str:
    name = _NAME.search(replies)
    return name[1].decode("ascii", "replace") if name else ""


def _multiplexer(environment: Mapping[str, str], name: str) -> str | None:
    kind = environment.get("TERM", "")
    if environment.get("TMUX") or kind.startswith("tmux") or name.startswith("tmux"):
        return "tmux"
    if environment.get("STY") or kind.startswith("screen"):
        return "screen"
    return None


def _is_utf8(environment: Mapping[str, str]) -> bool:
    """POSIX: the first of LC_ALL, LC_CTYPE and LANG that is set names the character set."""
    names = (environment.get(key) for key in ("LC_ALL", "LC_CTYPE", "LANG"))
    chosen = next((name for name in names if name), "")
    return "utf-8" in chosen.lower() or "utf8" in chosen.lower()


def _colours(replies: bytes, environment: Mapping[str, str]) -> int:
    kind = environment.get("TERM", "")
    if environment.get("NO_COLOR") or kind in ("", "dumb"):
        return 0
    says = environment.get("COLORTERM", "").lower() in ("truecolor", "24bit")
    if says or kind.endswith("-direct") or _STYLE_REPLY.search(replies):
        return 1 << 24
    return 256 if "256color" in kind else 16


def _cell(replies: bytes, size: tuple[int, int], pixels: tuple[int, int]) -> tuple[int, int] | None:
    """What is told first, and can be: terminals that do not know say 0."""
    told = [_pair(_CELL, replies)]
    if all(size):
        areas = (_pair(_AREA, replies), pixels)
        told += [(width // size[0], height // size[1]) for width, height in areas]
    return next((cell for cell in told if all(cell)), None)


def _pair(pattern: re.Pattern[bytes], replies: bytes) -> tuple[int, int]:
    """Width and height as a reply tells them; 0 where there is none."""
    reply = pattern.search(replies)
    return (int(reply[2]), int(reply[1])) if reply else (0, 0)


LONGEST_WAIT = 0.6
"""Seconds to wait for a terminal that does not answer."""

LONGEST_ANSWER = 5.0
"""Seconds to wait for all answers of a terminal that does: later ones would be read as keys."""

PROMPT = 0.02
"""Seconds within which a terminal on this machine answers."""


class TerminalQuestions:
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
    with TerminalQuestions(into.fileno(), out.fileno()) as asking:
        yield lambda: read_replies(asking.replies(), environment, size, pixels)


def _window(terminal: int) -> tuple[tuple[int, int], tuple[int, int]]:
    """Columns and rows, and width and height in pixels, as the kernel knows them; 0 if it does not.

    Source: tty_ioctl(4), TIOCGWINSZ.
    """
    told = fcntl.ioctl(terminal, termios.TIOCGWINSZ, bytes(8))
    rows, columns, width, height = struct.unpack("4H", told)
    return (columns, rows), (width, height)
