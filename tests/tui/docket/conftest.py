"""Fixtures of the command line, of snapshots without fonts, and the demo's docket."""

import fcntl
import os
from pathlib import Path

import pytest

from tests.tui.bench.conftest import no_fonts
from tests.tui.cli.conftest import framecall
from tui.cli.demo import make_docket

__all__ = ["framecall", "no_fonts"]


@pytest.fixture(scope="session")
def demo_docket(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demo's docket from small pictures; not to be changed. All processes share one."""
    base = tmp_path_factory.getbasetemp()
    shared = base.parent if "PYTEST_XDIST_WORKER" in os.environ else base
    with pytest.MonkeyPatch.context() as patch, (shared / "docket.lock").open("w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        patch.setenv("FRAMECALL_CACHE", str(shared / "demo-cache"))
        return make_docket(shared / "dockets" / "season", scale=0.125)
