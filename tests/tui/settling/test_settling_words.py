"""What the settling screen says of a difference: counted right, named, and said if settled."""

from sessions.record.entries import Look
from tests.tui.settling.conftest import Settle
from tests.tui.settling.settlers import other_matters, right_entries, truth
from tui.settling.rows import status_parts, why_anew, why_taken

LAST = truth().runs[-1].run


def frame_of(checkpoint: str) -> int:
    looks = (
        e
        for e in right_entries()
        if isinstance(e, Look) and (e.run, e.checkpoint) == (LAST, checkpoint)
    )
    return next(looks).by.frame


def test_what_is_left_agrees_in_number(settle: Settle) -> None:
    made = settle(right_entries(), other_matters())
    assert made.settlement.ending == "4 of 4 differences are left to settle."
    for _ in range(3):
        made.settlement.take(0, "seen")
    assert made.settlement.ending == "1 of 4 differences is left to settle."


def test_the_status_names_the_claim_and_hides_nothing_of_it(settle: Settle) -> None:
    parts = status_parts(settle().settlement)
    assert "claim C-1" in parts
    assert "1 more needs no settling" in parts


def test_the_question_names_the_difference_and_the_side(settle: Settle) -> None:
    made = settle()
    title = f"Run {LAST}: Let go: 1st 3."
    frame = frame_of("f1.s1.let-go")
    assert why_taken(made.settlement, 0) == (
        f"{title} Why do you take this side? R1: in order at frame {frame}"
    )
    assert why_anew(made.settlement) == f"{title} What did you see when you looked again?"


def test_what_is_settled_already_says_so_before_it_is_settled_anew(settle: Settle) -> None:
    made = settle()
    made.settlement.take(0, "it is clear in 300.")
    settled = "Settled already, as R1 found it: it is clear in 300. Why do you settle it anew?"
    assert settled in why_taken(made.settlement, 1)
    assert why_anew(made.settlement).endswith(settled)
    made.settlement.looked_again("clear in 301")
    assert "Settled already, as it was looked at again: clear in 301." in why_taken(
        made.settlement, 1
    )
