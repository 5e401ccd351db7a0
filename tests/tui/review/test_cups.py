"""Maker's marks, cup by cup."""

import pytest

from sessions.entries import CupsSeen
from sessions.errors import EntryRefused
from sessions.ruling import Standing
from tests.tui.reviewing import do, living, run_in_order, standing
from tui.review.desk import Desk
from tui.review.rows import cup_rows


def test_a_mark_seen_goes_on_to_the_next_cup_not_cleared(desk: Desk) -> None:
    do(desk, "cup.next")
    assert do(desk, "cup.seen", at=30) == "Cup 2: mark seen at frame 30."
    assert living(desk) == [CupsSeen(cups=(2,), saw="kept", at=desk.spot(30))]
    assert desk.cup == 3


def test_after_the_last_cup_comes_the_first_that_is_left(desk: Desk) -> None:
    do(desk, "cup.previous")
    assert desk.cup == desk.session.header.event.cups
    do(desk, "cup.seen", at=30)
    assert desk.cup == 1


@pytest.mark.parametrize(("command", "words"), [("cup.blank", "never"), ("cup.unclear", "tell")])
def test_a_cup_that_is_not_cleared_stays_at_hand(desk: Desk, command: str, words: str) -> None:
    said = do(desk, command, at=30)
    assert said is not None
    assert words in said
    assert desk.cup == 1


def test_cups_go_round(desk: Desk) -> None:
    cups = desk.session.header.event.cups
    for _ in range(cups):
        do(desk, "cup.next")
    assert desk.cup == 1


def test_all_cups_not_yet_cleared_are_cleared_at_once(desk: Desk) -> None:
    do(desk, "cup.seen", at=30)
    said = do(desk, "cup.all_seen", at=40)
    cups = desk.session.header.event.cups
    assert said == f"Marks of {cups - 1} cups seen at frame 40."
    entry = living(desk)[-1]
    assert isinstance(entry, CupsSeen)
    assert entry.cups == tuple(range(2, cups + 1))
    assert {row.state for row in cup_rows(desk)} == {"kept"}
    with pytest.raises(EntryRefused, match="cleared already"):
        do(desk, "cup.all_seen")


def test_the_last_cup_cleared_leaves_it_at_hand(desk: Desk) -> None:
    for _ in range(desk.session.header.event.cups):
        do(desk, "cup.seen", at=30)
    assert desk.cup == desk.session.header.event.cups


def test_a_mark_never_seen_voids_the_runs_only_once_all_footage_was_shown(desk: Desk) -> None:
    run_in_order(desk, 0)
    do(desk, "cup.blank")
    assert standing(desk) is Standing.OPEN
    for frame in range(desk.frames):
        desk.seen.show(frame)
    desk.flush_seen()
    assert standing(desk) is Standing.VOID
