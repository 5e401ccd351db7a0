"""A reason settles a difference as it was decided then, and not what is tagged afterwards."""

from typing import Literal

import pytest

from sessions.record.entries import Look, Reading
from tests.tui.settling.conftest import Settle
from tests.tui.settling.settlers import other_matters, right_entries, truth
from tui.bench.runs import read_display
from tui.bench.tagging import tag_checkpoint

LAST = truth().runs[-1].run


def frame_of(checkpoint: str) -> int:
    looks = (
        e
        for e in right_entries()
        if isinstance(e, Look) and (e.run, e.checkpoint) == (LAST, checkpoint)
    )
    return next(looks).by.frame


@pytest.mark.parametrize(("saw", "left"), [("refuted", 1), ("proven", 0)])
def test_a_reason_holds_only_for_what_it_was_given_for(
    settle: Settle, saw: Literal["refuted", "proven"], left: int
) -> None:
    """Tagged otherwise after R1's side was taken, it is no more as R1 found it."""
    made = settle()
    made.settlement.take(0, "R1 saw it rightly")
    review, step = made.settlement.review, made.settlement.review.checkpoint
    assert step is not None
    review.go(frame_of("f1.s1.let-go") + 1)
    tag_checkpoint(review, step, saw)
    assert made.settlement.left == left
    review.undo()
    assert made.settlement.left == 0


def test_another_reading_than_the_one_settled_is_to_be_settled(settle: Settle) -> None:
    made = settle(right_entries(), other_matters())
    reading = made.settlement.disputes[2]
    made.settlement.move(2)
    made.settlement.take(0, "the last digit is sharp")
    assert made.settlement.settled(reading) is not None
    other = next(e for e in other_matters() if isinstance(e, Reading) and e.run == LAST)
    made.settlement.review.run_id = LAST
    made.settlement.review.go(other.at.frame)
    read_display(made.settlement.review, other.display)
    assert made.settlement.settled(reading) is None
