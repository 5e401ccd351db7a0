"""A program in a pseudo-terminal at the far end of a slow line, and a terminal that answers."""

import contextlib
import fcntl
import os
import pty
import re
import select
import struct
import subprocess
import termios
import time
from collections import deque
from collections.abc import Sequence
from dataclasses import dataclass, field

BUFFER = 262_144
"""Bytes that stand before the line, as in the buffers of a secure shell."""

PACKET = 1400

_SEEN = re.compile(
    rb"\x1b\]7777;(-?\d+)\x07|\x1b\[6n|\x1b\[c|\x1b\[\?2026\$p|\x1bP\$qm\x1b\\|\x1b\[2b"
)
_ANSWERS = {
    b"\x1b[c": b"\x1b[?62;22c",
    b"\x1b[?2026$p": b"\x1b[?2026;2$y",
    b"\x1bP$qm\x1b\\": b"\x1bP1$r0;48:2::1:2:3m\x1b\\",
}
_KEEP = 32


@dataclass
class Line:
    """``rate`` in bytes a second (None: none), ``trip`` in seconds there and back."""

    rate: float | None
    trip: float
    answers: bool = True
    shown: list[tuple[float, int]] = field(default_factory=list)
    """When the far end showed which position."""
    carried: int = 0

    def start(self, command: Sequence[str], columns: int, rows: int) -> None:
        """Run a program at the near end."""
        self._master, slave = pty.openpty()
        fcntl.ioctl(slave, termios.TIOCSWINSZ, struct.pack("HHHH", rows, columns, 0, 0))
        hidden = ("COLUMNS", "LINES", "NO_COLOR", "TMUX", "STY")
        env = {name: value for name, value in os.environ.items() if name not in hidden}
        env |= {"TERM": "xterm-256color", "COLORTERM": "truecolor", "LANG": "C.UTF-8"}
        self._program = subprocess.Popen(
            command, stdin=slave, stdout=slave, stderr=slave, env=env, start_new_session=True
        )
        os.close(slave)
        self._near: deque[bytes] = deque()
        self._under_way: deque[tuple[float, bytes]] = deque()
        self._back: deque[tuple[float, bytes]] = deque()
        self._free_at, self._tail, self._marks = time.perf_counter(), b"", 0

    def press(self, key: bytes) -> None:
        """Send a key from the far end."""
        self._back.append((time.perf_counter() + self.trip / 2, key))

    def run(self, until: float) -> None:
        """Carry bytes both ways until a time."""
        while (now := time.perf_counter()) < until:
            self._deliver(now)
            self._write(now)
            waiting = sum(map(len, self._near)) > BUFFER
            if select.select([] if waiting else [self._master], [], [], 0.0005)[0]:
                with contextlib.suppress(OSError):
                    self._near.append(os.read(self._master, 65536))
            self._send(time.perf_counter())

    def stop(self) -> None:
        """End the program."""
        self._program.kill()
        self._program.wait()
        os.close(self._master)

    def _send(self, now: float) -> None:
        """What the line takes now, at its rate, to arrive half a trip later."""
        while self._near and self._free_at <= now + 0.001:
            data = self._near.popleft()
            packet, rest = data[:PACKET], data[PACKET:]
            if rest:
                self._near.appendleft(rest)
            passing = len(packet) / self.rate if self.rate else 0
            self._free_at = max(self._free_at, now) + passing
            self._under_way.append((self._free_at + self.trip / 2, packet))

    def _deliver(self, now: float) -> None:
        while self._under_way and self._under_way[0][0] <= now:
            _, packet = self._under_way.popleft()
            self.carried += len(packet)
            data, last = self._tail + packet, 0
            for found in _SEEN.finditer(data):
                last = found.end()
                self._see(found, now)
            self._tail = data[max(last, len(data) - _KEEP) :]

    def _see(self, found: re.Match[bytes], now: float) -> None:
        if found[1] is not None:
            self.shown.append((now, int(found[1])))
            return
        answer = _ANSWERS.get(found[0], b"")
        if found[0] == b"\x1b[2b":
            self._marks = 2
        elif found[0] == b"\x1b[6n":
            answer = b"\x1b[1;%dR" % (4 if self._marks else 2)
            self._marks = 0
        if answer and self.answers:
            self._back.append((now + self.trip / 2, answer))

    def _write(self, now: float) -> None:
        while self._back and self._back[0][0] <= now:
            with contextlib.suppress(OSError):
                os.write(self._master, self._back.popleft()[1])
