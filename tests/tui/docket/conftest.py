"""Fixtures of the command line, of snapshots of the bare screen, and the demo's docket."""

from pathlib import Path

import pytest

from tests.sharing import shared
from tests.tui.cli.conftest import framecall
from tests.tui.screenshots import bare_screens
from tui.cli.demo import make_docket

__all__ = ["bare_screens", "framecall"]


@pytest.fixture(scope="session")
def demo_docket(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demo's docket from small pictures; not to be changed."""

    def make(folder: Path) -> Path:
        with pytest.MonkeyPatch.context() as patch:
            patch.setenv("FRAMECALL_CACHE", str(folder / "cache"))
            return make_docket(folder / "season", scale=0.25)

    return shared(tmp_path_factory, "docket", make)
