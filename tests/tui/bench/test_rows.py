"""What the panels show, as plain data."""

import pytest

from sessions.evidence.sighting import Sighting
from sessions.record.entries import Sighted
from sessions.record.journal import Journal
from sessions.ruling.ruling import Standing
from tests.tui.conftest import frame_at, header
from tests.tui.reviewing import do, run_in_order
from tui.bench import rows, runs
from tui.bench.question import due_text, keys_for
from tui.bench.review import Review


def row(review: Review, title: str) -> rows.LadderRow:
    (found,) = [r for r in rows.ladder_rows(review) if r.title == title]
    return found


def test_without_a_run_there_is_no_ladder(review: Review) -> None:
    assert rows.ladder_rows(review) == []
    assert rows.run_rows(review) == []
    assert rows.run_explanation(review) == ""
    assert rows.number_text(review) == "no run"
    assert due_text(review) == "Begin a run where the hands come to the pad: Begin a run"


def test_exactly_one_step_is_the_next(opened: Review) -> None:
    chosen = [r for r in rows.ladder_rows(opened) if r.chosen]
    assert len(chosen) == 1
    assert chosen[0].state == "due"
    assert opened.checkpoint is not None
    assert chosen[0].title == opened.checkpoint.title


@pytest.mark.parametrize(
    ("command", "state", "frames"),
    [
        ("in_order.grip", "proven", "30"),
        ("fault.grip", "fault", "30"),
        ("cannot_tell.grip", "unproven", "(29,30]"),
    ],
)
def test_a_checkpoint_shows_its_state_and_its_frames(
    opened: Review, command: str, state: str, frames: str
) -> None:
    do(opened, command, at=30)
    shown = row(opened, "No cup held at start")
    assert (shown.state, shown.frames) == (state, frames)


def test_a_moment_shows_its_bracket(opened: Review) -> None:
    do(opened, "in_order.hands_off", at=20)
    shown = row(opened, "Hands off (first hand)")
    assert (shown.state, shown.frames) == ("proven", "(19,20]")


def test_a_moment_seen_from_one_side_only_is_not_done(opened: Review) -> None:
    do(opened, "fault.flat", at=30)
    shown = row(opened, "Hands off (first hand)")
    assert shown.state in ("open", "due")
    assert shown.frames == "(30,?]"


@pytest.mark.parametrize(
    ("sighting", "text"),
    [
        (Sighting(), ""),
        (Sighting(4, 7), "(4,7]"),
        (Sighting(4), "(4,?]"),
        (Sighting(by=7), "(?,7]"),
        (Sighting(-1, 0), "(-1,0]"),
    ],
)
def test_a_bracket_as_text(sighting: Sighting, text: str) -> None:
    assert rows.bracket_text(sighting) == text


def test_a_record_of_two_minds_shows_where_it_contradicts_itself(opened: Review) -> None:
    do(opened, "in_order.hands_off", at=20)
    entry = opened.session.live[-1].entry
    assert isinstance(entry, Sighted)
    other = entry.model_copy(update={"after": opened.spot(40), "by": opened.spot(41)})
    opened.journal.append(other)
    opened.journal.close()
    again = Review(Journal.reopen(opened.journal.path), lambda frame: frame, frame_at)
    assert row(again, "Hands off (first hand)").state == "conflict"
    again.journal.close()


def test_a_cure_is_listed_only_once_there_is_something_to_cure(opened: Review) -> None:
    runs.fumble(opened, runs.fumble_stacks(opened)[0], "up")
    assert "Two-stack touch cured (x1)" not in [r.title for r in rows.ladder_rows(opened)]
    do(opened, "fault.one_stack", at=100)
    assert row(opened, "Two-stack touch cured (x1)").state in ("open", "due")
    do(opened, "in_order.cured", at=120)
    assert row(opened, "Two-stack touch cured (x1)").state == "proven"


def test_runs_show_number_standing_time_and_frames(review: Review) -> None:
    do(review, "run.begin", at=0)
    do(review, "run.sort")
    do(review, "run.end", at=9)
    do(review, "run.begin", at=20)
    runs.read_display(review, "6.482")
    warm_up, attempt = rows.run_rows(review)
    assert warm_up == rows.RunRow(1, "warm-up", Standing.UNCOUNTED, "", "0-9", here=False)
    assert attempt == rows.RunRow(2, "attempt 1", Standing.OPEN, "6.482", "20-…", here=True)
    assert rows.number_text(review) == "run 2 attempt 1"


def test_a_warm_up_has_no_number(opened: Review) -> None:
    do(opened, "run.sort")
    assert rows.number_text(opened) == "run 1 warm-up"
    assert rows.run_explanation(opened) == "warm-up: counts as nothing"
    assert rows.ladder_rows(opened) == []
    words = "Run 1 (warm-up) counts as nothing, so nothing is due in it."
    assert due_text(opened) == f"{words} End it with End the run"
    do(opened, "run.end", at=20)
    assert due_text(opened) == f"{words} Begin the next run with Begin a run"


def test_the_explanation_tells_what_the_run_counts_as(review: Review) -> None:
    run_in_order(review, 0)
    assert rows.run_explanation(review) == "timed run 1 counts as attempt 1"


def test_the_reading_lies_within_what_the_picture_leaves_possible(review: Review) -> None:
    run_in_order(review, 0)
    clock = rows.clock_row(review)
    assert clock is not None
    low, high = (float(bound) for bound in clock.by_picture.split("-"))
    assert low < float(clock.reading) < high
    assert clock.state == "proven"
    assert (
        clock.words
        == f"the display's {clock.reading} s agrees with the picture's {low:.3f}-{high:.3f} s"
    )


def test_the_picture_bounds_the_time_before_the_display_is_read(review: Review) -> None:
    assert rows.clock_row(review) is None
    do(review, "run.begin", at=0)
    do(review, "in_order.hands_off", at=20)
    assert rows.clock_row(review) is None
    do(review, "in_order.hands_on", at=80)
    clock = rows.clock_row(review)
    assert clock is not None
    assert (clock.state, clock.words) == (
        "open", "by the picture 0.983-1.017 s, no reading yet"
    )  # fmt: skip


def test_a_display_that_the_picture_excludes_is_a_fault(review: Review) -> None:
    run_in_order(review, 0)
    runs.read_display(review, "9.999")
    clock = rows.clock_row(review)
    assert clock is not None
    assert clock.state == "fault"
    assert clock.words.startswith("the display's 9.999 s CONTRADICTS the picture's ")


def test_a_complete_ladder_says_so(review: Review) -> None:
    run_in_order(review, 0)
    assert due_text(review) == (
        "The ladder of run 1 is complete. Next: look for the marks of 12 cups: Mark seen or All "
        "marks seen; begin the next run: Begin a run; finish: Finish the review"
    )
    assert not any(r.chosen for r in rows.ladder_rows(review))


def test_what_is_due_is_asked_in_whole_words(opened: Review) -> None:
    opened.chosen = "start"
    assert due_text(opened) == (
        "Hands off (first hand): tag the first frame in which the clock starts."
    )
    opened.chosen = "stop.free"
    assert due_text(opened) == (
        "Cups free before stop: fingers and thumbs are clear of the cups, before a hand comes "
        "to the pad?"
    )


def test_what_must_be_so_at_the_start_is_asked_of_the_frame_of_the_start(opened: Review) -> None:
    opened.chosen = "start.flat"
    assert due_text(opened) == (
        "Hands flat at start: as the clock starts, flat hands and no wrist on the pad until then? "
        "Fault: a frame before that shows it."
    )
    opened.chosen = None
    do(opened, "in_order.hands_off", at=482)
    assert due_text(opened) == (
        "Hands flat at start: in frame 482, as the clock starts, flat hands and no wrist on the "
        "pad until then? Fault: a frame up to 481 that shows it."
    )


def test_a_cup_whose_mark_never_appeared_is_a_fault_at_once(review: Review) -> None:
    said = do(review, "cup.blank", at=3)
    left = len(review.session.unseen)
    assert said == (
        f"Cup 1: its mark never appeared. It counts once every frame was shown; {left} frames left."
    )
    first, second = rows.cup_rows(review)[:2]
    assert (first.state, first.never, second.state, second.never) == ("fault", True, "open", False)
    do(review, "cup.seen", at=4)
    assert (rows.cup_rows(review)[0].state, rows.cup_rows(review)[0].never) == ("proven", False)


def test_the_cup_at_hand_is_marked(review: Review) -> None:
    do(review, "cup.cannot_tell", at=3)
    do(review, "cup.next")
    do(review, "cup.seen", at=4)
    shown = rows.cup_rows(review)
    assert [r.state for r in shown[:3]] == ["unproven", "proven", "open"]
    assert [r.cup for r in shown if r.here] == [3]


def test_the_time_line_has_runs_tags_and_what_was_seen(review: Review) -> None:
    do(review, "run.begin", at=10)
    do(review, "in_order.hands_off", at=20)
    do(review, "fault.grip", at=19)
    do(review, "cannot_tell.let_go", at=30)
    for frame in range(5):
        review.seen.show(frame)
    line = rows.timeline(review)
    assert line.frames == review.frames
    assert line.position == 30
    assert line.seen == ((0, 4),)
    assert line.runs == ((10, review.frames - 1, True),)
    assert line.ticks == ((20, "proven"), (19, "fault"), (30, "unproven"))
    do(review, "run.end", at=90)
    assert rows.timeline(review).runs == ((10, 90, True),)


def test_the_place_has_frame_time_and_time_code(review: Review) -> None:
    review.go(90)
    assert rows.place_text(review) == "frame 90/599 0:01.500 00:00:01:30"


def test_footage_of_no_steady_rate_has_no_time_code(review: Review) -> None:
    facts = header().footage.model_copy(update={"nominal_rate": None})
    head = review.session.header.model_copy(update={"footage": facts})
    object.__setattr__(review.session, "header", head)
    review.go(90)
    assert rows.place_text(review) == "frame 90/599 0:01.500"


def test_what_must_be_so_at_the_stop_is_asked_in_its_frame_once_the_stop_is_sighted(
    opened: Review,
) -> None:
    asked = {}
    for at in (None, 500):
        if at is not None:
            do(opened, "in_order.hands_on", at=at)
        for step in ("stop.free", "stop.flat", "exact", "f1.completed"):
            opened.chosen = step
            asked[step, at] = due_text(opened)
    assert not any("in frame" in asked[key] for key in asked if key[1] is None)
    assert "Cups free before stop: in frame 499 or earlier, fingers" in asked["stop.free", 500]
    assert "Hands flat at stop: in frame 500, the flat hands" in asked["stop.flat", 500]
    assert "Nothing added: in frame 500 or later, the clock stops" in asked["exact", 500]
    assert "complete: in frame 499 or earlier, " in asked["f1.completed", 500]


def test_the_keys_in_sight_are_those_of_the_situation(review: Review) -> None:
    assert keys_for(review)[:2] == ("help", "run.begin")
    do(review, "run.begin", at=5)
    answers = ("due.in_order", "due.fault", "due.cannot_tell")
    assert keys_for(review)[:5] == ("help", *answers, "run.end")
    do(review, "run.sort", at=5)
    assert keys_for(review)[:2] == ("help", "run.end")
    assert not {"not_yet", *answers} & set(keys_for(review))
    assert len(set(keys_for(review))) == len(keys_for(review))
