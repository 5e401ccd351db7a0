"""What is tagged of a run is seen in that run."""

from collections.abc import Callable

import pytest

from keymaps.keymap import load_keymap
from sessions.errors import EntryRefused
from sessions.record.entries import Look, RunBegun, RunEnded, Sighted
from sessions.record.journal import Journal
from sessions.ruling.ruling import Standing
from tests.tui.conftest import frame_at, ticking
from tests.tui.reviewing import do, living, run_in_order, written
from tui.bench.review import Review
from tui.bench.runs import fumble, fumble_stacks, read_display
from tui.bench.tagging import outside_text
from tui.demo.performance import perform
from tui.demo.score import scores
from tui.demo.tagging import true_entries
from tui.demo.truth import witness


@pytest.fixture
def two_runs(review: Review) -> Review:
    """Run 1 from 100 to 200, and run 2 from 300 to 400, which is worked on."""
    for first, last in ((100, 200), (300, 400)):
        do(review, "run.begin", at=first)
        do(review, "run.end", at=last)
    review.key_of = load_keymap().first_key
    return review


def test_a_fault_seen_in_another_run_is_not_put_down_to_the_run_worked_on(two_runs: Review) -> None:
    two_runs.chosen = "exact"
    before = written(two_runs)
    with pytest.raises(EntryRefused) as refused:
        do(two_runs, "due.fault", at=150)
    assert str(refused.value) == (
        "Frame 150 lies before run 2 (frames 300-400): go to a frame of run 2 (j), or choose "
        "run 1, in which it lies, with { or }."
    )
    assert written(two_runs) == before
    do(two_runs, "run.previous")
    assert two_runs.frame == 150
    two_runs.chosen = "exact"
    do(two_runs, "due.fault")
    look = living(two_runs)[-1]
    assert isinstance(look, Look)
    assert (look.run, look.by.frame) == (1, 150)


@pytest.mark.parametrize(
    ("frame", "said"),
    [
        (299, "Frame 299 lies before run 2 .frames 300-400.: .* or choose another run with"),
        (401, "Frame 401 lies after run 2 .frames 300-400.: .* or choose another run with"),
    ],
)
def test_neither_before_its_beginning_nor_after_its_end_is_a_run_tagged(
    two_runs: Review, frame: int, said: str
) -> None:
    two_runs.go(frame)
    deeds: list[Callable[[], object]] = [
        lambda: do(two_runs, "in_order.grip"),
        lambda: do(two_runs, "in_order.hands_off"),
        lambda: do(two_runs, "run.restart"),
        lambda: fumble(two_runs, fumble_stacks(two_runs)[0], "up"),
    ]
    before = written(two_runs)
    for deed in deeds:
        with pytest.raises(EntryRefused, match=said):
            deed()
    assert written(two_runs) == before


@pytest.mark.parametrize("frame", [300, 400])
def test_the_first_and_the_last_frame_are_of_the_run(two_runs: Review, frame: int) -> None:
    do(two_runs, "in_order.grip", at=frame)


def test_an_open_run_has_no_end(review: Review) -> None:
    do(review, "run.begin", at=100)
    do(review, "in_order.grip", at=review.frames - 1)
    with pytest.raises(EntryRefused) as refused:
        do(review, "in_order.still", at=99)
    assert str(refused.value) == (
        "Frame 99 lies before run 1 (frames from 100 on): go to a frame of run 1 (Go to ...)."
    )


def test_a_bracket_is_not_widened_beyond_the_run(two_runs: Review) -> None:
    do(two_runs, "in_order.hands_off", at=400)
    with pytest.raises(EntryRefused, match="Frame 401 lies after run 2"):
        do(two_runs, "widen.later")
    do(two_runs, "widen.earlier")


def test_a_run_is_not_closed_before_its_last_tag(review: Review) -> None:
    do(review, "run.begin", at=100)
    do(review, "in_order.grip", at=180)
    with pytest.raises(EntryRefused) as refused:
        do(review, "run.end", at=179)
    assert str(refused.value) == (
        "Run 1 has a tag at frame 180: close it there or later, or go there and take that tag "
        "back first (Retract tag)."
    )
    do(review, "retract", at=180)
    do(review, "run.end", at=179)


def test_choosing_a_run_stays_in_a_frame_of_it_and_goes_to_its_beginning_else(
    two_runs: Review,
) -> None:
    two_runs.go(150)
    do(two_runs, "run.previous")
    assert (two_runs.run_id, two_runs.frame) == (1, 150)
    do(two_runs, "run.next")
    assert (two_runs.run_id, two_runs.frame) == (2, 300)


def test_a_tag_outside_its_run_that_a_file_holds_is_named_and_can_be_taken_back(
    two_runs: Review,
) -> None:
    outside = Look(run=2, checkpoint="exact", saw="refuted", by=two_runs.spot(150))
    with pytest.raises(EntryRefused, match=r"frame 150 lies before the run\. Do it"):
        two_runs.write(outside)
    two_runs.journal.append(outside)
    two_runs.journal.close()
    journal = Journal.reopen(two_runs.journal.path, ticking())
    review = Review(journal, lambda frame: frame, frame_at)
    try:
        reasons = [finding.reason for finding in review.ruling.runs[1].findings]
        named = 'the tag "Nothing added" at frame 150 lies before the run'
        assert any(named in reason for reason in reasons)
        assert review.ruling.runs[1].standing is Standing.OPEN
        do(review, "retract", at=150)
        assert not [entry for entry in living(review) if isinstance(entry, Look)]
    finally:
        journal.close()


def test_a_stop_is_not_tagged_after_the_frame_in_which_the_display_was_read(
    two_runs: Review,
) -> None:
    two_runs.go(350)
    read_display(two_runs, "1.250")
    before = written(two_runs)
    do(two_runs, "not_yet", at=350)
    with pytest.raises(EntryRefused) as refused:
        do(two_runs, "in_order.hands_on", at=360)
    assert str(refused.value) == (
        "This does not fit what is recorded of run 2: the display was read in frame 350, before "
        "the clock has stopped. Do it at another frame, or put that right first."
    )
    assert written(two_runs) == before
    do(two_runs, "not_yet", at=349)
    do(two_runs, "in_order.hands_on", at=360)


def test_no_run_is_begun_between_another_and_the_frame_in_which_its_display_was_read(
    two_runs: Review,
) -> None:
    two_runs.go(450)
    read_display(two_runs, "1.250")
    with pytest.raises(EntryRefused, match="of run 2: the display was read in frame 450, once the"):
        do(two_runs, "run.begin", at=450)
    do(two_runs, "run.begin", at=451)


def test_the_frame_says_that_it_lies_outside_the_run_worked_on(two_runs: Review) -> None:
    told = {}
    for frame in (299, 300, 400, 401):
        two_runs.go(frame)
        told[frame] = outside_text(two_runs)
    assert told == {299: "BEFORE run 2", 300: "", 400: "", 401: "AFTER run 2"}


def test_without_a_run_no_frame_is_outside(review: Review) -> None:
    assert outside_text(review) == ""
    run_in_order(review, 0)
    assert outside_text(review) == ""


@pytest.mark.parametrize("name", sorted(scores()))
def test_the_truth_of_every_clip_is_tagged_within_its_runs(name: str) -> None:
    entries = list(true_entries(witness(perform(scores()[name])), lambda frame: frame))
    begins = {e.run: e.begins.frame for e in entries if isinstance(e, RunBegun)}
    ends = {e.run: e.ends.frame for e in entries if isinstance(e, RunEnded)}
    tags = [e for e in entries if isinstance(e, Look | Sighted)]
    assert tags
    assert all(begins[tag.run] <= tag.by.frame <= ends[tag.run] for tag in tags)


def test_a_display_is_read_once_the_clock_has_stopped_and_not_in_another_run(
    two_runs: Review,
) -> None:
    do(two_runs, "run.previous")
    do(two_runs, "in_order.hands_off", at=110)
    do(two_runs, "not_yet", at=180)
    do(two_runs, "in_order.hands_on", at=185)
    before = written(two_runs)
    told = {
        99: "Frame 99 lies before run 1 (frames 100-200): go to a frame of run 1 (j), or choose "
        "another run with { or }.",
        180: "In frame 180 the clock of run 1 has not stopped yet: read the display in frame 181 "
        "or later (j).",
        300: "Frame 300 lies after run 1 (frames 100-200): go to a frame of run 1 (j), or choose "
        "run 2, in which it lies, with { or }.",
        401: "Frame 401 lies after run 1 (frames 100-200): go to a frame of run 1 (j), or choose "
        "another run with { or }.",
    }
    for frame, words in told.items():
        two_runs.go(frame)
        with pytest.raises(EntryRefused) as refused:
            read_display(two_runs, "1.250")
        assert str(refused.value) == words
    assert written(two_runs) == before
    for frame in (181, 200, 299):
        two_runs.go(frame)
        assert read_display(two_runs, "1.250") == "Run 1 reads 1.250 s."


def test_while_the_stop_is_not_tagged_a_display_is_read_anywhere_in_the_run(
    two_runs: Review,
) -> None:
    two_runs.go(300)
    assert read_display(two_runs, "1.250") == "Run 2 reads 1.250 s."
