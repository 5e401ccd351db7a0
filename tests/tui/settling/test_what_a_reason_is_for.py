"""A reason settles a difference as it was decided then, and not what is tagged afterwards."""

from typing import Literal

import pytest

from sessions.entries import Look, Reading
from tests.tui.settling.conftest import Settle
from tests.tui.settling.settlers import other_matters, right_entries, truth
from tui.review.runs import read_display
from tui.review.tagging import tag_step

LAST = truth().runs[-1].run


def frame_of(rung: str) -> int:
    looks = (e for e in right_entries() if isinstance(e, Look) and (e.run, e.rung) == (LAST, rung))
    return next(looks).by.frame


@pytest.mark.parametrize(("saw", "left"), [("broken", 1), ("kept", 0)])
def test_a_reason_holds_only_for_what_it_was_given_for(
    settle: Settle, saw: Literal["broken", "kept"], left: int
) -> None:
    """Tagged otherwise after R1's side was taken, it is no more as R1 found it."""
    made = settle()
    made.settlement.take(0, "R1 saw it rightly")
    desk, step = made.settlement.desk, made.settlement.desk.step
    assert step is not None
    desk.go(frame_of("f1.s1.let-go") + 1)
    tag_step(desk, step, saw)
    assert made.settlement.left == left
    desk.undo()
    assert made.settlement.left == 0


def test_another_reading_than_the_one_settled_is_to_be_settled(settle: Settle) -> None:
    made = settle(right_entries(), other_matters())
    reading = made.settlement.disputes[2]
    made.settlement.move(2)
    made.settlement.take(0, "the last digit is sharp")
    assert made.settlement.settled(reading) is not None
    other = next(e for e in other_matters() if isinstance(e, Reading) and e.run == LAST)
    made.settlement.desk.run_id = LAST
    made.settlement.desk.go(other.at.frame)
    read_display(made.settlement.desk, other.display)
    assert made.settlement.settled(reading) is None
