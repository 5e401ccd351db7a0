"""What settling looks like. After a change meant to show: ``pytest --snapshot-update``."""

from collections.abc import Callable
from typing import Any

import pytest
from textual.pilot import Pilot

from keymaps.keymap import Keymap
from sessions.record.entries import Entry, Look
from tests.tui.benching import LARGE, SMALL
from tests.tui.conftest import PlainSource
from tests.tui.settling.conftest import Settle
from tests.tui.settling.settlers import broken, make_app, right_entries, truth

pytestmark = pytest.mark.usefixtures("bare_screens")
SIZES = pytest.mark.parametrize("size", [SMALL, LARGE], ids=["small", "large"])
LAST = truth().runs[-1].run


def five_faults() -> list[Entry]:
    """As many differences as the list has no room for in a small terminal."""
    at = (
        "f1.s1.let-go",
        "f1.s2.let-go",
        "f1.s3.let-go",
        "f1.d1.two-hands",
        "f1.d2.two-hands",
    )
    return [
        broken(entry) if isinstance(entry, Look) and entry.run == LAST and entry.checkpoint in at
        else entry
        for entry in right_entries()
    ]  # fmt: skip


@SIZES
@pytest.mark.parametrize(
    "keys", [(), ("down", "down", "left"), ("M",)], ids=["first", "reason", "lens"]
)
def test_settling(
    snap_compare: Callable[..., bool], settle: Settle, source: PlainSource, keymap: Keymap,
    size: tuple[int, int], keys: tuple[str, ...],
) -> None:  # fmt: skip
    made = settle(right_entries(), five_faults())
    made.settlement.take(1, "the hand is on the cup in the frame after")

    async def settled(pilot: Pilot[Any]) -> None:
        await pilot.pause(0.15)

    app = make_app(made, source, keymap)
    assert snap_compare(app, terminal_size=size, press=keys, run_before=settled)
