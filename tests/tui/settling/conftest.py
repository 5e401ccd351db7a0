"""Fixtures for settling: the command line, snapshots of the bare screen, closed settlers."""

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from sessions.record.entries import Entry
from tests.tui.cli.conftest import framecall
from tests.tui.screenshots import bare_screens
from tests.tui.settling.settlers import Settler, docket_of, one_fault, right_entries, settler

__all__ = ["bare_screens", "framecall"]

Settle = Callable[..., Settler]


@pytest.fixture
def settle(tmp_path: Path) -> Iterator[Settle]:
    """Begins to settle reviews; without any, a right one and one with a fault of its own."""
    made: list[Settler] = []

    def begin(*reviews: list[Entry]) -> Settler:
        folder = docket_of(tmp_path, *(reviews or (right_entries(), one_fault())))
        made.append(settler(folder))
        return made[-1]

    yield begin
    for one in made:
        one.close()
