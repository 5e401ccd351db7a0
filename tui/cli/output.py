"""What a command says: its exit code, its text on standard output, and tables of text."""

import errno
import os
import stat
import sys
from collections.abc import Sequence

from sessions.errors import FramecallError
from sessions.sanitize import sanitize

RULED = 0
"""Done; for ``rule``: the ruling is made."""

OPEN = 1
"""For ``rule``: the ruling is still open."""

BAD_INPUT = 2
"""The input cannot be used; one sentence on standard error says what, where and what to do."""

GAP = "  "
"""Between two columns of a table."""


class OutputRefused(FramecallError):
    """Standard output does not take what is written."""


def say(text: str) -> None:
    """Write to standard output at once; a reader or terminal that went away is no error.

    Raises OutputRefused where the disk behind it is full.
    """
    if sys.stdout is None:  # closed before the program began
        return
    try:
        sys.stdout.write(text)
        sys.stdout.flush()
    except BrokenPipeError:
        _abandon()
    except OSError as error:
        if error.errno == errno.EIO and _is_terminal():  # it has hung up
            return _abandon()
        if error.errno not in (errno.ENOSPC, errno.EDQUOT, errno.EFBIG):
            raise
        _abandon()
        raise OutputRefused("The output was cut off: its disk is full; make room.") from None


def _is_terminal() -> bool:
    """Whether standard output is a device; ``isatty`` denies one that has hung up."""
    return stat.S_ISCHR(os.fstat(sys.stdout.fileno()).st_mode)


def _abandon() -> None:
    """What is left in the buffer must not fail once more when the program ends."""
    os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def takes_blocks() -> bool:
    """Whether standard output takes more than ASCII: blocks and lines of a chart."""
    encoding = getattr(sys.stdout, "encoding", None) or ""
    return encoding.lower().replace("-", "") == "utf8"


def table(rows: Sequence[Sequence[str]], left: int = 1) -> str:
    """Rows, the headings first; the ``left`` first columns to the left, the others to the right.

    Control and direction-changing characters are shown as code points.
    """
    safe = [[sanitize(cell) for cell in row] for row in rows]
    widths = [max(map(len, column)) for column in zip(*safe, strict=True)]
    return "".join(_line(row, widths, left) for row in safe)


def _line(row: Sequence[str], widths: Sequence[int], left: int) -> str:
    cells = [
        cell.ljust(width) if at < left else cell.rjust(width)
        for at, (cell, width) in enumerate(zip(row, widths, strict=True))
    ]
    return GAP.join(cells).rstrip() + "\n"
