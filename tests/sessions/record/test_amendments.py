"""What was changed in a review after it was finished."""

from sessions.record.entries import Entry, Finished, Note, Played, Reopened, Retracted, Shown
from sessions.record.role import UNSAID, amendments
from tests.sessions.samples import header, spot
from tests.sessions.tags import session_from

DONE = Finished(blind=True)
NOTE = Note(text="more", at=spot(3))


def found(*entries: Entry) -> list[tuple[str, int]]:
    session = session_from(header("3-3-3"), (), *entries)
    return [(amendment.reason, amendment.entries) for amendment in amendments(session)]


def test_a_review_that_was_finished_last_has_none() -> None:
    assert found(NOTE) == found(NOTE, DONE) == []


def test_what_was_only_watched_is_no_change() -> None:
    assert found(DONE, Shown(ranges=((0, 3),)), Played(first=0, last=3, speed="1")) == []


def test_a_review_taken_up_and_left_as_it_was_is_not_amended() -> None:
    assert found(DONE, Reopened(reason="A slip."), DONE) == []


def test_every_time_counts_its_entries_under_its_reason() -> None:
    entries = (
        DONE, Reopened(reason="A slip."), NOTE, NOTE, DONE, Reopened(reason="Another."), NOTE,
    )  # fmt: skip
    assert found(*entries) == [("A slip.", 2), ("Another.", 1)]


def test_what_was_taken_back_again_is_told_all_the_same() -> None:
    assert found(DONE, Reopened(reason="A slip."), NOTE, Retracted(seq=3)) == [("A slip.", 2)]


def test_changes_without_a_reason_are_told_as_such() -> None:
    assert found(DONE, NOTE) == [(UNSAID, 1)]
