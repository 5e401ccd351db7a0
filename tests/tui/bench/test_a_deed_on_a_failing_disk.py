"""Whatever one key writes is on the disk whole or not at all, and memory agrees with the disk."""

from collections.abc import Callable
from contextlib import suppress

import pytest

from sessions.errors import WriteRefused
from sessions.record.entries import Line
from sessions.record.recording import read_session
from tests.sessions.record.failing_disk import WAYS, failing_at
from tests.tui.bench.test_undo import ENTRIES
from tests.tui.reviewing import do
from tui.bench.finishing import finish, reopen
from tui.bench.review import Review
from tui.bench.runs import read_display


def begun(review: Review) -> None:
    """A run, and frames shown since."""
    do(review, "run.begin", at=5)
    for frame in (7, 8, 40):
        review.seen.show(frame)
    review.go(40)


def sighted(review: Review) -> None:
    begun(review)
    do(review, "in_order.hands_off", at=20)
    review.seen.show(30)


def tagged(review: Review) -> None:
    """A run with two tags at one frame, frames shown since, and the first hand's sighting."""
    do(review, "run.begin", at=5)
    do(review, "in_order.hands_off", at=20)
    do(review, "in_order.grip", at=30)
    do(review, "in_order.still", at=30)
    for frame in (7, 8, 40):
        review.seen.show(frame)
    review.go(40)


def undone(review: Review) -> None:
    tagged(review)
    do(review, "retract", at=30)
    do(review, "undo")


def finished(review: Review) -> None:
    tagged(review)
    finish(review)
    reopen(review, "a finger was missed")
    review.seen.show(41)


def misread(review: Review) -> None:
    """A run that is timed, whose display reads what the picture rules out."""
    do(review, "run.begin", at=5)
    do(review, "in_order.hands_off", at=10)
    do(review, "in_order.hands_on", at=100)
    review.go(110)
    read_display(review, "9.999")


Deed = Callable[[Review], object]
DEEDS: dict[str, tuple[Deed, Deed]] = {
    **{name: (begun, deed) for name, deed in ENTRIES.items()},
    "accept": (misread, ENTRIES["accept"]),
    "widen.later": (sighted, ENTRIES["widen.later"]),
    "run.begin": (lambda review: review.seen.show(3), ENTRIES["run.begin"]),
    "retract": (tagged, lambda review: do(review, "retract", at=30)),
    "undo": (tagged, lambda review: do(review, "undo")),
    "redo": (undone, lambda review: do(review, "redo")),
    "undo of two": (undone, lambda review: do(review, "undo")),
    "frames shown": (tagged, Review.flush_seen),
    "finish": (tagged, finish),
    "amend": (finished, ENTRIES["note"]),
}
"""What is there before each deed, and the deed."""


def on_the_disk(review: Review) -> list[Line]:
    return list(read_session(review.journal.path).lines)


@pytest.mark.parametrize(("lasting", "partly"), WAYS)
@pytest.mark.parametrize("name", DEEDS)
def test_a_deed_is_whole_or_not_at_all_wherever_the_disk_fails(
    make_review: Callable[[], Review], name: str, lasting: bool, partly: bool
) -> None:
    prepare, deed = DEEDS[name]
    for number in range(6):
        review = make_review()
        prepare(review)
        before, waiting = review.lines, review.seen.fresh
        with failing_at(number, lasting=lasting, partly=partly) as made:
            try:
                deed(review)
            except WriteRefused:
                pass
            else:
                assert number >= len(made)
                assert on_the_disk(review) == review.lines
                assert len(review.lines) > len(before)
                return
        assert (review.lines, review.seen.fresh) == (before, waiting)
        left = on_the_disk(review)
        # A disk that fails for good may keep a deed that it did not sync: whole, and cut off later.
        assert left == before or (lasting and made[number] == "fsync" and len(left) > len(before))
        deed(review)
        assert on_the_disk(review) == review.lines
        assert len(review.lines) > len(before)
    raise AssertionError("it never came to an end")


def test_a_deed_with_frames_shown_and_a_reason_is_one_deed(review: Review) -> None:
    finished(review)
    before = len(review.lines)
    ENTRIES["note"](review)
    deed = review.lines[before:]
    assert [line.entry.kind for line in deed] == ["reopened", "shown", "note"]
    assert [line.more for line in deed] == [2, 1, None]
    with suppress(WriteRefused):
        review.flush_seen()
    assert len(review.lines) == before + 3
