"""What the bench looks like. After a change meant to show: ``pytest --snapshot-update``."""

from collections.abc import Callable
from typing import Any

import pytest
from textual.pilot import Pilot

from keymaps.keymap import Keymap
from tests.tui.benching import LARGE, SMALL, make_app
from tests.tui.conftest import PlainSource
from tests.tui.reviewing import do
from tui.review.desk import Desk
from tui.review.runs import read_display

pytestmark = pytest.mark.usefixtures("no_fonts")
sizes = pytest.mark.parametrize("size", [SMALL, LARGE], ids=["small", "large"])

SnapCompare = Callable[..., bool]


class Look:
    """Compares the application on a desk with its snapshot."""

    def __init__(self, compare: SnapCompare, keymap: Keymap) -> None:
        self._compare, self._keymap = compare, keymap

    def same(self, desk: Desk, size: tuple[int, int], *press: str) -> bool:
        async def settled(pilot: Pilot[Any]) -> None:
            await pilot.pause(0.15)

        app = make_app(desk, PlainSource(), self._keymap)
        return self._compare(app, terminal_size=size, press=press, run_before=settled)


@pytest.fixture
def look(snap_compare: SnapCompare, keymap: Keymap) -> Look:
    return Look(snap_compare, keymap)


@pytest.fixture
def half_tagged(make_desk: Callable[..., Desk]) -> Desk:
    """A cycle with half of its steps tagged, after a warm-up."""
    desk = make_desk("cycle")
    do(desk, "run.begin", at=2)
    do(desk, "run.sort")
    do(desk, "run.end", at=30)
    do(desk, "run.begin", at=60)
    for place in range(16):
        do(desk, "unclear.let_go" if place == 5 else "due.kept", at=80 + 12 * place)
    read_display(desk, "6.482")
    for cup in range(5):
        do(desk, "cup.unclear" if cup == 2 else "cup.seen")
        do(desk, "cup.next")
    for frame in range(60, 260):
        desk.seen.show(frame)
    desk.flush_seen()
    return desk


@sizes
def test_empty_bench(look: Look, desk: Desk, size: tuple[int, int]) -> None:
    assert look.same(desk, size)


@sizes
def test_half_tagged_cycle(look: Look, half_tagged: Desk, size: tuple[int, int]) -> None:
    assert look.same(half_tagged, size)


@sizes
def test_fault(look: Look, half_tagged: Desk, size: tuple[int, int]) -> None:
    assert look.same(half_tagged, size, "shift+right", "n")


@sizes
def test_help_page(look: Look, desk: Desk, size: tuple[int, int]) -> None:
    assert look.same(desk, size, "question_mark")


@sizes
def test_ruling_page(look: Look, half_tagged: Desk, size: tuple[int, int]) -> None:
    assert look.same(half_tagged, size, "V")


@sizes
def test_chooser(look: Look, half_tagged: Desk, size: tuple[int, int]) -> None:
    assert look.same(half_tagged, size, "7")
