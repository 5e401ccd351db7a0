"""Undo and redo over everything, also after a crash."""

from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given
from hypothesis import strategies as st

from sessions.errors import EntryRefused
from sessions.record.entries import Entry
from sessions.record.journal import Journal
from tests.proofs import examples
from tests.tui.conftest import frame_at, header, ticking
from tests.tui.reviewing import do, living, run_in_order
from tui.bench import runs
from tui.bench.commands import REVIEW_HANDLERS
from tui.bench.review import Review

ENTRIES: dict[str, Callable[[Review], object]] = {
    "run.begin": REVIEW_HANDLERS["run.begin"],
    "run.end": REVIEW_HANDLERS["run.end"],
    "run.sort": REVIEW_HANDLERS["run.sort"],
    "run.restart": REVIEW_HANDLERS["run.restart"],
    "due.in_order": REVIEW_HANDLERS["due.in_order"],
    "cannot_tell.grip": REVIEW_HANDLERS["cannot_tell.grip"],
    "fault.grip": REVIEW_HANDLERS["fault.grip"],
    "widen.later": REVIEW_HANDLERS["widen.later"],
    "cup.seen": REVIEW_HANDLERS["cup.seen"],
    "cup.all_seen": REVIEW_HANDLERS["cup.all_seen"],
    "reading": lambda review: runs.read_display(review, "6.482"),
    "fumble.up": lambda review: runs.fumble(review, runs.fumble_stacks(review)[1], "up"),
    "note": lambda review: runs.add_note(review, "a remark"),
    "accept": lambda review: runs.accept_reading(review, "a reason"),
    "attempts_before": lambda review: runs.attempts_before(review, "2, by the results list"),
    "other_fault": lambda review: runs.other_fault(
        review, runs.other_rules(review)[0], "refuted", ""
    ),
    "not_shown": lambda review: runs.not_shown(review, runs.lacks(review)[0], "a head is there"),
}
"""Deeds that write one entry each."""


def new_review(path: Path) -> Review:
    journal = Journal.create(path, header(), ticking())
    return Review(journal, lambda frame: frame, frame_at)


def reopened(review: Review) -> Review:
    """The same session after the program was closed and opened again."""
    review.journal.close()
    journal = Journal.reopen(review.journal.path, ticking())
    return Review(journal, lambda frame: frame, frame_at)


@pytest.mark.parametrize("name", ENTRIES)
def test_every_entry_can_be_undone_and_done_again(review: Review, name: str) -> None:
    if name != "run.begin":
        do(review, "run.begin", at=5)
    if name == "widen.later":
        do(review, "in_order.hands_off", at=20)
    if name == "accept":
        do(review, "in_order.hands_off", at=20)
        do(review, "in_order.hands_on", at=30)
        review.go(40)
        runs.read_display(review, "9.999")
    review.go(40)
    before = living(review)
    ENTRIES[name](review)
    after = living(review)
    assert after != before
    undone = do(review, "undo")
    assert living(review) == before
    assert undone is not None
    assert undone.startswith("Undone: ")
    done = do(review, "redo")
    assert living(review) == after
    assert done is not None
    assert done.startswith("Done again: ")


def test_there_may_be_nothing_to_undo_or_to_do_again(review: Review) -> None:
    for command in ("undo", "redo"):
        with pytest.raises(EntryRefused, match="nothing to"):
            do(review, command)
    do(review, "run.begin", at=5)
    with pytest.raises(EntryRefused, match="nothing to redo"):
        do(review, "redo")


def test_something_new_ends_what_can_be_done_again(review: Review) -> None:
    do(review, "run.begin", at=5)
    do(review, "in_order.grip", at=30)
    do(review, "undo")
    do(review, "in_order.grip", at=31)
    with pytest.raises(EntryRefused, match="nothing to redo"):
        do(review, "redo")


def test_undoing_the_only_run_leaves_no_run_and_redoing_it_works_on_it_again(
    review: Review,
) -> None:
    do(review, "run.begin", at=5)
    do(review, "undo")
    assert review.run is None
    assert review.run_id is None
    do(review, "redo")
    assert review.run_id == 1


def test_undoing_the_second_run_goes_back_to_the_first(review: Review) -> None:
    do(review, "run.begin", at=5)
    do(review, "run.end", at=50)
    do(review, "run.begin", at=60)
    do(review, "undo")
    assert review.run_id == 1


def test_what_was_shown_is_never_undone(review: Review) -> None:
    do(review, "run.begin", at=5)
    review.seen.show(5)
    review.seen.show(6)
    review.flush_seen()
    do(review, "undo")
    assert living(review) == []
    assert review.session.shown.ranges == ((5, 6),)


def test_undo_and_redo_go_on_after_the_session_is_opened_again(review: Review) -> None:
    do(review, "run.begin", at=5)
    do(review, "in_order.grip", at=30)
    do(review, "undo")
    again = reopened(review)
    try:
        do(again, "redo")
        assert [entry.kind for entry in living(again)] == ["run-begun", "look"]
        do(again, "undo")
        do(again, "undo")
        assert living(again) == []
    finally:
        again.journal.close()


def test_taking_a_tag_back_is_undone_like_anything_else(review: Review) -> None:
    do(review, "run.begin", at=5)
    do(review, "in_order.grip", at=30)
    before = living(review)
    do(review, "retract", at=30)
    do(review, "undo")
    assert living(review) == before


WORDS = {
    "run.begin": "beginning run 1 at frame 40",
    "run.end": "ending run 1 at frame 40",
    "run.sort": "beginning run 1 as warm-up at frame 5",
    "run.restart": "starting over in run 1 at frame 40",
    "due.in_order": "Hands off (first hand), sighted at frame 40",
    "cannot_tell.grip": "No cup held at start, cannot tell at frame 40",
    "fault.grip": "No cup held at start, fault at frame 40",
    "widen.later": "Hands off (first hand), sighted at frame 21",
    "cup.seen": "cup 1, mark seen at frame 40",
    "cup.all_seen": f"cups {', '.join(map(str, range(1, 13)))}, mark seen at frame 40",
    "reading": "reading 6.482 s for run 1 at frame 40",
    "fumble.up": "fumble of the 6 going up at frame 40",
    "note": "the note at frame 40",
    "attempts_before": "2 attempts before the footage",
    "other_fault": "The cups stay on the mat, fault at frame 40",
    "not_shown": "what run 1 does not show (start), frames 5 to 599",
}


@pytest.mark.parametrize("name", WORDS)
def test_an_undo_names_what_it_takes_back_and_where(review: Review, name: str) -> None:
    if name != "run.begin":
        do(review, "run.begin", at=5)
    if name == "widen.later":
        do(review, "in_order.hands_off", at=20)
    review.go(40)
    ENTRIES[name](review)
    assert do(review, "undo") == f"Undone: {WORDS[name]}."
    assert do(review, "redo") == f"Done again: {WORDS[name]}."


def test_an_undo_names_the_run_where_there_are_several(review: Review) -> None:
    for first in (5, 105):
        do(review, "run.begin", at=first)
        do(review, "in_order.grip", at=first + 20)
        do(review, "run.end", at=first + 50)
    do(review, "undo")
    assert do(review, "undo") == "Undone: No cup held at start, in order at frame 125 of run 2."


def test_tags_taken_back_by_one_key_come_back_by_one_key(review: Review) -> None:
    do(review, "run.begin", at=5)
    do(review, "in_order.grip", at=30)
    do(review, "in_order.still", at=30)
    before = living(review)
    do(review, "retract", at=30)
    assert len(living(review)) == 1
    said = do(review, "undo")
    assert said == "Undone: taking back No cup moves at start, in order at frame 30 and 1 more."
    assert living(review) == before
    do(review, "redo")
    assert len(living(review)) == 1
    do(review, "undo")
    assert living(review) == before


def test_the_frames_shown_before_a_tag_stay_when_it_is_undone(review: Review) -> None:
    do(review, "run.begin", at=5)
    review.seen.show(30)
    do(review, "in_order.grip", at=30)
    assert [line.more for line in review.lines[-2:]] == [1, None]
    do(review, "undo")
    assert 30 in review.session.shown
    assert [entry.kind for entry in living(review)] == ["run-begun"]


def history_of(review: Review, moves: list[tuple[str, int]]) -> list[list[Entry]]:
    """What lives after each move that was not refused."""
    states = [living(review)]
    for name, frame in moves:
        review.go(frame)
        lines = len(review.lines)
        try:
            ENTRIES[name](review)
        except EntryRefused:
            assert len(review.lines) == lines
            continue
        states.append(living(review))
    return states


@examples(few=10, many=50, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    moves=st.lists(
        st.tuples(st.sampled_from(sorted(ENTRIES)), st.integers(0, 599)), min_size=1, max_size=12
    ),
    back=st.integers(1, 12),
)
def test_undo_retraces_every_step_and_redo_goes_them_again(
    tmp_path_factory: pytest.TempPathFactory, moves: list[tuple[str, int]], back: int
) -> None:
    review = new_review(tmp_path_factory.mktemp("undo") / "a.session.jsonl")
    try:
        states = history_of(review, [("run.begin", 0), *moves])
        steps = min(back, len(states) - 1)
        for place in range(1, steps + 1):
            do(review, "undo")
            assert sorted(map(str, living(review))) == sorted(map(str, states[-1 - place]))
        review = reopened(review)
        for place in range(steps, 0, -1):
            do(review, "redo")
            assert sorted(map(str, living(review))) == sorted(map(str, states[-place]))
    finally:
        review.journal.close()


def test_a_reopened_session_rules_as_before(review: Review) -> None:
    run_in_order(review, 0)
    ruling = review.ruling
    again = reopened(review)
    try:
        assert again.ruling == ruling
        assert again.run_id == 1
    finally:
        again.journal.close()
