"""What takes long to make, made once for all processes of a run of the tests."""

import fcntl
import os
import pickle
from collections.abc import Callable
from pathlib import Path
from typing import TypeVar

import pytest

Made = TypeVar("Made")


def shared(factory: pytest.TempPathFactory, name: str, make: Callable[[Path], Made]) -> Made:
    """What ``make`` makes in a folder of its own; the processes after the first are given that.

    What it returns tells where things lie, and what they are; nobody may change them.
    """
    base = factory.getbasetemp()
    if "PYTEST_XDIST_WORKER" in os.environ:
        base = base.parent  # each process has a folder in the run's own
    folder, kept = base / f"shared-{name}", base / f"shared-{name}.pickle"
    with kept.with_suffix(".lock").open("w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        if not kept.exists():
            folder.mkdir()
            kept.write_bytes(pickle.dumps(make(folder)))
    made: Made = pickle.loads(kept.read_bytes())
    return made
