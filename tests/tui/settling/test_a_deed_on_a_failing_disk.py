"""What settling writes with one key is on the disk whole or not at all."""

from collections.abc import Callable
from pathlib import Path

import pytest

from sessions.errors import SessionError, WriteRefused
from sessions.record.entries import DifferenceSettled, Settling
from sessions.record.recording import read_session
from tests.proofs import pairs
from tests.sessions.record.failing_disk import WAYS, failing_at
from tests.tui.settling.conftest import Settle
from tests.tui.settling.settlers import Settler, docket_of, one_fault, right_entries, settler
from tui.settling.settlement import Settlement

DEEDS: dict[str, Callable[[Settlement], object]] = {
    "take": lambda settlement: settlement.take(1, "seen"),
    "take again": lambda settlement: settlement.take(0, "seen better"),
    "undo": Settlement.undo,
    "redo": Settlement.redo,
    "finish": Settlement.finish,
}


def prepared(made: Settler, name: str) -> None:
    """The settling as it is before a deed."""
    if name in ("undo", "finish", "redo", "take again"):
        made.settlement.take(1, "seen")
    if name == "redo":
        made.settlement.undo()


@pytest.mark.parametrize(("name", "way"), pairs(DEEDS, WAYS))
def test_a_deed_is_whole_or_not_at_all_wherever_the_disk_fails(
    settle: Settle, name: str, way: tuple[bool, bool]
) -> None:
    lasting, partly = way
    made = settle()
    prepared(made, name)
    settlement, review = made.settlement, made.settlement.review
    before, left = review.lines, settlement.left
    for number in range(3):
        failing = failing_at(number, lasting=lasting, partly=partly)
        with failing as calls, pytest.raises(WriteRefused):
            DEEDS[name](settlement)
        assert (review.lines, settlement.left) == (before, left)
        on_disk = list(read_session(made.path).lines)
        whole = lasting and calls[number] == "fsync" and len(on_disk) > len(before)
        assert on_disk == before or whole
    DEEDS[name](settlement)
    assert list(read_session(made.path).lines) == review.lines
    assert len(review.lines) > len(before)


@pytest.mark.parametrize(("number", "way"), pairs(range(5), WAYS))
def test_a_settling_begins_with_all_that_is_agreed_or_is_begun_again(
    tmp_path: Path, number: int, way: tuple[bool, bool]
) -> None:
    lasting, partly = way
    folder = docket_of(tmp_path, right_entries(), one_fault())
    with failing_at(number, lasting=lasting, partly=partly):
        try:
            made = settler(folder)
        except SessionError:
            made = None
    if made is not None:
        made.close()
    path = folder.session("C-1", "R3", settling=True)
    begun = [line.entry for line in read_session(path).lines] if path.exists() else []
    assert not begun or isinstance(begun[0], Settling)
    again = settler(folder)
    entries = [line.entry for line in again.settlement.review.lines]
    assert sum(isinstance(entry, Settling) for entry in entries) == 1
    assert not begun or entries == begun
    assert again.settlement.left == 1
    assert not any(isinstance(entry, DifferenceSettled) for entry in entries)
    again.close()
