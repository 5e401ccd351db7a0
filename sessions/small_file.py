"""Reading a file that people write: a regular file of no more than a few megabytes.

A pipe would keep the program waiting, and a file that never ends would fill the memory.
"""

import errno
import os
import stat
from pathlib import Path

LONGEST = 16_000_000
"""Bytes of a list of claims, results or records, of a league's words or an event."""


def read_small(path: Path, longest: int = LONGEST) -> bytes:
    """The bytes of a file; raises OSError, whose ``strerror`` says in words what is wrong."""
    handle = os.open(path, os.O_RDONLY | os.O_CLOEXEC | os.O_NONBLOCK)
    try:
        kind = os.fstat(handle).st_mode
        if stat.S_ISDIR(kind):
            raise IsADirectoryError(errno.EISDIR, os.strerror(errno.EISDIR), str(path))
        if not stat.S_ISREG(kind):
            raise OSError(errno.EINVAL, "it is not a regular file", str(path))
        with os.fdopen(handle, "rb", closefd=False) as file:
            data = file.read(longest + 1)
    finally:
        os.close(handle)
    if len(data) > longest:
        raise OSError(errno.EFBIG, f"it is longer than {longest / 1_000_000:g} MB", str(path))
    return data
