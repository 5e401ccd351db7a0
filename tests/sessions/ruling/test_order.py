"""The order of a run's moments: true tags never contradict each other, and false ones are named."""

from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sessions.record.entries import Look, Sighted
from sessions.record.session import Run, Session
from sessions.rules.events import EventDefinition, load_event
from sessions.rules.relations import relations_of
from sessions.ruling.checker import check_run
from sessions.ruling.fumbles import run_ladder
from sessions.ruling.judge import rule
from sessions.ruling.order import contradiction_words, contradictions, hurried
from tests.proofs import examples
from tests.sessions.ruling.performer import Tagged, tagged
from tests.sessions.samples import (
    FRAME_PTS,
    faultless_run,
    header,
    invented_event,
    session_of,
)
from tests.sessions.strategies import events
from tests.sessions.tags import session_from

FAULTS = st.sampled_from([0, 0.05, 0.05, 0.2])


def session_of_tags(event: EventDefinition, run: Tagged) -> Session:
    return session_of(header(event, run.frames), run.entries)


@examples(few=100, many=2_000)
@given(events(), st.integers(0, 2**32), FAULTS)
def test_true_tags_of_a_run_by_two_hands_never_contradict_each_other(
    event: EventDefinition, seed: int, faults: float
) -> None:
    run = tagged(Random(seed), event, faults)
    session = session_of_tags(event, run)
    checked = check_run(session, session.runs[0])
    assert [contradiction_words(checked.ladder, clash) for clash in checked.clashes] == []
    assert checked.brackets.conflicts == frozenset()


@examples(few=50, many=1_000)
@given(events(), st.integers(0, 2**32), FAULTS)
def test_a_run_by_two_hands_is_judged_as_it_was(
    event: EventDefinition, seed: int, faults: float
) -> None:
    run = tagged(Random(seed), event, faults)
    session = session_of_tags(event, run)
    found = {f.checkpoint: f.outcome.value for f in check_run(session, session.runs[0]).findings}
    for checkpoint, outcome in run.outcomes.items():
        if not checkpoint.endswith(".one-stack"):  # a touch may be cured
            assert found[checkpoint] == outcome


def test_runs_of_the_simulator_break_every_rule_and_keep_it() -> None:
    seen: dict[str, set[str]] = {}
    for seed in range(300):
        run = tagged(Random(seed), load_event("cycle"), 0.15)
        for checkpoint, outcome in run.outcomes.items():
            seen.setdefault(checkpoint.rpartition(".")[2], set()).add(outcome)
    assert {name for name, outcomes in seen.items() if len(outcomes) == 1} == set()


@pytest.mark.parametrize("place", range(9))
def test_tags_swapped_by_a_slip_are_named(place: int) -> None:
    """Most pairs of swapped tags cannot be; those of neighbours that can be are few."""
    head = header("cycle")
    marks = [e for e in faultless_run(head.event) if isinstance(e, Look | Sighted)]
    looks = [mark for mark in marks if isinstance(mark, Look) and mark.checkpoint[0] == "f"]
    one, other = looks[place], looks[-1 - place]
    swapped = {
        one: one.model_copy(update={"by": other.by}),
        other: other.model_copy(update={"by": one.by}),
    }
    entries = [swapped.get(e, e) if isinstance(e, Look) else e for e in faultless_run(head.event)]
    session = session_of(head, entries)
    clashes = check_run(session, session.runs[0]).clashes
    named = {tag for clash in clashes for tag in clash.tags}
    assert named & set(swapped.values())


@examples(few=20, many=300)
@given(events())
def test_relations_run_in_no_circle_and_are_said_once(event: EventDefinition) -> None:
    head = header(event)
    session = session_of(head, faultless_run(event))
    run = session.runs[0]
    ladder = run_ladder(event, run.fumbles)
    assert contradictions(event, run, run.marks, ladder) == ()
    assert len(list(relations_of(event))) == len(set(relations_of(event)))


# -- too short a time


def quick(frames: int, unit: float, tags: list[str]) -> frozenset[str]:
    head = header(invented_event(["3-3"]), frames)
    session = session_from(head, ["open 1 attempt at 0", *tags])
    run: Run = session.runs[0]
    ladder = run_ladder(head.event, run.fumbles)
    return hurried(head.event, run, run.marks, ladder, int(unit * FRAME_PTS))


RISES = [
    "look 1 f1.completed proven 90",
    "sighted 1 f1.s1.rise 10 11",
    "sighted 1 f1.s2.rise {} {}",
]


@pytest.mark.parametrize(
    ("later", "marked"),
    [(11, True), (12, True), (13, False), (20, False)],
)
def test_two_rises_with_less_time_than_the_work_takes_are_marked(later: int, marked: bool) -> None:
    """In (10, 11] and in (n - 1, n], with two frames of work between: not before n = 13."""
    tags = [tag.format(later - 1, later) for tag in RISES]
    found = quick(100, 2, tags)
    assert found == (frozenset({"f1.s1.rise", "f1.s2.rise"}) if marked else frozenset())


def test_a_short_time_is_told_by_seconds_and_opens_nothing() -> None:
    tags = [tag.format(11, 12) for tag in RISES]
    assert quick(100, 0, tags) == frozenset()
    head = header(invented_event(["3-3"]), 100)
    session = session_from(head, ["open 1 attempt at 0", *tags])
    assert check_run(session, session.runs[0]).clashes == ()


@pytest.mark.parametrize("seed", range(12))
def test_which_tags_are_named_does_not_hang_on_the_order_of_entry(seed: int) -> None:
    """Looks that bound others alike: the first of them by its place is named."""
    looks = ("start.grip proven 3", "f1.completed proven 25", "stop.free proven 25")
    told = session_from(
        header("3-3-3"), ["clean 1 at 0", *(f"also look 1 {look}" for look in looks)]
    )
    begun, *entries = [line.entry for line in told.lines]
    Random(seed).shuffle(entries)
    other = session_of(told.header, [begun, *entries])
    assert rule(other).runs == rule(told).runs
