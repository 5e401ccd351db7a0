"""The reminder that contact cannot be judged at a coarse picture: once a run, and never a bar."""

import pytest

from sessions.rules.ladder import Kind
from tests.tui.reviewing import do
from tui.bench.question import FINE_KINDS, Reminder
from tui.bench.review import Review

SENTENCE = COARSE = "At 1.2 pixels a sub-cell contact cannot be judged: take the lens."
FINE = ""


@pytest.fixture
def reminder() -> Reminder:
    return Reminder()


@pytest.mark.parametrize("kind", Kind)
@pytest.mark.parametrize("answer", ["in_order", "fault", "cannot_tell"])
def test_it_speaks_at_tags_about_contact_or_movement(
    reminder: Reminder, opened: Review, answer: str, kind: Kind
) -> None:
    fine = kind in {Kind.GRIP, Kind.STILL, Kind.FREE, Kind.LET_GO, Kind.SINGLES}
    assert reminder.before(f"{answer}.{kind}", opened, COARSE) == (SENTENCE if fine else "")


@pytest.mark.parametrize("command", ["due.in_order", "due.fault", "due.cannot_tell"])
def test_what_is_due_counts_by_its_kind(reminder: Reminder, opened: Review, command: str) -> None:
    assert reminder.before(command, opened, COARSE) == ""  # hands off are due
    do(opened, "in_order.hands_off", at=10)
    do(opened, "due.in_order", at=12)
    assert opened.checkpoint is not None
    assert opened.checkpoint.kind in FINE_KINDS
    assert reminder.before(command, opened, COARSE) == SENTENCE


@pytest.mark.parametrize("command", [None, "step.forward", "undo", "run.end", "cup.seen", "flip"])
def test_it_is_silent_at_everything_that_is_no_tag(
    reminder: Reminder, opened: Review, command: str | None
) -> None:
    assert reminder.before(command, opened, COARSE) == ""


def test_it_is_silent_where_every_pixel_shows(reminder: Reminder, opened: Review) -> None:
    assert reminder.before("in_order.grip", opened, FINE) == ""
    assert reminder.before("in_order.grip", opened, COARSE) == SENTENCE


def test_it_speaks_once_a_run(reminder: Reminder, opened: Review) -> None:
    assert reminder.before("in_order.grip", opened, COARSE)
    assert reminder.before("in_order.still", opened, COARSE) == SENTENCE  # not said yet
    reminder.said(opened.run_id)
    assert reminder.before("in_order.still", opened, COARSE) == ""
    do(opened, "run.end", at=50)
    do(opened, "run.begin", at=60)
    assert reminder.before("in_order.grip", opened, COARSE)
    do(opened, "run.previous")
    assert reminder.before("in_order.free", opened, COARSE) == ""


def test_it_is_silent_where_nothing_can_be_tagged(reminder: Reminder, review: Review) -> None:
    assert reminder.before("in_order.grip", review, COARSE) == ""
    assert reminder.before("due.in_order", review, COARSE) == ""


def test_it_is_silent_once_the_ladder_is_complete(reminder: Reminder, opened: Review) -> None:
    for frame in range(10, 250, 12):
        if opened.checkpoint is not None:
            do(opened, "due.in_order", at=frame)
    assert opened.checkpoint is None
    assert reminder.before("due.in_order", opened, COARSE) == ""
