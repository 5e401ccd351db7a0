"""Brackets: from not yet to surely so, widened, and taken back."""

import pytest

from sessions.errors import EntryRefused
from sessions.record.entries import Look, Retracted, RunBegun, Sighted, Spot
from sessions.rules.ladder import Kind
from tests.tui.reviewing import do, living, only, written
from tui.bench.review import Review
from tui.bench.tagging import tags_of


def test_cannot_tell_is_a_bracket_from_the_frame_before(opened: Review) -> None:
    said = do(opened, "cannot_tell.grip", at=30)
    assert said is not None
    assert said.endswith("cannot tell at frame 30.")
    look = only(opened, Look)
    assert look.after == Spot(frame=29, pts=29)


def test_a_sighting_is_a_bracket_from_the_frame_before(opened: Review) -> None:
    do(opened, "in_order.hands_off", at=20)
    seen = only(opened, Sighted)
    assert (seen.after, seen.by) == (Spot(frame=19, pts=19), Spot(frame=20, pts=20))


def test_a_remembered_frame_begins_the_next_bracket_and_no_other(opened: Review) -> None:
    do(opened, "not_yet", at=15)
    do(opened, "in_order.hands_off", at=20)
    assert only(opened, Sighted).after == Spot(frame=15, pts=15)
    assert opened.anchor is None
    do(opened, "in_order.hands_on", at=90)
    stop = living(opened)[-1]
    assert isinstance(stop, Sighted)
    assert stop.after == Spot(frame=89, pts=89)


@pytest.mark.parametrize("here", [15, 14])
def test_a_remembered_frame_that_is_not_before_this_one_is_refused(
    opened: Review, here: int
) -> None:
    do(opened, "not_yet", at=15)
    with pytest.raises(EntryRefused, match="remembered frame 15 is not before"):
        do(opened, "in_order.hands_off", at=here)
    assert opened.anchor == 15
    assert len(written(opened)) == 1


def test_a_sighting_cannot_be_a_fault(opened: Review) -> None:
    assert opened.chosen is None
    opened.chosen = "start"
    with pytest.raises(EntryRefused, match="no fault"):
        do(opened, "due.fault", at=20)
    assert len(written(opened)) == 1


def test_a_sighting_in_doubt_needs_its_first_frame_to_be_remembered(opened: Review) -> None:
    with pytest.raises(EntryRefused, match="First remember"):
        do(opened, "cannot_tell.hands_off", at=20)
    do(opened, "not_yet", at=15)
    do(opened, "cannot_tell.hands_off", at=20)
    seen = only(opened, Sighted)
    assert (seen.after, seen.by) == (opened.spot(15), opened.spot(20))


def test_a_moment_at_the_first_frame_begins_before_the_footage(review: Review) -> None:
    do(review, "run.begin", at=0)
    do(review, "in_order.hands_off", at=0)
    seen = only(review, Sighted)
    assert (seen.after, seen.by) == (None, review.spot(0))


def test_a_bracket_is_widened_frame_by_frame_to_either_side(opened: Review) -> None:
    do(opened, "in_order.hands_off", at=20)
    assert do(opened, "widen.earlier") == "Bracket now (18, 20]."
    assert do(opened, "widen.later") == "Bracket now (18, 21]."
    seen = only(opened, Sighted)
    assert (seen.after, seen.by) == (Spot(frame=18, pts=18), Spot(frame=21, pts=21))


def test_a_bracket_is_not_widened_beyond_the_footage(review: Review) -> None:
    do(review, "run.begin", at=0)
    do(review, "in_order.hands_off", at=1)
    assert do(review, "widen.earlier") == "Bracket now (-1, 1]."
    assert do(review, "widen.earlier") == "Bracket now (-1, 1]."
    assert only(review, Sighted).after is None
    do(review, "in_order.hands_on", at=review.frames - 1)
    assert do(review, "widen.later") == f"Bracket now ({review.frames - 2}, {review.frames - 1}]."


def test_a_doubt_is_widened_too(opened: Review) -> None:
    do(opened, "cannot_tell.grip", at=30)
    assert do(opened, "widen.earlier") == "Bracket now (28, 30]."


def test_what_has_no_bracket_is_not_widened(opened: Review) -> None:
    with pytest.raises(EntryRefused, match="no tag to widen"):
        do(opened, "widen.later")
    do(opened, "in_order.grip", at=30)
    with pytest.raises(EntryRefused, match="one frame"):
        do(opened, "widen.later")
    assert len(written(opened)) == 2


def test_the_tag_at_this_frame_is_taken_back(opened: Review) -> None:
    do(opened, "in_order.let_go", at=50)
    do(opened, "in_order.let_go", at=60)
    assert do(opened, "retract", at=50) == "Taken back: 1 tag."
    assert [entry.by.frame for entry in living(opened) if isinstance(entry, Look)] == [60]


def test_all_tags_at_this_frame_are_taken_back_together(opened: Review) -> None:
    do(opened, "in_order.grip", at=30)
    do(opened, "in_order.still", at=30)
    assert do(opened, "retract") == "Taken back: 2 tags."
    assert living(opened) == [RunBegun(run=1, begins=Spot(frame=5, pts=5))]


def test_the_tag_of_the_chosen_step_is_taken_back_from_anywhere(opened: Review) -> None:
    step = opened.due_checkpoint(Kind.GRIP)
    assert step is not None
    do(opened, "in_order.grip", at=30)
    opened.chosen = step.id
    do(opened, "retract", at=200)
    assert tags_of(opened, step) == []
    assert isinstance(written(opened)[-1], Retracted)


def test_there_must_be_a_tag_to_take_back(opened: Review) -> None:
    with pytest.raises(EntryRefused, match="no tag at this frame"):
        do(opened, "retract", at=200)
