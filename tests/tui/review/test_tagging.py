"""One key, one checkpoint."""

from collections.abc import Callable

import pytest

from sessions.entries import Look, Sighted, Spot
from sessions.errors import EntryRefused
from sessions.ladder import MARKER_KINDS, Kind, Rung
from tests.tui.reviewing import do, living, only, run_in_order, written
from tui.review.desk import Desk
from tui.review.runs import fumble, fumble_stacks
from tui.review.tagging import tag_step, tags_of


def test_one_key_tags_one_checkpoint(opened: Desk) -> None:
    before = opened.due_step(Kind.LET_GO)
    assert before is not None
    said = do(opened, "kept.let_go", at=50)
    assert said == f"{before.title}: in order at frame 50."
    look = Look(run=1, rung=before.id, saw="kept", by=Spot(frame=50, pts=50))
    assert written(opened)[-1] == look
    assert len(written(opened)) == 2


def test_the_ladder_picks_the_next_instance_of_a_kind(opened: Desk) -> None:
    for frame in (50, 60, 70):
        do(opened, "kept.let_go", at=frame)
    rungs = [entry.rung for entry in living(opened) if isinstance(entry, Look)]
    ladder = opened.checked(opened.needed_run()).ladder
    assert rungs == [step.id for step in ladder.steps if step.kind is Kind.LET_GO]


def test_a_kind_with_nothing_left_due_is_refused(opened: Desk) -> None:
    for frame in (50, 60, 70):
        do(opened, "kept.let_go", at=frame)
    with pytest.raises(EntryRefused, match='No "let go" is due'):
        do(opened, "kept.let_go", at=80)
    assert len(written(opened)) == 4


@pytest.mark.parametrize("kind", sorted(set(Kind) - MARKER_KINDS))
def test_the_key_of_a_kind_tags_a_rung_of_that_kind(
    make_desk: Callable[..., Desk], kind: Kind
) -> None:
    desk = make_desk("cycle")
    do(desk, "run.begin", at=5)
    if kind in (Kind.REPAIRED, Kind.ONE_STACK, Kind.CURED):
        fumble(desk, fumble_stacks(desk)[0], "up")
    if kind is Kind.CURED:
        do(desk, "broken.one_stack", at=30)
    do(desk, f"broken.{kind}", at=40)
    look = living(desk)[-1]
    assert isinstance(look, Look)
    step = desk.checked(desk.needed_run()).ladder.step(look.rung)
    assert step is not None
    assert step.kind is kind
    assert look.saw == "broken"


def test_any_other_step_can_be_chosen(opened: Desk) -> None:
    first = opened.step
    do(opened, "ladder.next")
    do(opened, "ladder.next")
    chosen = opened.step
    assert chosen is not None
    assert chosen != first
    do(opened, "due.kept", at=40)
    assert opened.chosen is None
    assert opened.step == first
    (look,) = tags_of(opened, chosen)
    assert look.entry == Look(run=1, rung=chosen.id, saw="kept", by=Spot(frame=40, pts=40))


def test_choosing_goes_round_the_ladder_and_passes_a_cure_with_no_fault(opened: Desk) -> None:
    fumble(opened, fumble_stacks(opened)[0], "up")
    steps = opened.checked(opened.needed_run()).ladder.steps
    choosable = [step.id for step in steps if not (isinstance(step, Rung) and step.cures)]
    assert len(choosable) == len(steps) - 1
    visited = []
    for _ in choosable:
        do(opened, "ladder.next")
        visited.append(opened.chosen)
    assert sorted(map(str, visited)) == sorted(choosable)
    do(opened, "ladder.next")
    assert opened.chosen == visited[0]
    do(opened, "ladder.previous")
    assert opened.chosen == visited[-1]


def test_a_chosen_step_of_the_kind_goes_before_the_one_that_is_due(opened: Desk) -> None:
    steps = opened.checked(opened.needed_run()).ladder.steps
    third = [step for step in steps if step.kind is Kind.LET_GO][2]
    opened.chosen = third.id
    do(opened, "kept.let_go", at=60)
    look = only(opened, Look)
    assert isinstance(look, Look)
    assert look.rung == third.id


def test_a_chosen_step_of_another_kind_is_left_alone(opened: Desk) -> None:
    steps = opened.checked(opened.needed_run()).ladder.steps
    opened.chosen = next(step.id for step in steps if step.kind is Kind.FREE)
    do(opened, "kept.let_go", at=60)
    look = only(opened, Look)
    assert isinstance(look, Look)
    assert look.rung == next(step.id for step in steps if step.kind is Kind.LET_GO)


def test_a_second_tag_of_a_step_replaces_the_first_and_undo_brings_it_back(opened: Desk) -> None:
    step = opened.due_step(Kind.LET_GO)
    assert step is not None
    do(opened, "kept.let_go", at=50)
    tag_step(opened, step, "broken")
    (line,) = tags_of(opened, step)
    assert isinstance(line.entry, Look)
    assert line.entry.saw == "broken"
    assert line.replaces == line.seq - 1
    do(opened, "undo")
    (line,) = tags_of(opened, step)
    assert isinstance(line.entry, Look)
    assert line.entry.saw == "kept"


def test_a_third_tag_of_a_step_replaces_the_second_and_leaves_the_first_dead(opened: Desk) -> None:
    step = opened.due_step(Kind.LET_GO)
    assert step is not None
    for frame in (50, 40, 60):
        opened.go(frame)
        tag_step(opened, step, "kept")
    assert [line.entry.by.frame for line in tags_of(opened, step)] == [60]  # type: ignore[union-attr]
    do(opened, "undo")
    assert [line.entry.by.frame for line in tags_of(opened, step)] == [40]  # type: ignore[union-attr]


def test_a_tag_takes_the_place_of_all_that_another_program_wrote(opened: Desk) -> None:
    for frame in (50, 51):
        look = Look(run=1, rung="start.grip", saw="kept", by=Spot(frame=frame, pts=frame))
        opened.write(look)
    opened.chosen = "start.grip"
    do(opened, "due.broken", at=40)
    assert only(opened, Look).by.frame == 40


def test_a_second_tag_of_a_moment_replaces_the_first(opened: Desk) -> None:
    start = opened.due_step(Kind.HANDS_OFF)
    assert start is not None
    do(opened, "kept.hands_off", at=20)
    opened.go(22)
    tag_step(opened, start, "kept")
    assert only(opened, Sighted).by.frame == 22


def test_tags_of_either_hand_alone_stand_side_by_side(opened: Desk) -> None:
    start = opened.due_step(Kind.HANDS_OFF)
    assert start is not None
    do(opened, "hand")
    do(opened, "kept.hands_off", at=20)
    for frame in (22, 23):
        do(opened, "hand")
        do(opened, "hand", at=frame)
        tag_step(opened, start, "kept")
    hands = [(m.hand, m.by.frame) for m in living(opened) if isinstance(m, Sighted)]
    assert hands == [("left", 20), ("right", 23)]


def test_the_hand_goes_either_left_right_and_is_spent_by_a_tag(opened: Desk) -> None:
    assert [do(opened, "hand") for _ in range(3)] == [
        "Next tag: left hand.",
        "Next tag: right hand.",
        "Next tag: either hand.",
    ]
    do(opened, "hand")
    do(opened, "broken.grip", at=30)
    look = only(opened, Look)
    assert look.hand == "left"
    assert opened.hand is None


def test_a_fault_is_one_frame_without_a_bracket(opened: Desk) -> None:
    said = do(opened, "broken.grip", at=30)
    assert said is not None
    assert said.endswith("FAULT at frame 30.")
    look = only(opened, Look)
    assert isinstance(look, Look)
    assert (look.saw, look.after, look.by.frame) == ("broken", None, 30)


def test_a_contradiction_is_refused_with_nothing_written(opened: Desk) -> None:
    steps = opened.checked(opened.needed_run()).ladder.steps
    turn = [step for step in steps if step.kind is Kind.LET_GO][-1]
    opened.chosen = turn.id
    do(opened, "kept.let_go", at=100)
    before, on_disk = opened.session, opened.journal.path.read_bytes()
    way = 'the tag "Let go.*" at frame 100: go to 101 or later'
    with pytest.raises(EntryRefused, match=way):
        do(opened, "broken.two_hands", at=90)
    assert opened.session == before
    assert opened.journal.path.read_bytes() == on_disk
    do(opened, "broken.two_hands", at=101)


def test_a_refused_tag_takes_no_surplus_tag_of_its_step_back(opened: Desk) -> None:
    steps = opened.checked(opened.needed_run()).ladder.steps
    turn = [step for step in steps if step.kind is Kind.LET_GO][-1]
    opened.chosen = turn.id
    do(opened, "kept.let_go", at=100)
    two_hands = opened.due_step(Kind.TWO_HANDS)
    assert two_hands is not None
    for frame in (110, 120):  # as only a session from elsewhere has them: two tags of one step
        opened.write(Look(run=1, rung=two_hands.id, saw="broken", by=opened.spot(frame)))
    before, on_disk = opened.session, opened.journal.path.read_bytes()
    opened.go(90)
    with pytest.raises(EntryRefused, match="contradicts"):
        tag_step(opened, two_hands, "broken")
    assert opened.session == before
    assert opened.journal.path.read_bytes() == on_disk
    opened.go(130)
    tag_step(opened, two_hands, "broken")
    (line,) = tags_of(opened, two_hands)
    assert isinstance(line.entry, Look)
    assert line.entry.by.frame == 130


@pytest.mark.parametrize("command", ["kept.flat", "kept.grip", "kept.still"])
def test_what_is_in_order_as_the_clock_starts_is_tagged_in_the_frame_of_the_start(
    opened: Desk, command: str
) -> None:
    do(opened, "kept.hands_off", at=482)
    with pytest.raises(EntryRefused) as refused:
        do(opened, command, at=481)
    assert str(refused.value) == (
        'Frame 481 contradicts the tag "Hands off (first hand)" at frame 482: go to 482 or later, '
        "or take that tag back first (List of steps for its step, then Retract tag)."
    )
    with pytest.raises(EntryRefused, match="at frame 482: go to 481 or earlier"):
        do(opened, command.replace("kept", "broken"), at=482)
    said = do(opened, command, at=482)
    assert said is not None
    assert said.endswith("in order at frame 482.")


def test_a_chosen_moment_is_tagged_again_where_the_other_tags_allow_it(opened: Desk) -> None:
    do(opened, "kept.free", at=80)
    do(opened, "kept.hands_on", at=100)
    do(opened, "kept.exact", at=110)
    with pytest.raises(EntryRefused, match=r'No "hands on" is due .* which replaces its tag'):
        do(opened, "kept.hands_on", at=105)
    opened.chosen = "stop"
    do(opened, "kept.hands_on", at=110)
    assert only(opened, Sighted).by.frame == 110
    opened.chosen = "stop"
    with pytest.raises(EntryRefused) as refused:
        do(opened, "kept.hands_on", at=120)
    assert str(refused.value) == (
        'Frame 120 contradicts the tag "Nothing added" at frame 110: go to 110 or earlier, '
        "or take that tag back first (List of steps for its step, then Retract tag)."
    )
    opened.chosen = "exact"
    do(opened, "retract")
    opened.chosen = "stop"
    do(opened, "kept.hands_on", at=120)
    assert only(opened, Sighted).by.frame == 120


@pytest.mark.parametrize("command", ["due.kept", "kept.let_go", "widen.earlier", "retract"])
def test_nothing_is_tagged_without_a_run(desk: Desk, command: str) -> None:
    with pytest.raises(EntryRefused, match="There is no run yet"):
        do(desk, command, at=10)
    assert written(desk) == []


def test_a_complete_ladder_refuses_a_tag_that_names_no_step(desk: Desk) -> None:
    run_in_order(desk, 0)
    with pytest.raises(EntryRefused, match="complete"):
        do(desk, "due.kept")
