"""One key, one checkpoint."""

from collections.abc import Callable

import pytest

from sessions.errors import EntryRefused
from sessions.record.entries import Look, Sighted, Spot
from sessions.rules.ladder import MARKER_KINDS, Kind, Statement
from sessions.ruling.fumbles import MOST_TOUCHES
from tests.tui.reviewing import do, living, only, run_in_order, written
from tui.bench.question import due_text
from tui.bench.review import Review
from tui.bench.runs import fumble, fumble_stacks
from tui.bench.tagging import tag_checkpoint, tags_of


def test_one_key_tags_one_checkpoint(opened: Review) -> None:
    before = opened.due_checkpoint(Kind.LET_GO)
    assert before is not None
    said = do(opened, "in_order.let_go", at=50)
    assert said == f"{before.title}: in order at frame 50."
    look = Look(run=1, checkpoint=before.id, saw="proven", by=Spot(frame=50, pts=50))
    assert written(opened)[-1] == look
    assert len(written(opened)) == 2


def test_the_ladder_picks_the_next_instance_of_a_kind(opened: Review) -> None:
    for frame in (50, 60, 70):
        do(opened, "in_order.let_go", at=frame)
    statements = [entry.checkpoint for entry in living(opened) if isinstance(entry, Look)]
    ladder = opened.checked(opened.needed_run()).ladder
    assert statements == [step.id for step in ladder.checkpoints if step.kind is Kind.LET_GO]


def test_a_kind_with_nothing_left_due_is_refused(opened: Review) -> None:
    for frame in (50, 60, 70):
        do(opened, "in_order.let_go", at=frame)
    with pytest.raises(EntryRefused, match='No "let go" is due'):
        do(opened, "in_order.let_go", at=80)
    assert len(written(opened)) == 4


@pytest.mark.parametrize("kind", sorted(set(Kind) - MARKER_KINDS))
def test_the_key_of_a_kind_tags_a_rung_of_that_kind(
    make_review: Callable[..., Review], kind: Kind
) -> None:
    review = make_review("cycle")
    do(review, "run.begin", at=5)
    if kind in (Kind.REPAIRED, Kind.ONE_STACK, Kind.CURED):
        fumble(review, fumble_stacks(review)[0], "up")
    if kind is Kind.CURED:
        do(review, "fault.one_stack", at=30)
    do(review, f"fault.{kind}", at=40)
    look = living(review)[-1]
    assert isinstance(look, Look)
    step = review.checked(review.needed_run()).ladder.checkpoint(look.checkpoint)
    assert step is not None
    assert step.kind is kind
    assert look.saw == "refuted"


def test_any_other_step_can_be_chosen(opened: Review) -> None:
    first = opened.checkpoint
    do(opened, "ladder.next")
    do(opened, "ladder.next")
    chosen = opened.checkpoint
    assert chosen is not None
    assert chosen != first
    do(opened, "due.in_order", at=40)
    assert opened.chosen is None
    assert opened.checkpoint == first
    (look,) = tags_of(opened, chosen)
    assert look.entry == Look(run=1, checkpoint=chosen.id, saw="proven", by=Spot(frame=40, pts=40))


def test_choosing_goes_round_the_ladder_and_passes_a_cure_with_no_fault(opened: Review) -> None:
    fumble(opened, fumble_stacks(opened)[0], "up")
    steps = opened.checked(opened.needed_run()).ladder.checkpoints
    choosable = [
        step.id
        for step in steps
        if not (isinstance(step, Statement) and (step.cures or step.follows))
    ]
    assert len(choosable) == len(steps) - (2 * MOST_TOUCHES - 1)
    visited = []
    for _ in choosable:
        do(opened, "ladder.next")
        visited.append(opened.chosen)
    assert sorted(map(str, visited)) == sorted(choosable)
    do(opened, "ladder.next")
    assert opened.chosen == visited[0]
    do(opened, "ladder.previous")
    assert opened.chosen == visited[-1]


def test_a_chosen_step_of_the_kind_goes_before_the_one_that_is_due(opened: Review) -> None:
    steps = opened.checked(opened.needed_run()).ladder.checkpoints
    third = [step for step in steps if step.kind is Kind.LET_GO][2]
    opened.chosen = third.id
    do(opened, "in_order.let_go", at=60)
    look = only(opened, Look)
    assert isinstance(look, Look)
    assert look.checkpoint == third.id


def test_a_chosen_step_of_another_kind_is_left_alone(opened: Review) -> None:
    steps = opened.checked(opened.needed_run()).ladder.checkpoints
    opened.chosen = next(step.id for step in steps if step.kind is Kind.FREE)
    do(opened, "in_order.let_go", at=60)
    look = only(opened, Look)
    assert isinstance(look, Look)
    assert look.checkpoint == next(step.id for step in steps if step.kind is Kind.LET_GO)


def test_a_second_tag_of_a_step_replaces_the_first_and_undo_brings_it_back(opened: Review) -> None:
    step = opened.due_checkpoint(Kind.LET_GO)
    assert step is not None
    do(opened, "in_order.let_go", at=50)
    tag_checkpoint(opened, step, "refuted")
    (line,) = tags_of(opened, step)
    assert isinstance(line.entry, Look)
    assert line.entry.saw == "refuted"
    assert line.replaces == line.seq - 1
    do(opened, "undo")
    (line,) = tags_of(opened, step)
    assert isinstance(line.entry, Look)
    assert line.entry.saw == "proven"


def test_a_third_tag_of_a_step_replaces_the_second_and_leaves_the_first_dead(
    opened: Review,
) -> None:
    step = opened.due_checkpoint(Kind.LET_GO)
    assert step is not None
    for frame in (50, 40, 60):
        opened.go(frame)
        tag_checkpoint(opened, step, "proven")
    assert [line.entry.by.frame for line in tags_of(opened, step)] == [60]  # type: ignore[union-attr]
    do(opened, "undo")
    assert [line.entry.by.frame for line in tags_of(opened, step)] == [40]  # type: ignore[union-attr]


def test_a_tag_takes_the_place_of_all_that_another_program_wrote(opened: Review) -> None:
    for frame in (50, 51):
        look = Look(run=1, checkpoint="start.grip", saw="proven", by=Spot(frame=frame, pts=frame))
        opened.write(look)
    opened.chosen = "start.grip"
    do(opened, "due.fault", at=40)
    assert only(opened, Look).by.frame == 40


def test_a_second_tag_of_a_moment_replaces_the_first(opened: Review) -> None:
    start = opened.due_checkpoint(Kind.HANDS_OFF)
    assert start is not None
    do(opened, "in_order.hands_off", at=20)
    opened.go(22)
    tag_checkpoint(opened, start, "proven")
    assert only(opened, Sighted).by.frame == 22


def test_tags_of_either_hand_alone_stand_side_by_side(opened: Review) -> None:
    start = opened.due_checkpoint(Kind.HANDS_OFF)
    assert start is not None
    do(opened, "hand")
    do(opened, "in_order.hands_off", at=20)
    for frame in (22, 23):
        do(opened, "hand")
        do(opened, "hand", at=frame)
        tag_checkpoint(opened, start, "proven")
    hands = [(m.hand, m.by.frame) for m in living(opened) if isinstance(m, Sighted)]
    assert hands == [("left", 20), ("right", 23)]


def test_the_hand_goes_either_left_right_and_is_spent_by_a_tag(opened: Review) -> None:
    assert [do(opened, "hand") for _ in range(3)] == [
        "Next tag: left hand.",
        "Next tag: right hand.",
        "Next tag: either hand.",
    ]
    do(opened, "hand")
    do(opened, "fault.grip", at=30)
    look = only(opened, Look)
    assert look.hand == "left"
    assert opened.hand is None


def test_a_fault_is_one_frame_without_a_bracket(opened: Review) -> None:
    said = do(opened, "fault.grip", at=30)
    assert said is not None
    assert said.endswith("FAULT at frame 30.")
    look = only(opened, Look)
    assert isinstance(look, Look)
    assert (look.saw, look.after, look.by.frame) == ("refuted", None, 30)


def test_a_contradiction_is_refused_with_nothing_written(opened: Review) -> None:
    steps = opened.checked(opened.needed_run()).ladder.checkpoints
    turn = [step for step in steps if step.kind is Kind.LET_GO][-1]
    opened.chosen = turn.id
    do(opened, "in_order.let_go", at=100)
    before, on_disk = opened.session, opened.journal.path.read_bytes()
    way = 'the tag "Let go.*" at frame 100: go to 101 or later'
    with pytest.raises(EntryRefused, match=way):
        do(opened, "fault.two_hands", at=90)
    assert opened.session == before
    assert opened.journal.path.read_bytes() == on_disk
    do(opened, "fault.two_hands", at=101)


def test_a_refused_tag_takes_no_surplus_tag_of_its_step_back(opened: Review) -> None:
    steps = opened.checked(opened.needed_run()).ladder.checkpoints
    turn = [step for step in steps if step.kind is Kind.LET_GO][-1]
    opened.chosen = turn.id
    do(opened, "in_order.let_go", at=100)
    two_hands = opened.due_checkpoint(Kind.TWO_HANDS)
    assert two_hands is not None
    for frame in (110, 120):  # as only a session from elsewhere has them: two tags of one step
        opened.write(Look(run=1, checkpoint=two_hands.id, saw="refuted", by=opened.spot(frame)))
    before, on_disk = opened.session, opened.journal.path.read_bytes()
    opened.go(90)
    with pytest.raises(EntryRefused, match="contradicts"):
        tag_checkpoint(opened, two_hands, "refuted")
    assert opened.session == before
    assert opened.journal.path.read_bytes() == on_disk
    opened.go(130)
    tag_checkpoint(opened, two_hands, "refuted")
    (line,) = tags_of(opened, two_hands)
    assert isinstance(line.entry, Look)
    assert line.entry.by.frame == 130


@pytest.mark.parametrize("command", ["in_order.flat", "in_order.grip", "in_order.still"])
def test_what_is_in_order_as_the_clock_starts_is_tagged_in_the_frame_of_the_start(
    opened: Review, command: str
) -> None:
    do(opened, "in_order.hands_off", at=482)
    with pytest.raises(EntryRefused) as refused:
        do(opened, command, at=481)
    assert str(refused.value) == (
        'Frame 481 contradicts the tag "Hands off (first hand)" at frame 482: go to 482 or later, '
        "or take that tag back first (List of checkpoints for its checkpoint, then Retract tag)."
    )
    said = do(opened, command, at=482)
    assert said is not None
    assert said.endswith("in order at frame 482.")


def test_a_wrist_after_the_start_is_no_fault_of_the_start(opened: Review) -> None:
    do(opened, "in_order.hands_off", at=482)
    with pytest.raises(EntryRefused, match="at frame 482: go to 481 or earlier"):
        do(opened, "fault.flat", at=482)


@pytest.mark.parametrize("kind", ["grip", "still"])
def test_a_hand_still_on_the_pad_as_the_clock_runs_can_be_at_fault(
    opened: Review, kind: str
) -> None:
    do(opened, "in_order.hands_off", at=482)
    do(opened, "hand")
    do(opened, f"in_order.{kind}", at=482)
    for _ in range(2):
        do(opened, "hand")
    do(opened, f"fault.{kind}", at=484)
    finding = opened.checked(opened.needed_run()).finding(f"start.{kind}")
    assert finding is not None
    assert (finding.outcome, finding.hand) == ("refuted", "right")


def test_a_chosen_moment_is_tagged_again_where_the_other_tags_allow_it(opened: Review) -> None:
    do(opened, "in_order.free", at=80)
    do(opened, "in_order.hands_on", at=100)
    do(opened, "in_order.exact", at=110)
    with pytest.raises(EntryRefused, match=r'No "hands on" is due .* which replaces its tag'):
        do(opened, "in_order.hands_on", at=105)
    opened.chosen = "stop"
    do(opened, "in_order.hands_on", at=110)
    assert only(opened, Sighted).by.frame == 110
    opened.chosen = "stop"
    with pytest.raises(EntryRefused) as refused:
        do(opened, "in_order.hands_on", at=120)
    assert str(refused.value) == (
        'Frame 120 contradicts the tag "Nothing added" at frame 110: go to 110 or earlier, '
        "or take that tag back first (List of checkpoints for its checkpoint, then Retract tag)."
    )
    opened.chosen = "exact"
    do(opened, "retract")
    opened.chosen = "stop"
    do(opened, "in_order.hands_on", at=120)
    assert only(opened, Sighted).by.frame == 120


@pytest.mark.parametrize("command", ["due.in_order", "in_order.let_go", "widen.earlier", "retract"])
def test_nothing_is_tagged_without_a_run(review: Review, command: str) -> None:
    with pytest.raises(EntryRefused, match="There is no run yet"):
        do(review, command, at=10)
    assert written(review) == []


def test_a_complete_ladder_refuses_a_tag_that_names_no_step(review: Review) -> None:
    run_in_order(review, 0)
    with pytest.raises(EntryRefused, match="complete"):
        do(review, "due.in_order")


def test_a_checkpoint_of_two_hands_is_tagged_hand_by_hand(opened: Review) -> None:
    do(opened, "hand")
    do(opened, "in_order.let_go", at=120)
    due = opened.due_checkpoint(Kind.LET_GO)
    assert due is not None
    assert due.id == "f1.s1.let-go"
    opened.chosen = due.id
    assert due_text(opened) == (
        "Let go: 1st 3 (right hand): the right hand is clear of 1st 3, before the 6 rises?"
    )
    for _ in range(2):
        do(opened, "hand")
    do(opened, "in_order.let_go", at=122)
    assert [mark.hand for mark in looks(opened)] == ["left", "right"]
    assert opened.due_checkpoint(Kind.LET_GO) != due


def test_a_tag_of_a_hand_takes_the_place_of_one_of_both_and_the_other_way_round(
    opened: Review,
) -> None:
    do(opened, "in_order.let_go", at=120)
    opened.chosen = "f1.s1.let-go"
    do(opened, "hand")
    do(opened, "in_order.let_go", at=118)
    assert [(mark.hand, mark.by.frame) for mark in looks(opened)] == [("left", 118)]
    opened.chosen = "f1.s1.let-go"
    do(opened, "in_order.let_go", at=121)
    assert [(mark.hand, mark.by.frame) for mark in looks(opened)] == [(None, 121)]


def looks(review: Review) -> list[Look]:
    return [entry for entry in living(review) if isinstance(entry, Look)]
