"""The program in a pseudo-terminal, and what it has drawn there."""

import os
import signal
import sys
import time
from collections.abc import Callable
from pathlib import Path

import pexpect
import pyte

from tui.widgets.keygate import REPEAT_SECONDS

Start = Callable[..., "PseudoTerminal"]
"""Starts the program with arguments; the other words are those of ``PseudoTerminal``."""


class PseudoTerminal:
    """A program running in a terminal of its own size; ``lines`` is what a person sees."""

    def __init__(
        self,
        arguments: list[str],
        cache: Path,
        columns: int = 100,
        rows: int = 30,
        *,
        heeds_hang_ups: bool = True,
    ) -> None:
        hidden = ("COLUMNS", "LINES", "FRAMECALL_KEYS", "FRAMECALL_REVIEWER")
        env = {name: value for name, value in os.environ.items() if name not in hidden}
        env |= {
            "TERM": "xterm-256color",
            "COLORTERM": "truecolor",
            "FRAMECALL_CACHE": str(cache),
            "XDG_CONFIG_HOME": str(cache / "no-config"),
        }
        self._screen = pyte.Screen(columns, rows)
        self._stream = pyte.ByteStream(self._screen)
        self._child = pexpect.spawn(
            sys.executable, ["-m", "tui", *arguments], env=env, dimensions=(rows, columns),
            preexec_fn=_heeding_signals if heeds_hang_ups else _ignoring_hang_ups,
        )  # fmt: skip
        self._child.delaybeforesend = None
        self.raw = b""
        self._sent = ""

    @property
    def pid(self) -> int:
        return int(self._child.pid)

    @property
    def text(self) -> str:
        return "\n".join(self._screen.display)

    def send(self, keys: str) -> None:
        """What the terminal sends for keys; an Enter after an Enter no faster than by hand.

        The pause counts from what is on the screen by now: the program may have been late to take
        the Enter before, and counts from there.
        """
        if keys.startswith("\r") and self._sent.endswith("\r"):
            time.sleep(1.5 * REPEAT_SECONDS)
        self._child.send(keys)
        self._sent = keys

    def read(self, seconds: float = 0.02) -> bool:
        """Draw what has come; False once the program has ended."""
        try:
            data = self._child.read_nonblocking(65536, timeout=seconds)
        except pexpect.TIMEOUT:
            return True
        except pexpect.EOF:
            return False
        self.raw += data
        self._stream.feed(data)
        return True

    def until(self, condition: Callable[[], bool], seconds: float = 20.0) -> None:
        """Read on until something is so."""
        end = time.monotonic() + seconds
        while not condition():
            assert time.monotonic() < end, f"it did not come about:\n{self.text}"
            if not self.read():
                assert condition(), f"the program ended:\n{self.text}"

    def shows(self, words: str) -> None:
        """Wait until some words are on the screen."""
        self.until(lambda: words in self.text)

    def shows_frame(self, frame: int) -> None:
        """Wait until the bench shows a frame, and not only its number."""
        self.until(lambda: self.text.startswith(f"frame {frame}/"))
        self.until(lambda: "reading..." not in self.text.splitlines()[0])

    def code(self, seconds: float = 20.0) -> int | None:
        """The exit code, once the program has ended; None where a signal ended it."""
        end = time.monotonic() + seconds
        while self.read():
            assert time.monotonic() < end, f"the program does not end:\n{self.text}"
        self._child.close()
        code: int | None = self._child.exitstatus
        return code

    def hang_up(self, seconds: float = 20.0) -> int | None:
        """Take the terminal away, as a line does that breaks; the exit code, as ``code``."""
        self._child.ptyproc.fileobj.close()
        end = time.monotonic() + seconds
        while self._child.isalive():
            assert time.monotonic() < end, "the program does not end"
            time.sleep(0.05)
        code: int | None = self._child.exitstatus
        return code

    def close(self) -> None:
        """End the program, whatever it does."""
        self._child.close(force=True)


def _ignoring_hang_ups() -> None:
    signal.signal(signal.SIGHUP, signal.SIG_IGN)


def _heeding_signals() -> None:
    """Also where the tests are run ignoring them, as ``nohup`` or a shell's background does."""
    for number in (signal.SIGHUP, signal.SIGINT, signal.SIGTERM):
        signal.signal(number, signal.SIG_DFL)
