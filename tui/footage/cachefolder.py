"""The user's cache folder: what is kept there can be lost or read-only without harm."""

import os
import tempfile
from pathlib import Path

import platformdirs

VARIABLE = "FRAMECALL_CACHE"


def cache_folder() -> Path:
    """The folder named by the environment variable FRAMECALL_CACHE, else the user's own."""
    named = os.environ.get(VARIABLE)
    return Path(named) if named else platformdirs.user_cache_path("framecall")


def keep(path: Path, content: bytes) -> None:
    """Write a cache file whole or not at all; a folder that takes no files is no error."""
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        descriptor, partial = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.")
    except OSError:
        return
    try:
        with os.fdopen(descriptor, "wb") as file:
            file.write(content)
        os.replace(partial, path)
    except OSError:
        Path(partial).unlink(missing_ok=True)
