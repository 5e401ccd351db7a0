"""Runs on the tape: opening, closing, sorting, readings, fumbles, starting over."""

import pytest

from sessions.entries import ClockSettled, Fumble, Note, Reading, RunBegun, StartedOver
from sessions.errors import EntryRefused
from sessions.ladder import Kind
from sessions.ruling import Standing
from tests.tui.reviewing import do, living, run_in_order, standing, written
from tui.review import runs
from tui.review.desk import Desk


def test_a_run_opens_and_closes_at_the_frame_on_the_screen(desk: Desk) -> None:
    assert do(desk, "run.begin", at=5) == "Run 1 opened at frame 5."
    assert do(desk, "run.end", at=80) == "Run 1 closed at frame 80."
    (run,) = desk.session.runs
    assert run.begins == desk.spot(5)
    assert run.ends == desk.spot(80)


def test_in_a_run_that_counts_as_nothing_there_is_nothing_to_tag(desk: Desk) -> None:
    do(desk, "run.begin", at=5)
    do(desk, "run.sort")
    assert desk.step is None
    for command in ("due.kept", "kept.grip", "ladder.next"):
        with pytest.raises(EntryRefused, match="warm-up and counts as nothing"):
            do(desk, command)
    do(desk, "undo")
    do(desk, "kept.grip", at=30)


def test_a_second_run_waits_until_the_first_is_closed(desk: Desk) -> None:
    do(desk, "run.begin", at=5)
    with pytest.raises(EntryRefused, match="Run 1 is still open"):
        do(desk, "run.begin", at=90)
    do(desk, "run.end", at=80)
    do(desk, "run.begin", at=90)
    assert desk.run_id == 2


def test_a_key_pressed_twice_spends_one_attempt(desk: Desk) -> None:
    do(desk, "run.begin", at=5)
    do(desk, "run.restart", at=40)
    with pytest.raises(EntryRefused, match="in this frame is recorded already"):
        do(desk, "run.restart", at=40)
    do(desk, "run.restart", at=41)
    (run,) = desk.session.runs
    assert [entry.at.frame for entry in run.started_over] == [40, 41]


def test_closing_again_moves_the_end(desk: Desk) -> None:
    do(desk, "run.begin", at=5)
    do(desk, "run.end", at=80)
    do(desk, "run.end", at=85)
    (run,) = desk.session.runs
    assert [entry.ends.frame for entry in run.ended] == [85]


def test_a_run_does_not_close_before_it_opens(desk: Desk) -> None:
    do(desk, "run.begin", at=5)
    with pytest.raises(EntryRefused, match="opens at frame 5"):
        do(desk, "run.end", at=4)
    do(desk, "run.end", at=5)


def test_a_run_neither_opens_in_another_nor_closes_beyond_the_next(desk: Desk) -> None:
    for first, last in ((100, 200), (300, 400)):
        do(desk, "run.begin", at=first)
        do(desk, "run.end", at=last)
    for frame in (100, 150, 200, 300, 400):
        with pytest.raises(EntryRefused, match="runs cannot overlap"):
            do(desk, "run.begin", at=frame)
    do(desk, "run.begin", at=0)
    for frame in (100, 350, 500):
        with pytest.raises(EntryRefused, match="Run 1 begins before this frame"):
            do(desk, "run.end", at=frame)
    do(desk, "run.end", at=99)
    assert desk.ruling.problems == ()
    assert [run.id for run in desk.session.runs] == [3, 1, 2]


def test_only_an_open_run_can_be_closed_or_sorted(desk: Desk) -> None:
    for command in ("run.end", "run.sort", "run.restart", "run.next"):
        with pytest.raises(EntryRefused, match="There is no run yet"):
            do(desk, command)


def test_a_run_is_sorted_in_turn_and_only_attempts_count(desk: Desk) -> None:
    do(desk, "run.begin", at=5)
    sorts = []
    for _ in range(3):
        do(desk, "run.sort")
        sorts.append((desk.needed_run().sort, desk.ruling.runs[0].number))
    assert sorts == [("warm-up", None), ("rearranging", None), ("attempt", 1)]
    assert len(desk.needed_run().begun) == 1
    assert desk.needed_run().begins == desk.spot(5)


def test_the_next_and_previous_run_go_round_in_the_order_of_the_footage(desk: Desk) -> None:
    for first in (200, 100, 0):
        do(desk, "run.begin", at=first)
        do(desk, "run.end", at=first + 50)
    assert desk.run_id == 3
    places = []
    for command in ("run.next", "run.next", "run.next", "run.previous"):
        do(desk, command)
        places.append((desk.run_id, desk.frame))
    assert places == [(2, 100), (1, 200), (3, 0), (1, 200)]


def test_a_chosen_step_does_not_follow_to_another_run(desk: Desk) -> None:
    do(desk, "run.begin", at=5)
    do(desk, "run.end", at=50)
    desk.chosen = "exact"
    do(desk, "run.next")
    assert desk.chosen is None


def test_an_attempt_started_over_spends_the_next_number(desk: Desk) -> None:
    do(desk, "run.begin", at=5)
    do(desk, "run.restart", at=40)
    do(desk, "run.end", at=80)
    do(desk, "run.begin", at=100)
    assert StartedOver(run=1, at=desk.spot(40)) in living(desk)
    assert [run.number for run in desk.ruling.runs] == [1, 3]


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
    desk: Desk, typed: str, reading: str
) -> None:
    do(desk, "run.begin", at=5)
    runs.read_display(desk, typed)
    assert living(desk)[-1] == Reading(run=1, display=reading, at=desk.spot(5))


@pytest.mark.parametrize(
    "typed", ["", "six", "-1", "+1", "1:02.3", "6.", ".5", "6.4.8", "1e3", "12345", "6.1234567"]
)
def test_what_is_no_time_is_no_reading(desk: Desk, typed: str) -> None:
    do(desk, "run.begin", at=5)
    with pytest.raises(EntryRefused, match="not a time in seconds"):
        runs.read_display(desk, typed)
    assert len(written(desk)) == 1


def test_a_second_reading_replaces_the_first(desk: Desk) -> None:
    do(desk, "run.begin", at=5)
    runs.read_display(desk, "6.482")
    runs.read_display(desk, "6.842")
    assert [entry.display for entry in desk.needed_run().readings] == ["6.842"]


def test_a_fumble_going_up_adds_its_steps_and_the_touch_can_be_cured(desk: Desk) -> None:
    do(desk, "run.begin", at=0)
    ladder = desk.checked(desk.needed_run()).ladder
    runs.fumble(desk, runs.fumble_stacks(desk)[1], "up")
    longer = desk.checked(desk.needed_run()).ladder
    added = [step for step in longer.steps if step not in ladder.steps]
    assert [step.kind for step in added] == [
        Kind.REPAIRED,
        Kind.LET_GO,
        Kind.ONE_STACK,
        Kind.CURED,
    ]
    assert desk.due_step(Kind.CURED) is None
    do(desk, "broken.one_stack", at=100)
    cure = desk.due_step(Kind.CURED)
    assert cure == added[-1]
    do(desk, "kept.cured", at=120)
    finding = desk.checked(desk.needed_run()).finding("x1.one-stack")
    assert finding is not None
    assert finding.outcome == "proven"
    assert finding.detail == "cured before the clock stopped"


def test_a_fumble_going_down_asks_only_for_the_closing_position(desk: Desk) -> None:
    do(desk, "run.begin", at=0)
    before = desk.checked(desk.needed_run()).ladder.steps
    said = runs.fumble(desk, runs.fumble_stacks(desk)[0], "down")
    assert said == f"Fumble x1 of {runs.fumble_stacks(desk)[0].words} in the down phase."
    after = desk.checked(desk.needed_run()).ladder.steps
    assert [s.title for s in after if s not in before] == ["Cups back (x1)"]


def test_fumbles_of_a_run_are_named_in_turn_also_after_one_is_taken_back(desk: Desk) -> None:
    do(desk, "run.begin", at=0)
    stack = runs.fumble_stacks(desk)[0]
    runs.fumble(desk, stack, "up")
    runs.fumble(desk, stack, "down")
    do(desk, "undo")
    runs.fumble(desk, stack, "down")
    assert [e.fumble for e in living(desk) if isinstance(e, Fumble)] == ["x1", "x2"]


def test_a_chosen_step_that_is_taken_back_is_chosen_no_longer(desk: Desk) -> None:
    do(desk, "run.begin", at=0)
    due = desk.step
    runs.fumble(desk, runs.fumble_stacks(desk)[0], "down")
    desk.chosen = "x1.closed"
    assert desk.step is not None
    assert desk.step.id == "x1.closed"
    do(desk, "undo")
    assert desk.step == due


def test_the_likely_stack_is_the_one_whose_let_go_is_due(desk: Desk) -> None:
    assert runs.likely_stack(desk) == 0
    do(desk, "run.begin", at=0)
    while desk.step is not None and desk.step.id != "f1.s2.let-go":
        do(desk, "due.kept", at=desk.frame + 10)
    assert runs.fumble_stacks(desk)[runs.likely_stack(desk)].id == "f1.s2"


def test_a_run_in_order_with_its_cups_seen_stands(desk: Desk) -> None:
    reading = run_in_order(desk, 0)
    assert standing(desk) is Standing.OPEN
    do(desk, "cup.all_seen")
    assert desk.ruling.made
    assert desk.ruling.summary == f"{reading} s stands: run 1, attempt 1."


def test_a_clock_that_contradicts_the_picture_is_settled_with_a_reason(desk: Desk) -> None:
    run_in_order(desk, 0)
    do(desk, "cup.all_seen")
    runs.read_display(desk, "99.999")
    assert standing(desk) is Standing.OPEN
    runs.settle_clock(desk, " the display was changed afterwards ")
    assert living(desk)[-1] == ClockSettled(run=1, reason="the display was changed afterwards")
    assert standing(desk) is Standing.STANDS


def test_a_note_keeps_its_frame_and_needs_no_run(desk: Desk) -> None:
    desk.go(33)
    assert runs.add_note(desk, " the light flickers ") == "Noted."
    assert living(desk) == [Note(run=None, text="the light flickers", at=desk.spot(33))]


@pytest.mark.parametrize("text", ["", "   ", "x" * 2001])
def test_a_note_has_1_to_2000_characters(desk: Desk, text: str) -> None:
    with pytest.raises(EntryRefused, match="1 to 2000"):
        runs.add_note(desk, text)
    assert written(desk) == []


def test_the_sort_of_a_run_keeps_where_it_opened_after_an_undo(desk: Desk) -> None:
    do(desk, "run.begin", at=5)
    do(desk, "run.sort", at=60)
    do(desk, "undo")
    assert living(desk) == [RunBegun(run=1, begins=desk.spot(5))]
