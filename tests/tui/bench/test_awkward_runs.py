"""Runs that are right by the trade also where they are awkward, as the bench takes them.

What must come out is common practice, no source.
"""

from collections.abc import Callable

import pytest

from keymaps.keymap import Keymap
from sessions.rules.ladder import Kind
from sessions.ruling.brackets import Outcome
from sessions.ruling.checker import Finding
from sessions.ruling.ruling import Standing
from tests.tui.benching import make_app, on_bench
from tests.tui.conftest import PlainSource
from tests.tui.reviewing import STRIDE, do, run_in_order, standing, watch
from tui.bench import runs
from tui.bench.finishing import finish
from tui.bench.review import Review


def found(review: Review, checkpoint: str) -> Finding:
    finding = review.checked(review.needed_run()).finding(checkpoint)
    assert finding is not None
    return finding


async def test_a_cycle_given_up_after_its_first_formation_is_ruled_a_scratch_by_keys(
    make_review: Callable[[str], Review], source: PlainSource, keymap: Keymap
) -> None:
    """Two formations are left out: each is passed undone, and nothing contradicts that."""
    review = make_review("cycle")
    do(review, "run.begin", at=5)
    frame = 5
    while review.checkpoint is not None and review.checkpoint.id != "f2.column":
        frame += STRIDE
        do(review, "due.in_order", at=frame)
    assert found(review, "f1.completed").outcome is Outcome.PROVEN
    async with on_bench(make_app(review, source, keymap)) as bench:
        await bench.do("step.forward", "in_order.hands_on")
        for number in (2, 3):
            await bench.do("step.forward", "fault.formation")
            assert found(review, f"f{number}.completed").outcome is Outcome.REFUTED
        await bench.do("step.forward", "run.end")
    assert review.checked(review.needed_run()).clashes == ()
    assert standing(review) is Standing.SCRATCH


@pytest.fixture
def touched(review: Review) -> Review:
    """A stack that fell and was put right with a hand on another stack, which frame 100 shows."""
    do(review, "run.begin", at=5)
    do(review, "in_order.hands_off", at=17)
    review.go(60)
    runs.fumble(review, runs.fumble_stacks(review)[0], "up")
    do(review, "fault.one_stack", at=100)
    return review


def test_a_cure_before_its_touch_cures_nothing(touched: Review) -> None:
    do(touched, "in_order.cured", at=90)
    finding = found(touched, "x1.one-stack")
    assert finding.outcome is Outcome.REFUTED
    assert "came before the touch, and cures nothing" in finding.detail
    do(touched, "run.end", at=300)
    assert standing(touched) is Standing.SCRATCH


def test_each_touch_of_a_repair_needs_its_own_cure(touched: Review) -> None:
    do(touched, "in_order.cured", at=120)
    do(touched, "fault.one_stack", at=140)
    assert found(touched, "x1.one-stack").outcome is Outcome.PROVEN
    assert found(touched, "x1.one-stack-2").outcome is Outcome.UNLOOKED
    do(touched, "in_order.cured", at=160)
    assert found(touched, "x1.one-stack-2").outcome is Outcome.PROVEN


def tag_by_hand(review: Review, hand: str, command: str, at: int) -> None:
    while review.hand != hand:
        do(review, "hand")
    do(review, command, at=at)


def test_a_hand_on_the_pad_with_its_thumb_on_a_cup_is_at_fault_though_the_other_came_later(
    review: Review,
) -> None:
    """The right hand comes to the pad at 200 and lets go of the cups at 205; the left at 210."""
    do(review, "run.begin", at=5)
    tag_by_hand(review, "right", "in_order.hands_on", 200)
    tag_by_hand(review, "left", "in_order.hands_on", 210)
    tag_by_hand(review, "left", "in_order.free", 208)
    review.chosen = "stop.free"
    tag_by_hand(review, "right", "fault.free", 202)
    finding = found(review, "stop.free")
    assert (finding.outcome, finding.hand) == (Outcome.REFUTED, "right")


def test_a_hand_off_the_pad_may_move_cups_though_the_other_is_still_on_it(review: Review) -> None:
    do(review, "run.begin", at=5)
    tag_by_hand(review, "left", "in_order.hands_off", 50)
    tag_by_hand(review, "right", "in_order.hands_off", 60)
    tag_by_hand(review, "left", "in_order.still", 52)
    review.chosen = "start.still"
    tag_by_hand(review, "right", "in_order.still", 61)
    assert found(review, "start.still").outcome is Outcome.PROVEN


def test_a_cup_unclear_in_one_place_and_never_found_in_another_is_a_doubt(review: Review) -> None:
    run_in_order(review, 0)
    watch(review)
    for cup in range(2, review.session.header.event.cups + 1):
        review.cup = cup
        do(review, "cup.seen", at=20)
    for command, frame in (("cup.cannot_tell", 30), ("cup.blank", 90)):
        review.cup = 1
        do(review, command, at=frame)
    assert review.ruling.cups[0].outcome is Outcome.UNPROVEN
    assert standing(review) is Standing.STANDS


def test_a_reading_typed_with_a_digit_more_is_the_reading_that_was_accepted(
    review: Review,
) -> None:
    run_in_order(review, 0)
    runs.read_display(review, "99.99")
    runs.accept_reading(review, "the display was changed afterwards")
    runs.read_display(review, "99.990")
    assert review.needed_run().acceptances
    runs.read_display(review, "99.991")
    assert not review.needed_run().acceptances


def test_warm_ups_alone_are_no_attempt_once_all_is_watched_and_the_review_is_finished(
    review: Review,
) -> None:
    do(review, "run.begin", at=5)
    do(review, "run.sort")
    do(review, "run.end", at=90)
    watch(review, 0, 300)
    assert not review.ruling.made
    watch(review)
    finish(review)
    assert review.ruling.made
    assert review.ruling.summary == "No attempt is on this footage."


def test_the_kinds_that_these_runs_need_have_keys_of_their_own(keymap: Keymap) -> None:
    for kind in (Kind.FORMATION, Kind.CURED, Kind.ONE_STACK, Kind.FREE, Kind.STILL):
        assert keymap.keys_for(f"fault.{kind}")
