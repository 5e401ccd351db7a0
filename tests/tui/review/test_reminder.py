"""The reminder that contact cannot be judged at a coarse picture: once a run, and never a bar."""

import pytest

from sessions.ladder import Kind
from tests.tui.reviewing import do
from tui.review.desk import Desk
from tui.review.reminder import FINE_KINDS, Reminder

SENTENCE = COARSE = "At 1.2 pixels a sub-cell contact cannot be judged: take the loupe."
FINE = ""


@pytest.fixture
def reminder() -> Reminder:
    return Reminder()


@pytest.mark.parametrize("kind", Kind)
@pytest.mark.parametrize("answer", ["kept", "broken", "unclear"])
def test_it_speaks_at_tags_about_contact_or_movement(
    reminder: Reminder, opened: Desk, answer: str, kind: Kind
) -> None:
    fine = kind in {Kind.GRIP, Kind.STILL, Kind.FREE, Kind.LET_GO, Kind.SINGLES}
    assert reminder.before(f"{answer}.{kind}", opened, COARSE) == (SENTENCE if fine else "")


@pytest.mark.parametrize("command", ["due.kept", "due.broken", "due.unclear"])
def test_what_is_due_counts_by_its_kind(reminder: Reminder, opened: Desk, command: str) -> None:
    assert reminder.before(command, opened, COARSE) == ""  # hands off are due
    do(opened, "kept.hands_off", at=10)
    do(opened, "due.kept", at=12)
    assert opened.step is not None
    assert opened.step.kind in FINE_KINDS
    assert reminder.before(command, opened, COARSE) == SENTENCE


@pytest.mark.parametrize("command", [None, "step.forward", "undo", "run.end", "cup.seen", "flip"])
def test_it_is_silent_at_everything_that_is_no_tag(
    reminder: Reminder, opened: Desk, command: str | None
) -> None:
    assert reminder.before(command, opened, COARSE) == ""


def test_it_is_silent_where_every_pixel_shows(reminder: Reminder, opened: Desk) -> None:
    assert reminder.before("kept.grip", opened, FINE) == ""
    assert reminder.before("kept.grip", opened, COARSE) == SENTENCE


def test_it_speaks_once_a_run(reminder: Reminder, opened: Desk) -> None:
    assert reminder.before("kept.grip", opened, COARSE)
    assert reminder.before("kept.still", opened, COARSE) == SENTENCE  # not said yet
    reminder.said(opened.run_id)
    assert reminder.before("kept.still", opened, COARSE) == ""
    do(opened, "run.end", at=50)
    do(opened, "run.begin", at=60)
    assert reminder.before("kept.grip", opened, COARSE)
    do(opened, "run.previous")
    assert reminder.before("kept.free", opened, COARSE) == ""


def test_it_is_silent_where_nothing_can_be_tagged(reminder: Reminder, desk: Desk) -> None:
    assert reminder.before("kept.grip", desk, COARSE) == ""
    assert reminder.before("due.kept", desk, COARSE) == ""


def test_it_is_silent_once_the_ladder_is_complete(reminder: Reminder, opened: Desk) -> None:
    for frame in range(10, 250, 12):
        if opened.step is not None:
            do(opened, "due.kept", at=frame)
    assert opened.step is None
    assert reminder.before("due.kept", opened, COARSE) == ""
