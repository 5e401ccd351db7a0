"""What the docket looks like. After a change meant to show: ``pytest --snapshot-update``."""

import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from textual.pilot import Pilot

from keymaps.keymap import Keymap
from sessions.docket.docket import Docket, DocketFolder
from tests.tui.benching import LARGE, SMALL
from tests.tui.docket.docketing import Cases, put_footage
from tui.app import FramecallApp
from tui.docket.rows import Sight
from tui.docket.screen import DocketScreen

pytestmark = pytest.mark.usefixtures("bare_screens")
sizes = pytest.mark.parametrize("size", [SMALL, LARGE], ids=["small", "large"])

SnapCompare = Callable[..., bool]


@pytest.fixture
def app(demo_docket: Path, tmp_path: Path, keymap: Keymap) -> FramecallApp:
    folder = DocketFolder(tmp_path / "season")
    folder.path.mkdir()
    shutil.copy(demo_docket / "claims.csv", folder.path)
    shutil.copytree(demo_docket / "sessions", folder.sessions)
    docket = Docket(folder.path, tmp_path / "index")
    docket.refresh()
    put_footage(folder, (placed.state.claim for placed in docket.placed))
    cases = Cases(folder, "R1", keymap)
    return FramecallApp(keymap, lambda: DocketScreen(docket, Sight("R1", folder), cases, keymap))


async def settled(pilot: Pilot[Any]) -> None:
    await pilot.pause(0.15)


@sizes
def test_docket(app: FramecallApp, size: tuple[int, int], snap_compare: SnapCompare) -> None:
    assert snap_compare(app, terminal_size=size, run_before=settled)


@sizes
def test_search(app: FramecallApp, size: tuple[int, int], snap_compare: SnapCompare) -> None:
    assert snap_compare(app, terminal_size=size, press="cycle", run_before=settled)


@sizes
def test_help(app: FramecallApp, size: tuple[int, int], snap_compare: SnapCompare) -> None:
    assert snap_compare(app, terminal_size=size, press=["f1"], run_before=settled)


@sizes
def test_finishing(app: FramecallApp, size: tuple[int, int], snap_compare: SnapCompare) -> None:
    async def opened(pilot: Pilot[Any]) -> None:
        await pilot.press("tab", "down", "down", "enter")
        await pilot.pause(0.5)
        await pilot.press("ctrl+e")
        await pilot.pause(0.3)

    assert snap_compare(app, terminal_size=size, run_before=opened)
