"""Maker's marks, cup by cup."""

import pytest

from sessions.errors import EntryRefused
from sessions.record.entries import CupsSeen
from sessions.ruling.ruling import Standing
from tests.tui.reviewing import do, living, run_in_order, standing
from tui.bench.review import Review
from tui.bench.rows import cup_rows


def test_a_mark_seen_goes_on_to_the_next_cup_not_cleared(review: Review) -> None:
    do(review, "cup.next")
    assert do(review, "cup.seen", at=30) == "Cup 2: mark seen at frame 30."
    assert living(review) == [CupsSeen(cups=(2,), saw="proven", at=review.spot(30))]
    assert review.cup == 3


def test_after_the_last_cup_comes_the_first_that_is_left(review: Review) -> None:
    do(review, "cup.previous")
    assert review.cup == review.session.header.event.cups
    do(review, "cup.seen", at=30)
    assert review.cup == 1


@pytest.mark.parametrize(
    ("command", "words"), [("cup.blank", "never"), ("cup.cannot_tell", "tell")]
)
def test_a_cup_that_is_not_cleared_stays_at_hand(review: Review, command: str, words: str) -> None:
    said = do(review, command, at=30)
    assert said is not None
    assert words in said
    assert review.cup == 1


def test_cups_go_round(review: Review) -> None:
    cups = review.session.header.event.cups
    for _ in range(cups):
        do(review, "cup.next")
    assert review.cup == 1


def test_all_cups_not_yet_cleared_are_cleared_at_once(review: Review) -> None:
    do(review, "cup.seen", at=30)
    said = do(review, "cup.all_seen", at=40)
    cups = review.session.header.event.cups
    assert said == f"Marks of {cups - 1} cups seen at frame 40."
    entry = living(review)[-1]
    assert isinstance(entry, CupsSeen)
    assert entry.cups == tuple(range(2, cups + 1))
    assert {row.state for row in cup_rows(review)} == {"proven"}
    with pytest.raises(EntryRefused, match="cleared already"):
        do(review, "cup.all_seen")


def test_the_last_cup_cleared_leaves_it_at_hand(review: Review) -> None:
    for _ in range(review.session.header.event.cups):
        do(review, "cup.seen", at=30)
    assert review.cup == review.session.header.event.cups


def test_a_mark_never_seen_voids_the_runs_only_once_all_footage_was_shown(review: Review) -> None:
    run_in_order(review, 0)
    do(review, "cup.blank")
    assert standing(review) is Standing.OPEN
    for frame in range(review.frames):
        review.seen.show(frame)
    review.flush_seen()
    assert standing(review) is Standing.VOID
