"""What the bench looks like. After a change meant to show: ``pytest --snapshot-update``."""

from collections.abc import Callable
from typing import Any

import pytest
from textual.pilot import Pilot

from keymaps.keymap import Keymap
from tests.tui.benching import LARGE, SMALL, make_app
from tests.tui.conftest import PlainSource
from tests.tui.reviewing import do
from tui.bench.review import Review
from tui.bench.runs import read_display

pytestmark = pytest.mark.usefixtures("bare_screens")
sizes = pytest.mark.parametrize("size", [SMALL, LARGE], ids=["small", "large"])

SnapCompare = Callable[..., bool]


class Look:
    """Compares the application on a review with its snapshot."""

    def __init__(self, compare: SnapCompare, keymap: Keymap) -> None:
        self._compare, self._keymap = compare, keymap

    def same(self, review: Review, size: tuple[int, int], *press: str) -> bool:
        async def settled(pilot: Pilot[Any]) -> None:
            await pilot.pause(0.15)

        app = make_app(review, PlainSource(), self._keymap)
        return self._compare(app, terminal_size=size, press=press, run_before=settled)


@pytest.fixture
def look(snap_compare: SnapCompare, keymap: Keymap) -> Look:
    return Look(snap_compare, keymap)


@pytest.fixture
def half_tagged(make_review: Callable[..., Review]) -> Review:
    """A cycle with half of its steps tagged, after a warm-up."""
    review = make_review("cycle")
    do(review, "run.begin", at=2)
    do(review, "run.sort")
    do(review, "run.end", at=30)
    do(review, "run.begin", at=60)
    for place in range(16):
        do(review, "cannot_tell.let_go" if place == 5 else "due.in_order", at=80 + 12 * place)
    read_display(review, "6.482")
    for cup in range(5):
        do(review, "cup.cannot_tell" if cup == 2 else "cup.seen")
        do(review, "cup.next")
    for frame in range(60, 260):
        review.seen.show(frame)
    review.flush_seen()
    return review


@sizes
def test_empty_bench(look: Look, review: Review, size: tuple[int, int]) -> None:
    assert look.same(review, size)


@sizes
def test_half_tagged_cycle(look: Look, half_tagged: Review, size: tuple[int, int]) -> None:
    assert look.same(half_tagged, size)


@sizes
def test_fault(look: Look, half_tagged: Review, size: tuple[int, int]) -> None:
    assert look.same(half_tagged, size, "shift+right", "n")


@sizes
def test_help_page(look: Look, review: Review, size: tuple[int, int]) -> None:
    assert look.same(review, size, "question_mark")


@sizes
def test_ruling_page(look: Look, half_tagged: Review, size: tuple[int, int]) -> None:
    assert look.same(half_tagged, size, "V")


@sizes
def test_chooser(look: Look, half_tagged: Review, size: tuple[int, int]) -> None:
    assert look.same(half_tagged, size, "7")
