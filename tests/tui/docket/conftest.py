"""Fixtures of the command line, of snapshots without fonts, and the demo's docket."""

from pathlib import Path

import pytest

from tests.tui.bench.conftest import no_fonts
from tests.tui.cli.conftest import framecall
from tui.cli.demo import make_docket

__all__ = ["framecall", "no_fonts"]


@pytest.fixture(scope="session")
def demo_docket(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demo's docket from small pictures; not to be changed."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("FRAMECALL_CACHE", str(tmp_path_factory.mktemp("demo-cache")))
        return make_docket(tmp_path_factory.mktemp("dockets") / "season", scale=0.25)
