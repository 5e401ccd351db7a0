"""A program in a pseudo-terminal that answers as a modern terminal does, read without polling."""

import contextlib
import fcntl
import os
import pty
import re
import select
import signal
import struct
import subprocess
import termios
import time
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

COLUMNS, ROWS = 160, 45

_ASKED = re.compile(
    rb"\x1b\[6n|\x1b\[c|\x1b\[\?2026\$p|\x1bP\$qm\x1b\\|\x1b\[16t|\x1b\[14t|\x1b\[>q|\x1b\[2b"
)
_ANSWERS = {
    b"\x1b[c": b"\x1b[?62;22c",
    b"\x1b[?2026$p": b"\x1b[?2026;2$y",
    b"\x1bP$qm\x1b\\": b"\x1bP1$r0;48:2::1:2:3m\x1b\\",
    b"\x1b[16t": b"\x1b[6;16;8t",
    b"\x1b[14t": b"\x1b[4;720;1280t",
    b"\x1b[>q": b"\x1bP>|modern 1.0\x1b\\",
}
_KEEP = 32
_TICKS = os.sysconf("SC_CLK_TCK")


@dataclass(frozen=True)
class Timing:
    """Seconds on the clock, the same on a free machine, and of all cores.

    On a free machine: without those in which the main thread could run and waited for a core.
    """

    clock: float
    free: float
    cores: float


def timing(process: int, clock: float) -> Timing:
    """What a program and its ended children have taken so far; proc(5)."""
    with open(f"/proc/{process}/stat", encoding="ascii") as file:
        fields = file.read().rpartition(")")[2].split()
    with open(f"/proc/{process}/schedstat", encoding="ascii") as file:
        waited = int(file.read().split()[1]) / 1e9
    return Timing(clock, clock - waited, sum(map(int, fields[11:15])) / _TICKS)


class Terminal:
    """``answers`` is whether the program's questions are answered; use it as a context."""

    def __init__(
        self, command: Sequence[str], env: Mapping[str, str], answers: bool = True
    ) -> None:
        self._answers = answers
        self._master, slave = pty.openpty()
        fcntl.ioctl(slave, termios.TIOCSWINSZ, struct.pack("HHHH", ROWS, COLUMNS, 0, 0))
        self._tail, self._repeats = b"", False
        self.seen = b""
        """All that was written since ``forget``."""
        self.started = time.perf_counter()
        self._program = subprocess.Popen(
            command,
            stdin=slave,
            stdout=slave,
            stderr=slave,
            env={**env, "TERM": "xterm-256color", "COLORTERM": "truecolor", "LANG": "C.UTF-8"},
            start_new_session=True,
        )
        os.close(slave)

    def __enter__(self) -> "Terminal":
        return self

    def __exit__(self, *_: object) -> None:
        os.killpg(self._program.pid, signal.SIGKILL)
        self._program.wait()
        os.close(self._master)

    def press(self, keys: bytes) -> float:
        """Send keys; when they were sent."""
        self.forget()
        os.write(self._master, keys)
        return time.perf_counter()

    def forget(self) -> None:
        """Look only at what is written from now on."""
        self.seen = b""

    def until(self, pattern: bytes, seconds: float = 300.0) -> float:
        """Read on until something was written; when it was. Raises TimeoutError."""
        wanted, end = re.compile(pattern), time.perf_counter() + seconds
        while not wanted.search(self.seen):
            if not self.read(end - time.perf_counter()):
                raise TimeoutError(f"{pattern!r} was not written: {self.seen[-2000:]!r}")
        return time.perf_counter()

    def ended(self, seconds: float = 60.0) -> None:
        """Read on until the program has ended."""
        end = time.perf_counter() + seconds
        while self._program.poll() is None and time.perf_counter() < end:
            self.read(0.05)

    def read(self, seconds: float) -> bool:
        """Take what is written next, and answer it; whether anything came in time."""
        if not select.select([self._master], [], [], max(0.0, seconds))[0]:
            return False
        try:
            data = os.read(self._master, 1 << 20)
        except OSError:
            return False
        self.seen += data
        self._answer(data)
        return True

    def timing(self) -> "Timing":
        """From the start of the program until now."""
        now = time.perf_counter()
        return timing(self._program.pid, now - self.started)

    def _answer(self, data: bytes) -> None:
        text, last = self._tail + data, 0
        for found in _ASKED.finditer(text):
            last = found.end()
            if found[0] == b"\x1b[2b":
                self._repeats = True
                continue
            answer = _ANSWERS.get(found[0])
            if found[0] == b"\x1b[6n":
                answer = b"\x1b[1;%dR" % (4 if self._repeats else 2)
                self._repeats = False
            if answer and self._answers:
                with contextlib.suppress(OSError):
                    os.write(self._master, answer)
        self._tail = text[max(last, len(text) - _KEEP) :]
