"""A docket of two claims on the disk, and opening it anew."""

from collections.abc import Callable
from pathlib import Path

import pytest

from sessions.docket.docket import Docket, DocketFolder
from tests.sessions.docket.docket_samples import LISTED, claim, new_docket


@pytest.fixture
def folder(tmp_path: Path) -> DocketFolder:
    return new_docket(tmp_path / "docket", [LISTED, claim("C-2", "3.0")])


@pytest.fixture
def opened(folder: DocketFolder, tmp_path: Path) -> Callable[[], Docket]:
    def open_docket() -> Docket:
        docket = Docket(folder.path, tmp_path / "index")
        docket.refresh()
        return docket

    return open_docket
