"""Undo and redo over everything, also after a crash."""

from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from sessions.entries import Entry
from sessions.errors import EntryRefused
from sessions.journal import Journal
from tests.tui.conftest import frame_at, header, ticking
from tests.tui.reviewing import do, living, run_in_order
from tui.review import runs
from tui.review.commands import DEEDS
from tui.review.desk import Desk

ENTRIES: dict[str, Callable[[Desk], object]] = {
    "run.begin": DEEDS["run.begin"],
    "run.end": DEEDS["run.end"],
    "run.sort": DEEDS["run.sort"],
    "run.restart": DEEDS["run.restart"],
    "due.kept": DEEDS["due.kept"],
    "unclear.grip": DEEDS["unclear.grip"],
    "broken.grip": DEEDS["broken.grip"],
    "widen.later": DEEDS["widen.later"],
    "cup.seen": DEEDS["cup.seen"],
    "cup.all_seen": DEEDS["cup.all_seen"],
    "reading": lambda desk: runs.read_display(desk, "6.482"),
    "fumble.up": lambda desk: runs.fumble(desk, runs.fumble_stacks(desk)[1], "up"),
    "note": lambda desk: runs.add_note(desk, "a remark"),
    "settle": lambda desk: runs.settle_clock(desk, "a reason"),
}
"""Deeds that write one entry each."""


def new_desk(path: Path) -> Desk:
    journal = Journal.create(path, header(), ticking())
    return Desk(journal, lambda frame: frame, frame_at)


def reopened(desk: Desk) -> Desk:
    """The same session after the program was closed and opened again."""
    desk.journal.close()
    journal = Journal.reopen(desk.journal.path, ticking())
    return Desk(journal, lambda frame: frame, frame_at)


@pytest.mark.parametrize("name", ENTRIES)
def test_every_entry_can_be_undone_and_done_again(desk: Desk, name: str) -> None:
    if name != "run.begin":
        do(desk, "run.begin", at=5)
    if name == "widen.later":
        do(desk, "kept.hands_off", at=20)
    desk.go(40)
    before = living(desk)
    ENTRIES[name](desk)
    after = living(desk)
    assert after != before
    undone = do(desk, "undo")
    assert living(desk) == before
    assert undone is not None
    assert undone.startswith("Undone: ")
    done = do(desk, "redo")
    assert living(desk) == after
    assert done is not None
    assert done.startswith("Done again: ")


def test_there_may_be_nothing_to_undo_or_to_do_again(desk: Desk) -> None:
    for command in ("undo", "redo"):
        with pytest.raises(EntryRefused, match="nothing to"):
            do(desk, command)
    do(desk, "run.begin", at=5)
    with pytest.raises(EntryRefused, match="nothing to redo"):
        do(desk, "redo")


def test_something_new_ends_what_can_be_done_again(desk: Desk) -> None:
    do(desk, "run.begin", at=5)
    do(desk, "kept.grip", at=30)
    do(desk, "undo")
    do(desk, "kept.grip", at=31)
    with pytest.raises(EntryRefused, match="nothing to redo"):
        do(desk, "redo")


def test_undoing_the_only_run_leaves_no_run_and_redoing_it_works_on_it_again(desk: Desk) -> None:
    do(desk, "run.begin", at=5)
    do(desk, "undo")
    assert desk.run is None
    assert desk.run_id is None
    do(desk, "redo")
    assert desk.run_id == 1


def test_undoing_the_second_run_goes_back_to_the_first(desk: Desk) -> None:
    do(desk, "run.begin", at=5)
    do(desk, "run.end", at=50)
    do(desk, "run.begin", at=60)
    do(desk, "undo")
    assert desk.run_id == 1


def test_what_was_shown_is_never_undone(desk: Desk) -> None:
    do(desk, "run.begin", at=5)
    desk.seen.show(5)
    desk.seen.show(6)
    desk.flush_seen()
    do(desk, "undo")
    assert living(desk) == []
    assert desk.session.shown.ranges == ((5, 6),)


def test_undo_and_redo_go_on_after_the_session_is_opened_again(desk: Desk) -> None:
    do(desk, "run.begin", at=5)
    do(desk, "kept.grip", at=30)
    do(desk, "undo")
    again = reopened(desk)
    try:
        do(again, "redo")
        assert [entry.kind for entry in living(again)] == ["run-begun", "look"]
        do(again, "undo")
        do(again, "undo")
        assert living(again) == []
    finally:
        again.journal.close()


def test_taking_a_tag_back_is_undone_like_anything_else(desk: Desk) -> None:
    do(desk, "run.begin", at=5)
    do(desk, "kept.grip", at=30)
    before = living(desk)
    do(desk, "retract", at=30)
    do(desk, "undo")
    assert living(desk) == before


def history_of(desk: Desk, moves: list[tuple[str, int]]) -> list[list[Entry]]:
    """What lives after each move that was not refused."""
    states = [living(desk)]
    for name, frame in moves:
        desk.go(frame)
        lines = len(desk.lines)
        try:
            ENTRIES[name](desk)
        except EntryRefused:
            assert len(desk.lines) == lines
            continue
        states.append(living(desk))
    return states


@settings(
    max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(
    moves=st.lists(
        st.tuples(st.sampled_from(sorted(ENTRIES)), st.integers(0, 599)), min_size=1, max_size=12
    ),
    back=st.integers(1, 12),
)
def test_undo_retraces_every_step_and_redo_goes_them_again(
    tmp_path_factory: pytest.TempPathFactory, moves: list[tuple[str, int]], back: int
) -> None:
    desk = new_desk(tmp_path_factory.mktemp("undo") / "a.session.jsonl")
    try:
        states = history_of(desk, [("run.begin", 0), *moves])
        steps = min(back, len(states) - 1)
        for place in range(1, steps + 1):
            do(desk, "undo")
            assert sorted(map(str, living(desk))) == sorted(map(str, states[-1 - place]))
        desk = reopened(desk)
        for place in range(steps, 0, -1):
            do(desk, "redo")
            assert sorted(map(str, living(desk))) == sorted(map(str, states[-place]))
    finally:
        desk.journal.close()


def test_a_reopened_session_rules_as_before(desk: Desk) -> None:
    run_in_order(desk, 0)
    ruling = desk.ruling
    again = reopened(desk)
    try:
        assert again.ruling == ruling
        assert again.run_id == 1
    finally:
        again.journal.close()
