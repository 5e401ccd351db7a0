"""What a review leaves open, and the evidence of playing and of cups, without a screen."""

import math
from collections.abc import Callable
from fractions import Fraction

import pytest

from sessions.coverage import unseen_words
from sessions.entries import Finished, Played, Reopened, RunEnded
from sessions.errors import EntryRefused, ReviewClosed
from sessions.header import Claim
from tests.tui.conftest import FRAMES, RATE
from tests.tui.docket.docketing import SECRET
from tests.tui.reviewing import STRIDE, do, kept_until_complete, run_in_order, written
from tui.review import runs
from tui.review.blind import begins_blind, claim_for, claim_words, is_finished, may_know, read_in
from tui.review.desk import Desk
from tui.review.finishing import (
    LEAST_PICTURES,
    REOPENED,
    WATCH,
    Unwatched,
    finish,
    missing,
    numbers_text,
    reopen,
    settled_clocks,
    still_open,
    was_watched,
)


def see_all(desk: Desk) -> None:
    for frame in range(FRAMES):
        desk.seen.show(frame)
    desk.flush_seen()


def scratch(desk: Desk) -> None:
    """A run in which a cup moves at the start."""
    do(desk, "run.begin", at=0)
    do(desk, "kept.hands_off", at=20)
    do(desk, "broken.still", at=15)
    kept_until_complete(desk, 20 + STRIDE)
    do(desk, "run.end", at=400)


def test_an_untouched_review_leaves_everything_open(desk: Desk) -> None:
    assert still_open(desk) == [
        "No run was opened yet.",
        "Not cleared: cups 1-12.",
        "600 of 600 frames were never shown (frames 0-599).",
    ]


def test_what_is_open_in_a_run_is_named(desk: Desk) -> None:
    do(desk, "run.begin", at=0)
    see_all(desk)
    do(desk, "cup.all_seen")
    not_closed, steps = still_open(desk)
    assert not_closed == "Run 1 is not closed."
    assert steps.startswith("Run 1 is open: Hands flat at start, ")
    assert steps.endswith(" more.")


def test_a_contradiction_of_clock_and_picture_is_open(desk: Desk) -> None:
    run_in_order(desk, 0)
    see_all(desk)
    do(desk, "cup.all_seen")
    runs.read_display(desk, "9.999")
    (asked,) = still_open(desk, "J")
    assert asked.startswith("Run 1: the display's 9.999 s CONTRADICTS the picture's ")
    assert asked.endswith("Read the display again, or settle it with a reason (J).")
    assert missing(desk) == "open, run 1: clock contradicts the picture"
    runs.settle_clock(desk, "misread")
    assert still_open(desk) == []
    assert missing(desk) == ""


def test_a_contradiction_of_clock_and_picture_is_named_in_a_scratch_too(desk: Desk) -> None:
    scratch(desk)
    runs.read_display(desk, "9.999")
    assert any("settle it with a reason (J)" in line for line in still_open(desk, "J"))
    runs.settle_clock(desk, "misread")
    assert not any("CONTRADICTS" in line for line in still_open(desk, "J"))


def test_the_ruling_line_names_what_is_missing(desk: Desk) -> None:
    assert missing(desk) == ""
    do(desk, "run.begin", at=0)
    steps = len(desk.checked(desk.needed_run()).ladder.steps)
    assert missing(desk).startswith("open, run 1: ")
    assert missing(desk).endswith("steps, no reading, not closed; cups 1-12 not cleared")
    kept_until_complete(desk, 12)
    do(desk, "run.end", at=12 * (steps + 2))
    runs.read_display(desk, "9.999")
    runs.settle_clock(desk, "misread")
    assert missing(desk) == "open, cups 1-12 not cleared"
    do(desk, "cup.all_seen")
    assert missing(desk) == ""


def test_nothing_is_open_once_all_is_done(desk: Desk) -> None:
    run_in_order(desk, 0)
    do(desk, "cup.all_seen")
    see_all(desk)
    assert still_open(desk) == []


def test_many_unseen_stretches_are_counted(desk: Desk) -> None:
    for frame in range(0, FRAMES, 100):
        desk.seen.show(frame)
    (unseen,) = [line for line in still_open(desk) if "shown" in line]
    stretches = "frames 1-99, 101-199, 201-299 and 3 more stretches"
    assert unseen == f"594 of 600 frames were never shown ({stretches})."


def test_what_was_never_shown_is_told_as_in_the_ruling(desk: Desk) -> None:
    desk.seen.show(7)
    desk.flush_seen()
    (unseen,) = [line for line in still_open(desk) if "shown" in line]
    assert unseen == f"{unseen_words(desk.session)}."


def test_a_problem_of_the_session_is_named(desk: Desk) -> None:
    run_in_order(desk, 0)
    session = desk.session
    desk.write(session.runs[0].begun[0].model_copy(update={"run": 2}))
    assert any(line.startswith("Problem: runs 1 and 2 overlap") for line in still_open(desk))


def test_a_scratch_asks_to_be_watched_at_full_speed(desk: Desk) -> None:
    scratch(desk)
    asked = [line for line in still_open(desk) if "full speed" in line]
    assert asked == [
        "Run 1 is a scratch that was not yet watched at full speed: go to before its start, "
        "set the speed to 1x and play it to its stop."
    ]
    desk.write(Played(first=10, last=FRAMES - 1, speed="1"))
    assert was_watched(desk, 1)
    assert not [line for line in still_open(desk) if "full speed" in line]


@pytest.mark.parametrize(
    "played",
    [
        Played(first=21, last=599, speed="1"),
        Played(first=0, last=40, speed="1"),
        Played(first=0, last=599, speed="1/2"),
    ],
)
def test_less_than_the_whole_run_at_full_speed_does_not_count(desk: Desk, played: Played) -> None:
    scratch(desk)
    desk.write(played)
    assert not was_watched(desk, 1)


def test_playing_that_drew_too_little_does_not_count_and_says_what_to_do(desk: Desk) -> None:
    scratch(desk)
    seconds = Fraction(FRAMES - 1, RATE)
    too_few = math.ceil(LEAST_PICTURES * seconds) - 1
    desk.write(Played(first=0, last=FRAMES - 1, speed="1", drawn=13))
    desk.write(Played(first=0, last=FRAMES - 1, speed="1", drawn=too_few))
    assert not was_watched(desk, 1)
    (asked,) = [line for line in still_open(desk) if "full speed" in line]
    assert "with only 7.9 pictures drawn a second; 8 are needed. Use a faster line" in asked
    desk.write(Played(first=0, last=FRAMES - 1, speed="1", drawn=too_few + 1))
    assert was_watched(desk, 1)
    assert not [line for line in still_open(desk) if "full speed" in line]


@pytest.mark.parametrize("drawn", [None, FRAMES])
def test_playing_counts_where_nothing_was_counted_or_every_frame_was_drawn(
    desk: Desk, drawn: int | None
) -> None:
    scratch(desk)
    desk.write(Played(first=0, last=FRAMES - 1, speed="1", drawn=drawn))
    assert was_watched(desk, 1)


def test_a_run_without_start_and_stop_cannot_have_been_watched(desk: Desk) -> None:
    do(desk, "run.begin", at=0)
    desk.write(Played(first=0, last=599, speed="1"))
    assert not was_watched(desk, 1)
    assert not was_watched(desk, 2)


def test_finishing_is_written_once_and_never_undone(desk: Desk) -> None:
    do(desk, "run.begin", at=0)
    assert finish(desk) == "The review is finished."
    assert is_finished(desk)
    assert written(desk)[-1] == Finished(blind=True)
    with pytest.raises(EntryRefused, match="finished already"):
        finish(desk)
    reopen(desk, "A slip.")
    do(desk, "undo")
    assert is_finished(desk)
    assert desk.session.runs == ()
    do(desk, "redo")
    assert len(desk.session.runs) == 1


def test_what_was_played_is_never_undone(desk: Desk) -> None:
    do(desk, "run.begin", at=0)
    desk.write(Played(first=0, last=100, speed="1"))
    do(desk, "undo")
    assert desk.session.runs == ()
    desk.write(Played(first=0, last=100, speed="1"))
    do(desk, "redo")
    assert len(desk.session.runs) == 1


def test_a_finished_review_is_changed_only_once_a_reason_is_given(desk: Desk) -> None:
    do(desk, "run.begin", at=0)
    finish(desk)
    before = list(desk.lines)
    for command in ("run.end", "run.sort", "undo", "kept.flat"):
        with pytest.raises(ReviewClosed, match="say why it is amended"):
            do(desk, command, at=50)
    with pytest.raises(EntryRefused, match="A reason is needed"):
        reopen(desk, "  ")
    assert desk.lines == before
    assert reopen(desk, " A finger was missed. ") == REOPENED
    assert desk.lines == before
    assert desk.is_closed
    with pytest.raises(EntryRefused, match="still open"):
        do(desk, "run.begin", at=50)
    assert desk.lines == before
    do(desk, "run.end", at=50)
    reason, change = written(desk)[-2:]
    assert reason == Reopened(reason="A finger was missed.")
    assert change == RunEnded(run=1, ends=desk.spot(50))
    assert not desk.is_closed


def test_an_amended_review_is_finished_again_and_is_not_blind_then(desk: Desk) -> None:
    do(desk, "run.begin", at=0)
    finish(desk)
    reopen(desk, "A slip.")
    do(desk, "run.end", at=50)
    finish(desk)
    assert written(desk)[-1] == Finished(blind=False)
    with pytest.raises(EntryRefused, match="finished already"):
        finish(desk)


def test_watching_a_finished_review_leaves_its_file_as_it_is(desk: Desk) -> None:
    do(desk, "run.begin", at=0)
    finish(desk)
    before = list(desk.lines)
    see_all(desk)
    assert desk.lines == before


def test_a_finished_review_wants_a_reason_for_each_time_it_is_taken_up(desk: Desk) -> None:
    do(desk, "run.begin", at=0)
    finish(desk)
    reopen(desk, "A slip.")
    do(desk, "run.end", at=50)
    finish(desk)
    with pytest.raises(ReviewClosed, match="say why it is amended"):
        do(desk, "run.end", at=60)


def test_taking_up_a_review_is_not_undone(desk: Desk) -> None:
    do(desk, "run.begin", at=0)
    finish(desk)
    reopen(desk, "A slip.")
    do(desk, "undo")
    assert not desk.session.runs
    assert not desk.is_closed


def test_the_claim_of_a_session_is_told_as_far_as_it_may_be(make_desk: Callable[..., Desk]) -> None:
    desk = make_desk()
    assert begins_blind(desk.session.header)
    assert claim_words(desk, None) == ""
    run_in_order(desk, 0)
    do(desk, "cup.all_seen")
    assert not may_know(desk)
    finish(desk)
    assert may_know(desk)
    assert claim_words(desk, None) == ""
    assert claim_words(desk, SECRET) == (
        "claim C-7: 2.003 s by S-SECRET in U10, record 5.678 s"
    )  # fmt: skip
    assert read_in(desk, SECRET) == "No run on this footage reads the claimed time."


def test_the_run_that_reads_the_claimed_time_is_told(desk: Desk) -> None:
    reading = run_in_order(desk, 0)
    do(desk, "cup.all_seen")
    same = type(SECRET)("C", "3-6-3", "U", "S", f"{reading}0", "", "a.mp4")
    assert read_in(desk, same) == "The claimed time is read in run 1 (stands)."
    finish(desk)
    assert claim_words(desk, same).endswith(", no record")


def test_a_claim_named_at_the_start_is_not_hidden(make_desk: Callable[..., Desk]) -> None:
    desk = make_desk()
    claim = claim_for(SECRET, shown=True)
    header = desk.session.header.model_copy(update={"claim": claim})
    object.__setattr__(desk.session, "header", header)
    assert claim == Claim(id="C-7", competitor="S-SECRET", time="2.003")
    assert claim_words(desk, None) == "claim C-7, 2.003 s, S-SECRET"


def test_neighbouring_numbers_are_drawn_together() -> None:
    assert numbers_text([4, 6, 7, 8, 12]) == "4, 6-8, 12"
    assert numbers_text([]) == ""


def test_the_evidence_of_a_cup_can_be_gone_to(desk: Desk) -> None:
    with pytest.raises(EntryRefused, match="No frame decides cup 1 yet: its mark was not looked"):
        do(desk, "cup.evidence", at=9)
    do(desk, "cup.seen", at=30)
    desk.cup = 1
    assert do(desk, "cup.evidence", at=200) == "Cup 1: its mark was seen at frame 30."
    assert desk.frame == 30


def test_a_run_that_becomes_a_scratch_asks_once_to_be_watched(desk: Desk) -> None:
    unwatched = Unwatched(desk)
    do(desk, "run.begin", at=0)
    do(desk, "kept.hands_off", at=20)
    assert unwatched.after(desk) == ""
    do(desk, "broken.still", at=15)
    assert unwatched.after(desk) == WATCH.format(1)
    do(desk, "broken.grip", at=15)
    assert unwatched.after(desk) == ""


def test_a_run_that_was_a_scratch_when_the_bench_opened_is_not_told_again(desk: Desk) -> None:
    scratch(desk)
    assert Unwatched(desk).after(desk) == ""


def test_a_run_that_was_watched_before_its_fault_was_tagged_asks_for_nothing(desk: Desk) -> None:
    unwatched = Unwatched(desk)
    desk.write(Played(first=0, last=599, speed="1"))
    scratch(desk)
    assert unwatched.after(desk) == ""


def test_a_clock_that_was_settled_is_told_with_its_figures_and_the_reason(desk: Desk) -> None:
    reading = run_in_order(desk, 0)
    assert settled_clocks(desk) == []
    runs.read_display(desk, "9.999")
    assert settled_clocks(desk) == []
    runs.settle_clock(desk, "The tape runs slow.")
    (told,) = settled_clocks(desk)
    assert told.startswith("Run 1: the display's 9.999 s CONTRADICTS the picture's ")
    assert told.endswith(" s. Settled: The tape runs slow.")
    assert not [line for line in still_open(desk) if "CONTRADICTS" in line]
    runs.read_display(desk, reading)
    assert settled_clocks(desk) == []
