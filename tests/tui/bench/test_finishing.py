"""What a review leaves open, and the evidence of playing and of cups, without a screen."""

import math
from collections.abc import Callable
from fractions import Fraction

import pytest

from sessions.docket.blindness import begins_blind, claim_for
from sessions.errors import EntryRefused, ReviewClosed
from sessions.record.entries import Finished, Played, Reopened, RunEnded
from sessions.record.header import Claim
from sessions.ruling.whole_footage import never_shown
from tests.tui.conftest import FRAMES, RATE
from tests.tui.docket.docketing import SECRET
from tests.tui.reviewing import STRIDE, do, kept_until_complete, run_in_order, written
from tui.bench import runs
from tui.bench.finishing import (
    LEAST_PICTURES,
    REOPENED,
    WATCH,
    Unwatched,
    accepted_readings,
    claim_words,
    finish,
    is_finished,
    may_know,
    missing,
    numbers_text,
    read_in,
    reopen,
    still_open,
    was_watched,
)
from tui.bench.review import Review


def see_all(review: Review) -> None:
    for frame in range(FRAMES):
        review.seen.show(frame)
    review.flush_seen()


def scratch(review: Review) -> None:
    """A run in which a cup moves at the start."""
    do(review, "run.begin", at=0)
    do(review, "in_order.hands_off", at=20)
    do(review, "fault.still", at=15)
    kept_until_complete(review, 20 + STRIDE)
    do(review, "run.end", at=400)


def test_an_untouched_review_leaves_everything_open(review: Review) -> None:
    assert still_open(review) == [
        "No run was begun yet.",
        "Not cleared: cups 1-12.",
        "600 of 600 frames were never shown (frames 0-599).",
    ]


def test_what_is_open_in_a_run_is_named(review: Review) -> None:
    do(review, "run.begin", at=0)
    see_all(review)
    do(review, "cup.all_seen")
    not_closed, steps = still_open(review)
    assert not_closed == "Run 1 is not ended."
    assert steps.startswith("Run 1 is open: Hands flat at start, ")
    assert steps.endswith(" more.")


def test_a_contradiction_of_clock_and_picture_is_open(review: Review) -> None:
    run_in_order(review, 0)
    see_all(review)
    do(review, "cup.all_seen")
    runs.read_display(review, "9.999")
    (asked,) = still_open(review, "J")
    assert asked.startswith("Run 1: the display's 9.999 s CONTRADICTS the picture's ")
    assert asked.endswith("Read the display again, or accept the reading with a reason (J).")
    assert missing(review) == "open, run 1: clock contradicts the picture"
    runs.accept_reading(review, "misread")
    assert still_open(review) == []
    assert missing(review) == ""


def test_a_contradiction_of_clock_and_picture_is_named_in_a_scratch_too(review: Review) -> None:
    scratch(review)
    runs.read_display(review, "9.999")
    assert any("accept the reading with a reason (J)" in line for line in still_open(review, "J"))
    runs.accept_reading(review, "misread")
    assert not any("CONTRADICTS" in line for line in still_open(review, "J"))


def test_the_ruling_line_names_what_is_missing(review: Review) -> None:
    assert missing(review) == ""
    do(review, "run.begin", at=0)
    steps = len(review.checked(review.needed_run()).ladder.checkpoints)
    assert missing(review).startswith("open, run 1: ")
    assert missing(review).endswith("checkpoints, no reading, not ended; cups 1-12 not cleared")
    kept_until_complete(review, 12)
    do(review, "run.end", at=12 * (steps + 2))
    runs.read_display(review, "9.999")
    runs.accept_reading(review, "misread")
    assert missing(review) == "open, cups 1-12 not cleared"
    do(review, "cup.all_seen")
    assert missing(review) == ""


def test_nothing_is_open_once_all_is_done(review: Review) -> None:
    run_in_order(review, 0)
    do(review, "cup.all_seen")
    see_all(review)
    assert still_open(review) == []


def test_many_unseen_stretches_are_counted(review: Review) -> None:
    for frame in range(0, FRAMES, 100):
        review.seen.show(frame)
    (unseen,) = [line for line in still_open(review) if "shown" in line]
    stretches = "frames 1-99, 101-199, 201-299 and 3 more stretches"
    assert unseen == f"594 of 600 frames were never shown ({stretches})."


def test_what_was_never_shown_is_told_as_in_the_ruling(review: Review) -> None:
    review.seen.show(7)
    review.flush_seen()
    (unseen,) = [line for line in still_open(review) if "shown" in line]
    assert unseen == f"{never_shown(review.session.unseen, review.frames)}."


def test_a_problem_of_the_session_is_named(review: Review) -> None:
    run_in_order(review, 0)
    session = review.session
    review.write(session.runs[0].begun[0].model_copy(update={"run": 2}))
    assert any(line.startswith("Problem: runs 1 and 2 overlap") for line in still_open(review))


def test_a_scratch_asks_to_be_watched_at_full_speed(review: Review) -> None:
    scratch(review)
    asked = [line for line in still_open(review) if "full speed" in line]
    assert asked == [
        "Run 1 is a scratch that was not yet watched at full speed: go to before its start, "
        "set the speed to 1x and play it to its stop."
    ]
    review.write(Played(first=10, last=FRAMES - 1, speed="1"))
    assert was_watched(review, 1)
    assert not [line for line in still_open(review) if "full speed" in line]


@pytest.mark.parametrize(
    "played",
    [
        Played(first=21, last=599, speed="1"),
        Played(first=0, last=40, speed="1"),
        Played(first=0, last=599, speed="1/2"),
    ],
)
def test_less_than_the_whole_run_at_full_speed_does_not_count(
    review: Review, played: Played
) -> None:
    scratch(review)
    review.write(played)
    assert not was_watched(review, 1)


def test_playing_that_drew_too_little_does_not_count_and_says_what_to_do(review: Review) -> None:
    scratch(review)
    seconds = Fraction(FRAMES - 1, RATE)
    too_few = math.ceil(LEAST_PICTURES * seconds) - 1
    review.write(Played(first=0, last=FRAMES - 1, speed="1", drawn=13))
    review.write(Played(first=0, last=FRAMES - 1, speed="1", drawn=too_few))
    assert not was_watched(review, 1)
    (asked,) = [line for line in still_open(review) if "full speed" in line]
    assert "with only 7.9 pictures drawn a second; 8 are needed. Use a faster line" in asked
    review.write(Played(first=0, last=FRAMES - 1, speed="1", drawn=too_few + 1))
    assert was_watched(review, 1)
    assert not [line for line in still_open(review) if "full speed" in line]


@pytest.mark.parametrize("drawn", [None, FRAMES])
def test_playing_counts_where_nothing_was_counted_or_every_frame_was_drawn(
    review: Review, drawn: int | None
) -> None:
    scratch(review)
    review.write(Played(first=0, last=FRAMES - 1, speed="1", drawn=drawn))
    assert was_watched(review, 1)


def test_a_run_without_start_and_stop_cannot_have_been_watched(review: Review) -> None:
    do(review, "run.begin", at=0)
    review.write(Played(first=0, last=599, speed="1"))
    assert not was_watched(review, 1)
    assert not was_watched(review, 2)


def test_finishing_is_written_once_and_never_undone(review: Review) -> None:
    do(review, "run.begin", at=0)
    assert finish(review) == "The review is finished."
    assert is_finished(review)
    assert written(review)[-1] == Finished(blind=True)
    with pytest.raises(EntryRefused, match="finished already"):
        finish(review)
    reopen(review, "A slip.")
    do(review, "undo")
    assert is_finished(review)
    assert review.session.runs == ()
    do(review, "redo")
    assert len(review.session.runs) == 1


def test_what_was_played_is_never_undone(review: Review) -> None:
    do(review, "run.begin", at=0)
    review.write(Played(first=0, last=100, speed="1"))
    do(review, "undo")
    assert review.session.runs == ()
    review.write(Played(first=0, last=100, speed="1"))
    do(review, "redo")
    assert len(review.session.runs) == 1


def test_a_finished_review_is_changed_only_once_a_reason_is_given(review: Review) -> None:
    do(review, "run.begin", at=0)
    finish(review)
    before = list(review.lines)
    for command in ("run.end", "run.sort", "undo", "in_order.flat"):
        with pytest.raises(ReviewClosed, match="say why it is amended"):
            do(review, command, at=50)
    with pytest.raises(EntryRefused, match="A reason is needed"):
        reopen(review, "  ")
    assert review.lines == before
    assert reopen(review, " A finger was missed. ") == REOPENED
    assert review.lines == before
    assert review.is_closed
    with pytest.raises(EntryRefused, match="still open"):
        do(review, "run.begin", at=50)
    assert review.lines == before
    do(review, "run.end", at=50)
    reason, change = written(review)[-2:]
    assert reason == Reopened(reason="A finger was missed.")
    assert change == RunEnded(run=1, ends=review.spot(50))
    assert not review.is_closed


def test_an_amended_review_is_finished_again_and_is_not_blind_then(review: Review) -> None:
    do(review, "run.begin", at=0)
    finish(review)
    reopen(review, "A slip.")
    do(review, "run.end", at=50)
    finish(review)
    assert written(review)[-1] == Finished(blind=False)
    with pytest.raises(EntryRefused, match="finished already"):
        finish(review)


def test_watching_a_finished_review_leaves_its_file_as_it_is(review: Review) -> None:
    do(review, "run.begin", at=0)
    finish(review)
    before = list(review.lines)
    see_all(review)
    assert review.lines == before


def test_a_finished_review_wants_a_reason_for_each_time_it_is_taken_up(review: Review) -> None:
    do(review, "run.begin", at=0)
    finish(review)
    reopen(review, "A slip.")
    do(review, "run.end", at=50)
    finish(review)
    with pytest.raises(ReviewClosed, match="say why it is amended"):
        do(review, "run.end", at=60)


def test_taking_up_a_review_is_not_undone(review: Review) -> None:
    do(review, "run.begin", at=0)
    finish(review)
    reopen(review, "A slip.")
    do(review, "undo")
    assert not review.session.runs
    assert not review.is_closed


def test_the_claim_of_a_session_is_told_as_far_as_it_may_be(
    make_review: Callable[..., Review],
) -> None:
    review = make_review()
    assert begins_blind(review.session.header)
    assert claim_words(review, None) == ""
    run_in_order(review, 0)
    do(review, "cup.all_seen")
    assert not may_know(review)
    finish(review)
    assert may_know(review)
    assert claim_words(review, None) == ""
    assert claim_words(review, SECRET) == (
        "claim C-7: 2.003 s by S-SECRET in U10, record 5.678 s"
    )  # fmt: skip
    assert read_in(review, SECRET) == "No run on this footage reads the claimed time."


def test_the_run_that_reads_the_claimed_time_is_told(review: Review) -> None:
    reading = run_in_order(review, 0)
    do(review, "cup.all_seen")
    same = type(SECRET)("C", "3-6-3", "U", "S", f"{reading}0", "", "a.mp4")
    assert read_in(review, same) == "The claimed time is read in run 1 (stands)."
    finish(review)
    assert claim_words(review, same).endswith(", no record")


def test_a_claim_named_at_the_start_is_not_hidden(make_review: Callable[..., Review]) -> None:
    review = make_review()
    claim = claim_for(SECRET, shown=True)
    header = review.session.header.model_copy(update={"claim": claim})
    object.__setattr__(review.session, "header", header)
    assert claim == Claim(id="C-7", competitor="S-SECRET", time="2.003")
    assert claim_words(review, None) == "claim C-7, 2.003 s, S-SECRET"


def test_neighbouring_numbers_are_drawn_together() -> None:
    assert numbers_text([4, 6, 7, 8, 12]) == "4, 6-8, 12"
    assert numbers_text([]) == ""


def test_the_evidence_of_a_cup_can_be_gone_to(review: Review) -> None:
    with pytest.raises(EntryRefused, match="No frame decides cup 1 yet: its mark was not looked"):
        do(review, "cup.evidence", at=9)
    do(review, "cup.seen", at=30)
    review.cup = 1
    assert do(review, "cup.evidence", at=200) == "Cup 1: its mark was seen at frame 30."
    assert review.frame == 30


def test_a_run_that_becomes_a_scratch_asks_once_to_be_watched(review: Review) -> None:
    unwatched = Unwatched(review)
    do(review, "run.begin", at=0)
    do(review, "in_order.hands_off", at=20)
    assert unwatched.after(review) == ""
    do(review, "fault.still", at=15)
    assert unwatched.after(review) == WATCH.format(1)
    do(review, "fault.grip", at=15)
    assert unwatched.after(review) == ""


def test_a_run_that_was_a_scratch_when_the_bench_opened_is_not_told_again(review: Review) -> None:
    scratch(review)
    assert Unwatched(review).after(review) == ""


def test_a_run_that_was_watched_before_its_fault_was_tagged_asks_for_nothing(
    review: Review,
) -> None:
    unwatched = Unwatched(review)
    review.write(Played(first=0, last=599, speed="1"))
    scratch(review)
    assert unwatched.after(review) == ""


def test_a_clock_that_was_settled_is_told_with_its_figures_and_the_reason(review: Review) -> None:
    reading = run_in_order(review, 0)
    assert accepted_readings(review) == []
    runs.read_display(review, "9.999")
    assert accepted_readings(review) == []
    runs.accept_reading(review, "The tape runs slow.")
    (told,) = accepted_readings(review)
    assert told.startswith("Run 1: the display's 9.999 s CONTRADICTS the picture's ")
    assert told.endswith(" s. Accepted: The tape runs slow.")
    assert not [line for line in still_open(review) if "CONTRADICTS" in line]
    runs.read_display(review, reading)
    assert accepted_readings(review) == []
