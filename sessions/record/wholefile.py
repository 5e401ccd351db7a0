"""Files written whole: a reader sees the file as it was before, or as it is after."""

import os
import secrets
from pathlib import Path


def write_whole(path: Path, data: bytes) -> None:
    """Replace a file's bytes in one step; raises OSError with the old file untouched."""
    place = Path(os.path.realpath(path))  # unlike ``resolve``, no error for links without an end
    part = place.with_name(f".{secrets.token_hex(8)}.part")
    handle = os.open(part, os.O_WRONLY | os.O_CREAT | os.O_EXCL | os.O_CLOEXEC, 0o644)
    try:
        with os.fdopen(handle, "wb") as target:
            target.write(data)
            target.flush()
            os.fsync(target.fileno())
        part.replace(place)
    except BaseException:
        part.unlink(missing_ok=True)
        raise
