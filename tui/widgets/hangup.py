"""The library's terminal, kept from blocking the program once the line has hung up.

The library writes from a thread of its own, through a queue of a fixed length. A write that fails
ends the thread, and the queue is full soon after: the program would wait for it for ever, and end
neither by itself nor by a signal.
"""

import sys
from typing import Any, TextIO

from textual.drivers.linux_driver import LinuxDriver


class DroppingFile:
    """A terminal to write to; what it does not take, since it has hung up, is dropped."""

    def __init__(self, file: TextIO) -> None:
        self._file = file

    def write(self, text: str) -> int:
        """Write, as ``TextIO`` does."""
        try:
            return self._file.write(text)
        except OSError:
            return len(text)

    def flush(self) -> None:
        """Flush, as ``TextIO`` does."""
        try:
            self._file.flush()
        except OSError:
            return

    def fileno(self) -> int:
        """The file descriptor."""
        return self._file.fileno()


class LastingDriver(LinuxDriver):
    """Goes on where the terminal has hung up, until the signal that tells so is heeded."""

    def __init__(self, *arguments: Any, **options: Any) -> None:
        super().__init__(*arguments, **options)
        assert sys.__stderr__ is not None  # the library has found it to be a terminal
        self._file: Any = DroppingFile(sys.__stderr__)
