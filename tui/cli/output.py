"""Standard output, whose reader may go away and whose disk may be full."""

import errno
import os
import stat
import sys

from sessions.errors import FramecallError


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
