"""The ladder against the checkpoints of the trade, written out by hand."""

from collections import Counter

import pytest
from hypothesis import given

from sessions.rules.events import EventDefinition, Hand, load_event
from sessions.rules.ladder import (
    MARKER_KINDS,
    Kind,
    Marker,
    build_ladder,
    deciding_hand,
    stacks_of,
)
from sessions.rules.rulebook import PICTURE, rules
from tests.sessions.samples import invented_event
from tests.sessions.strategies import events, invented_events

# The checkpoints of each event in order, as the trade lists them: common practice, no source.
START = ["start.flat", "start.grip", "start.still"]
STOP = ["stop.free", "stop.flat", "sequence.exact"]
THREE_STACKS = [
    "build.let-go",
    "build.let-go",
    "down.let-go",
    "down.two-hands",
    "down.two-hands",
    "down.order",
    "sequence.complete",
]
SIX_SIX = [
    "change.column",
    "build.let-go",
    "down.let-go",
    "down.two-hands",
    "down.order",
    "sequence.complete",
]
ONE_TEN_ONE = ["change.singles", "down.let-go", "sequence.complete"]


@pytest.mark.parametrize(
    ("name", "expected"),
    [
        ("3-3-3", [*START, *THREE_STACKS, *STOP]),
        ("3-6-3", [*START, *THREE_STACKS, *STOP]),
        ("cycle", [*START, *THREE_STACKS, *SIX_SIX, *ONE_TEN_ONE, *STOP]),
    ],
)
def test_the_checkpoints_of_an_event_are_those_of_the_trade(name: str, expected: list[str]) -> None:
    assert [checkpoint.rule for checkpoint in build_ladder(load_event(name)).statements] == expected


# What each checkpoint of the cycle says, in the words of its moments.
@pytest.mark.parametrize(
    ("checkpoint", "met", "due"),
    [
        ("f1.s1.let-go", "both hands are clear of 1st 3", "the 6 rises"),
        ("f1.s2.let-go", "both hands are clear of the 6", "2nd 3 rises"),
        ("f1.s3.let-go", "both hands are clear of 2nd 3", "the 1st take-down of 3-6-3 begins"),
        ("f2.column", "the last stack of 3-6-3 is a closed column", "1st 6 rises"),
        ("f3.singles", "both hands are off the single cups of 1-10-1", "the 10 rises"),
        ("f3.s2.let-go", "both hands are clear of the 10", "the 1st take-down of 1-10-1 begins"),
        ("stop.free", "fingers and thumbs are clear of the cups", "the clock stops"),
        ("exact", "the clock stops", "stacking beyond the event begins"),
    ],
)
def test_a_checkpoint_says_what_must_come_before_what(checkpoint: str, met: str, due: str) -> None:
    ladder = build_ladder(load_event("cycle"))
    found = next(one for one in ladder.statements if one.id == checkpoint)
    assert (ladder.moments[found.met].words, ladder.moments[found.due].words) == (
        met,
        due,
    )


@pytest.mark.parametrize("starts", Hand)
@pytest.mark.parametrize("stops", Hand)
def test_the_event_says_which_hand_decides_the_clock(starts: Hand, stops: Hand) -> None:
    ladder = build_ladder(invented_event(["3-3"], clock={"starts": starts, "stops": stops}))
    assert ladder.moments["start"].hands is starts
    assert ladder.moments["stop"].hands is stops
    markers = [step for step in ladder.checkpoints if isinstance(step, Marker)]
    assert [marker.kind for marker in markers] == [Kind.HANDS_OFF, Kind.HANDS_ON]
    assert starts.value in markers[0].title
    assert stops.value in markers[1].title


@given(invented_events())
def test_the_order_of_the_take_down_is_a_setting(event: EventDefinition) -> None:
    rows = [row for row in event.rows if len(row.pyramids) > 1]
    statements = [
        checkpoint for checkpoint in build_ladder(event).statements if checkpoint.kind is Kind.ORDER
    ]
    assert len(statements) == (len(rows) if event.order.take_down == "as built" else 0)


@given(events())
def test_the_general_rules_make_every_ladder(event: EventDefinition) -> None:
    """Let go of every pyramid, two hands for all take-downs but a formation's last, and so on."""
    kinds = Counter(checkpoint.kind for checkpoint in build_ladder(event).statements)
    pyramids = [len(row.pyramids) for row in event.rows]
    into = event.rows[1:]
    assert kinds[Kind.LET_GO] == sum(pyramids)
    assert kinds[Kind.TWO_HANDS] == sum(pyramids) - len(pyramids)
    assert kinds[Kind.FORMATION] == len(pyramids)
    assert kinds[Kind.SINGLES] == sum(row.has_singles for row in event.rows)
    assert kinds[Kind.COLUMN] == sum(not row.has_singles for row in into)
    assert kinds[Kind.FLAT] == 2
    assert kinds[Kind.GRIP] == kinds[Kind.STILL] == kinds[Kind.FREE] == kinds[Kind.EXACT] == 1


@given(events())
def test_every_step_is_whole(event: EventDefinition) -> None:
    ladder = build_ladder(event)
    ids = [step.id for step in ladder.checkpoints]
    assert len(set(ids)) == len(ids)
    assert all(ladder.checkpoint(step.id) is step for step in ladder.checkpoints)
    for checkpoint in ladder.statements:
        assert {checkpoint.met, checkpoint.due} <= ladder.moments.keys()
        assert rules()[checkpoint.rule].kind == checkpoint.kind.value
        assert checkpoint.kind not in MARKER_KINDS
    compared = {
        moment for checkpoint in ladder.statements for moment in (checkpoint.met, checkpoint.due)
    }
    sighted = {step.id for step in ladder.checkpoints if isinstance(step, Marker)}
    assert sighted <= ladder.moments.keys()
    assert all(moment.id == key for key, moment in ladder.moments.items())
    unused = {m for m in ladder.moments if m not in compared and m not in sighted}
    assert all(moment.endswith(".rise") for moment in unused)


def test_a_ladder_has_no_step_that_is_not_on_it() -> None:
    assert build_ladder(load_event("3-3-3")).checkpoint("f3.singles") is None


def test_the_stacks_that_can_fall_in_the_order_of_building() -> None:
    found = [(stack.id, stack.words) for stack in stacks_of(load_event("cycle"))]
    assert found == [
        ("f1.s1", "1st 3"),
        ("f1.s2", "the 6"),
        ("f1.s3", "2nd 3"),
        ("f2.s1", "1st 6"),
        ("f2.s2", "2nd 6"),
        ("f3.singles", "singles of 1-10-1"),
        ("f3.s2", "the 10"),
    ]


def test_a_rule_that_two_hands_have_no_part_in_has_no_deciding_hand() -> None:
    with pytest.raises(ValueError, match="does not say how it judges two hands"):
        deciding_hand(PICTURE, "met")
