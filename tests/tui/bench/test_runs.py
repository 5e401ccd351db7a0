"""Runs on the tape: opening, closing, sorting, readings, fumbles, starting over."""

import pytest

from sessions.errors import EntryRefused
from sessions.record.entries import Fumble, Note, Reading, ReadingAccepted, RunBegun, StartedOver
from sessions.rules.ladder import Kind
from sessions.ruling.ruling import Standing
from tests.tui.reviewing import do, living, run_in_order, standing, watch, written
from tui.bench import runs
from tui.bench.review import Review


def test_a_run_opens_and_closes_at_the_frame_on_the_screen(review: Review) -> None:
    assert do(review, "run.begin", at=5) == "Run 1 begun at frame 5."
    assert do(review, "run.end", at=80) == "Run 1 ended at frame 80."
    (run,) = review.session.runs
    assert run.begins == review.spot(5)
    assert run.ends == review.spot(80)


def test_in_a_run_that_counts_as_nothing_there_is_nothing_to_tag(review: Review) -> None:
    do(review, "run.begin", at=5)
    do(review, "run.sort")
    assert review.checkpoint is None
    for command in ("due.in_order", "in_order.grip", "ladder.next"):
        with pytest.raises(EntryRefused, match="warm-up and counts as nothing"):
            do(review, command)
    do(review, "undo")
    do(review, "in_order.grip", at=30)


def test_a_second_run_waits_until_the_first_is_closed(review: Review) -> None:
    do(review, "run.begin", at=5)
    with pytest.raises(EntryRefused, match="Run 1 is still open"):
        do(review, "run.begin", at=90)
    do(review, "run.end", at=80)
    do(review, "run.begin", at=90)
    assert review.run_id == 2


def test_a_key_pressed_twice_spends_one_attempt(review: Review) -> None:
    do(review, "run.begin", at=5)
    do(review, "run.restart", at=40)
    with pytest.raises(EntryRefused, match="in this frame is recorded already"):
        do(review, "run.restart", at=40)
    do(review, "run.restart", at=41)
    (run,) = review.session.runs
    assert [entry.at.frame for entry in run.started_over] == [40, 41]


def test_closing_again_moves_the_end(review: Review) -> None:
    do(review, "run.begin", at=5)
    do(review, "run.end", at=80)
    do(review, "run.end", at=85)
    (run,) = review.session.runs
    assert [entry.ends.frame for entry in run.ended] == [85]


def test_a_run_does_not_close_before_it_opens(review: Review) -> None:
    do(review, "run.begin", at=5)
    with pytest.raises(EntryRefused, match="opens at frame 5"):
        do(review, "run.end", at=4)
    do(review, "run.end", at=5)


def test_a_run_neither_opens_in_another_nor_closes_beyond_the_next(review: Review) -> None:
    for first, last in ((100, 200), (300, 400)):
        do(review, "run.begin", at=first)
        do(review, "run.end", at=last)
    for frame in (100, 150, 200, 300, 400):
        with pytest.raises(EntryRefused, match="runs cannot overlap"):
            do(review, "run.begin", at=frame)
    do(review, "run.begin", at=0)
    for frame in (100, 350, 500):
        with pytest.raises(EntryRefused, match="Run 1 begins before this frame"):
            do(review, "run.end", at=frame)
    do(review, "run.end", at=99)
    assert review.ruling.problems == ()
    assert [run.id for run in review.session.runs] == [3, 1, 2]


def test_only_an_open_run_can_be_closed_or_sorted(review: Review) -> None:
    for command in ("run.end", "run.sort", "run.restart", "run.next"):
        with pytest.raises(EntryRefused, match="There is no run yet"):
            do(review, command)


def test_a_run_is_sorted_in_turn_and_only_attempts_count(review: Review) -> None:
    do(review, "run.begin", at=5)
    sorts = []
    for _ in range(3):
        do(review, "run.sort")
        sorts.append((review.needed_run().sort, review.ruling.runs[0].number))
    assert sorts == [("warm-up", None), ("rearranging", None), ("attempt", 1)]
    assert len(review.needed_run().begun) == 1
    assert review.needed_run().begins == review.spot(5)


def test_the_next_and_previous_run_go_round_in_the_order_of_the_footage(review: Review) -> None:
    for first in (200, 100, 0):
        do(review, "run.begin", at=first)
        do(review, "run.end", at=first + 50)
    assert review.run_id == 3
    places = []
    for command in ("run.next", "run.next", "run.next", "run.previous"):
        do(review, command)
        places.append((review.run_id, review.frame))
    assert places == [(2, 100), (1, 200), (3, 0), (1, 200)]


def test_a_chosen_step_does_not_follow_to_another_run(review: Review) -> None:
    do(review, "run.begin", at=5)
    do(review, "run.end", at=50)
    review.chosen = "exact"
    do(review, "run.next")
    assert review.chosen is None


def test_an_attempt_started_over_spends_the_next_number(review: Review) -> None:
    do(review, "run.begin", at=5)
    do(review, "run.restart", at=40)
    do(review, "run.end", at=80)
    do(review, "run.begin", at=100)
    assert StartedOver(run=1, at=review.spot(40)) in living(review)
    assert [run.number for run in review.ruling.runs] == [1, 3]


@pytest.mark.parametrize(
    ("typed", "reading"),
    [
        ("6.482", "6.482"),
        (" 6,482 ", "6.482"),
        ("12", "12"),
        ("0.5", "0.5"),
        ("1234.123456", "1234.123456"),
    ],
)
def test_a_reading_is_taken_as_typed_with_a_comma_for_a_point(
    review: Review, typed: str, reading: str
) -> None:
    do(review, "run.begin", at=5)
    runs.read_display(review, typed)
    assert living(review)[-1] == Reading(run=1, display=reading, at=review.spot(5))


@pytest.mark.parametrize(
    "typed", ["", "six", "-1", "+1", "1:02.3", "6.", ".5", "6.4.8", "1e3", "12345", "6.1234567"]
)
def test_what_is_no_time_is_no_reading(review: Review, typed: str) -> None:
    do(review, "run.begin", at=5)
    with pytest.raises(EntryRefused, match="not a time in seconds"):
        runs.read_display(review, typed)
    assert len(written(review)) == 1


def test_a_second_reading_replaces_the_first(review: Review) -> None:
    do(review, "run.begin", at=5)
    runs.read_display(review, "6.482")
    runs.read_display(review, "6.842")
    assert [entry.display for entry in review.needed_run().readings] == ["6.842"]


def test_a_fumble_going_up_adds_its_steps_and_the_touch_can_be_cured(review: Review) -> None:
    do(review, "run.begin", at=0)
    ladder = review.checked(review.needed_run()).ladder
    runs.fumble(review, runs.fumble_stacks(review)[1], "up")
    longer = review.checked(review.needed_run()).ladder
    added = [step for step in longer.checkpoints if step not in ladder.checkpoints]
    assert [step.kind for step in added[:4]] == [
        Kind.REPAIRED,
        Kind.LET_GO,
        Kind.ONE_STACK,
        Kind.CURED,
    ]
    assert review.due_checkpoint(Kind.ONE_STACK) == added[2]
    assert review.due_checkpoint(Kind.CURED) is None
    do(review, "fault.one_stack", at=100)
    cure = review.due_checkpoint(Kind.CURED)
    assert cure == added[3]
    do(review, "in_order.cured", at=120)
    another = review.due_checkpoint(Kind.ONE_STACK)
    assert another is not None
    assert another.title == "Hand off the other stack, touch 2 (x1)"
    finding = review.checked(review.needed_run()).finding("x1.one-stack")
    assert finding is not None
    assert finding.outcome == "proven"
    assert finding.detail == "cured before the clock stopped"


def test_a_fumble_going_down_asks_only_for_the_closing_position(review: Review) -> None:
    do(review, "run.begin", at=0)
    before = review.checked(review.needed_run()).ladder.checkpoints
    said = runs.fumble(review, runs.fumble_stacks(review)[0], "down")
    assert said == f"Fumble x1 of {runs.fumble_stacks(review)[0].words} in the down phase."
    after = review.checked(review.needed_run()).ladder.checkpoints
    assert [s.title for s in after if s not in before] == ["Cups back (x1)"]


def test_fumbles_of_a_run_are_named_in_turn_also_after_one_is_taken_back(review: Review) -> None:
    do(review, "run.begin", at=0)
    stack = runs.fumble_stacks(review)[0]
    runs.fumble(review, stack, "up")
    runs.fumble(review, stack, "down")
    do(review, "undo")
    runs.fumble(review, stack, "down")
    assert [e.fumble for e in living(review) if isinstance(e, Fumble)] == ["x1", "x2"]


def test_a_chosen_step_that_is_taken_back_is_chosen_no_longer(review: Review) -> None:
    do(review, "run.begin", at=0)
    due = review.checkpoint
    runs.fumble(review, runs.fumble_stacks(review)[0], "down")
    review.chosen = "x1.closed"
    assert review.checkpoint is not None
    assert review.checkpoint.id == "x1.closed"
    do(review, "undo")
    assert review.checkpoint == due


def test_the_likely_stack_is_the_one_whose_let_go_is_due(review: Review) -> None:
    assert runs.likely_stack(review) == 0
    do(review, "run.begin", at=0)
    while review.checkpoint is not None and review.checkpoint.id != "f1.s2.let-go":
        do(review, "due.in_order", at=review.frame + 10)
    assert runs.fumble_stacks(review)[runs.likely_stack(review)].id == "f1.s2"


def test_a_run_in_order_with_its_cups_seen_stands(review: Review) -> None:
    reading = run_in_order(review, 0)
    assert standing(review) is Standing.OPEN
    do(review, "cup.all_seen")
    assert not review.ruling.made, "most of the footage is unwatched"
    watch(review)
    assert review.ruling.made
    assert review.ruling.summary == f"{reading} s stands: run 1, attempt 1."


def test_a_clock_that_contradicts_the_picture_is_settled_with_a_reason(review: Review) -> None:
    run_in_order(review, 0)
    do(review, "cup.all_seen")
    watch(review)
    runs.read_display(review, "99.999")
    assert standing(review) is Standing.OPEN
    runs.accept_reading(review, " the display was changed afterwards ")
    reason = "the display was changed afterwards"
    assert living(review)[-1] == ReadingAccepted(run=1, display="99.999", reason=reason)
    assert standing(review) is Standing.STANDS
    assert review.ruling.summary.endswith("with 1 doubt noted.")
    runs.read_display(review, "88.888")
    assert standing(review) is Standing.OPEN, "what was accepted is another reading"
    runs.accept_reading(review, "read again")
    accepted = [entry for entry in living(review) if isinstance(entry, ReadingAccepted)]
    assert [entry.display for entry in accepted] == ["88.888"]


def test_a_reading_that_the_picture_leaves_possible_is_not_accepted(review: Review) -> None:
    run_in_order(review, 0)
    with pytest.raises(EntryRefused, match="Run 1 has no reading that the picture contradicts"):
        runs.accept_reading(review, "to be sure")


def test_a_note_keeps_its_frame_and_needs_no_run(review: Review) -> None:
    review.go(33)
    assert runs.add_note(review, " the light flickers ") == "Noted."
    assert living(review) == [Note(run=None, text="the light flickers", at=review.spot(33))]


@pytest.mark.parametrize("text", ["", "   ", "x" * 2001])
def test_a_note_has_1_to_2000_characters(review: Review, text: str) -> None:
    with pytest.raises(EntryRefused, match="1 to 2000"):
        runs.add_note(review, text)
    assert written(review) == []


def test_the_sort_of_a_run_keeps_where_it_opened_after_an_undo(review: Review) -> None:
    do(review, "run.begin", at=5)
    do(review, "run.sort", at=60)
    do(review, "undo")
    assert living(review) == [RunBegun(run=1, begins=review.spot(5))]
