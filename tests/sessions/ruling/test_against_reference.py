"""The checker and the judge against brute force over concrete instants."""

from collections.abc import Sequence
from fractions import Fraction
from itertools import pairwise

import pytest
from hypothesis import given

from sessions.record.entries import Fumble, Look, OtherFault, Sighted
from sessions.record.session import Run, Session
from sessions.rules.events import EventDefinition, event_names, load_event
from sessions.rules.ladder import Statement, stacks_of
from sessions.rules.moments import Instant
from sessions.rules.relations import relations_of
from sessions.ruling import checker
from sessions.ruling.checker import Checked, check_run
from sessions.ruling.fumbles import fumble_relations, run_ladder
from sessions.ruling.judge import rule
from sessions.ruling.order import Tag, is_contradicted
from sessions.ruling.ruling import RuledRun, Ruling, Standing
from tests.proofs import examples
from tests.sessions.ruling.event_reading import (
    Check,
    Node,
    Order,
    deciding,
    orders,
    stacks_that_can_fall,
    steps,
)
from tests.sessions.ruling.reference import (
    EARLIEST,
    Truth,
    attempt_numbers,
    attempts_before,
    best_is_settled,
    best_time,
    is_possible,
    lies_in,
    may_show_the_time,
    seen_in,
    unwatched_from,
)
from tests.sessions.samples import FRAME_SECONDS, spot
from tests.sessions.strategies import Drawn, cured_sessions, drawn_sessions, invented_events

FALLEN = (
    Fumble(run=1, fumble="x1", stack="f1.s1", phase="up", at=spot(1)),
    Fumble(run=1, fumble="x2", stack="f1.s1", phase="down", at=spot(2)),
)


@pytest.mark.parametrize("name", event_names())
def test_the_ladder_of_an_event_is_the_reference_s(name: str) -> None:
    assert_one_ladder(load_event(name))


@examples(few=20, many=200)
@given(invented_events())
def test_the_ladder_of_any_event_is_the_reference_s(event: EventDefinition) -> None:
    assert_one_ladder(event)


def assert_one_ladder(event: EventDefinition) -> None:
    """Checkpoints in one order, of the same moments, with the same hands, relations and stacks."""
    ladder = run_ladder(event, FALLEN)
    assert [step.id for step in ladder.checkpoints] == [
        step if isinstance(step, str) else step.id for step in steps(event, FALLEN)
    ]
    for check in (step for step in steps(event, FALLEN) if isinstance(step, Check)):
        found = ladder.statement(check.id)
        assert found is not None
        told = found.met, found.due, found.each, found.cure, found.cures, found.since, found.follows
        assert Check(check.id, *told) == check
    for moment in ladder.moments.values():
        hand = None if moment.hands is None else moment.hands.value.split()[0]
        assert hand == deciding(event, moment.id)
    assert [stack.id for stack in stacks_of(event)] == list(stacks_that_can_fall(event))
    relations = [
        *relations_of(event),
        *fumble_relations("x1", "up"),
        *fumble_relations("x2", "down"),
    ]
    assert {
        Order(node_of(relation.before), node_of(relation.after), relation.needs)
        for relation in relations
    } == orders(event, FALLEN)


def node_of(place: Instant) -> Node:
    moment, who = place
    return moment, None if who is None else who.split()[0]


@examples(few=40, many=300)
@given(drawn_sessions())
def test_every_checkpoint_is_what_all_instants_that_agree_with_the_marks_make_it(
    drawn: Drawn,
) -> None:
    session = drawn.session
    for run in session.runs:
        assert judged(session, run, cured=False) == expected(session, run, cured=False)


@examples(few=20, many=150)
@given(cured_sessions())
def test_a_fault_with_a_cure_is_what_all_instants_that_agree_with_the_marks_make_it(
    drawn: Drawn,
) -> None:
    session = drawn.session
    for run in session.runs:
        assert judged(session, run, cured=True) == expected(session, run, cured=True)


@examples(few=20, many=200)
@given(drawn_sessions())
def test_every_standing_is_what_the_plain_reference_makes_it(drawn: Drawn) -> None:
    session = drawn.session
    ruling = rule(session)
    numbers = attempt_numbers(session.runs, attempts_before(session))
    assert {r.run: r.number for r in ruling.runs if r.number is not None} == numbers
    for run, ruled in zip(session.runs, ruling.runs, strict=True):
        assert ruled.standing.value == expected_standing(session, run, numbers.get(run.id))


@examples(few=40, many=300)
@given(drawn_sessions())
def test_tags_contradict_each_other_where_no_instants_of_all_moments_agree_with_them(
    drawn: Drawn,
) -> None:
    session = drawn.session
    for run in session.runs:
        checked = check_run(session, run)
        truth = truth_of(session, run)
        agreed = truth.can_all_be()
        assert bool(checked.brackets.conflicts or checked.clashes) == (not agreed)


@examples(few=20, many=200)
@given(drawn_sessions())
def test_the_tags_that_are_named_are_the_fewest_that_contradict_each_other(drawn: Drawn) -> None:
    session = drawn.session
    for run in session.runs:
        for clash in check_run(session, run).clashes:
            assert not can_all_be(session, run, clash.tags)
            for tag in clash.tags:
                assert can_all_be(session, run, [other for other in clash.tags if other != tag])


def can_all_be(session: Session, run: Run, tags: Sequence[Tag]) -> bool:
    """Whether some of a run's tags can all be true."""
    falls = [tag for tag in tags if isinstance(tag, Fumble)]
    marks = [tag for tag in tags if not isinstance(tag, Fumble)]
    frames = session.header.footage.frames
    return Truth(session.header.event, run.fumbles, marks, frames, falls).can_all_be()


@examples(few=20, many=200)
@given(drawn_sessions(most_runs=4))
def test_a_ruling_is_made_only_when_nothing_open_can_change_it(drawn: Drawn) -> None:
    session = drawn.session
    ruling = rule(session)
    standing = times_of(ruling, Standing.STANDS)
    times = {r.run: r.time for r in ruling.runs if r.time is not None}
    expected = best_time(times, standing)
    assert (None if ruling.best_time is None else Fraction(ruling.best_time)) == expected
    undecided = times_of(ruling, Standing.OPEN)
    settled = best_is_settled({r: t for r, t in standing.items() if t is not None}, undecided)
    claimed_open = set(ruling.claimed_runs) & set(undecided)
    counted = any(run.sort == "attempt" for run in session.runs)
    at_odds = has_orphans(session) or runs_overlap(session)
    told_apart = len({entry.attempts for entry in session.attempts_before}) > 1
    no_mark = any(entry.what == "mark" for entry in session.not_shown)
    mark_both_ways = no_mark and cup_outcomes(session) == {"proven"}
    at_odds = at_odds or told_apart or mark_both_ways
    upheld = set(ruling.claimed_runs) & set(standing)
    watched = left_from(session) is None
    decided = settled and counted and not claimed_open and not at_odds
    assert ruling.decided == decided
    assert ruling.made == (decided and (watched or bool(upheld)))


def left_from(session: Session) -> int | None:
    """The first frame that nobody watched."""
    frames = session.header.footage.frames
    shown = {f for a, b in session.shown.ranges for f in range(a, min(b, frames - 1) + 1)}
    return unwatched_from(shown, frames, FRAME_SECONDS)


def truth_of(session: Session, run: Run) -> Truth:
    return Truth.of(session.header.event, run, session.header.footage.frames)


def judged(session: Session, run: Run, cured: bool) -> dict[str, str]:
    """Outcomes by the checker, the order of all moments left aside.

    They are of the faults that can be cured, or of all other checkpoints.
    """
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(checker, "contradictions", lambda *_: ())
        findings = check_run(session, run).findings
    ladder = run_ladder(session.header.event, run.fumbles)
    curable = {statement.id for statement in ladder.statements if statement.cure is not None}
    named = {statement.id for statement in ladder.statements}
    wanted = curable if cured else named - curable
    return {f.checkpoint: f.outcome.value for f in findings if f.checkpoint in wanted}


def expected(session: Session, run: Run, cured: bool) -> dict[str, str]:
    truth = truth_of(session, run)
    return {check.id: truth.outcome(check) for check in truth.judged(cured)}


def times_of(ruling: Ruling, standing: Standing) -> dict[int, Fraction | None]:
    def seconds(run: RuledRun) -> Fraction | None:
        return None if run.time is None else Fraction(run.time)

    return {run.run: seconds(run) for run in ruling.runs if run.standing is standing}


def has_orphans(session: Session) -> bool:
    begun = {run.id for run in session.runs}
    spoken_of = {getattr(line.entry, "run", None) for line in session.lines}
    return bool(spoken_of - begun - {None})


def runs_overlap(session: Session) -> bool:
    """Whether a run is still open in the frame in which the next one begins."""
    spans = sorted(
        (
            min(e.begins.frame for e in run.begun),
            run.id,
            max((e.ends.frame for e in run.ended), default=session.header.footage.frames),
        )
        for run in session.runs
    )
    return any(ends >= begins for (_, _, ends), (begins, _, _) in pairwise(spans))


def expected_standing(session: Session, run: Run, number: int | None) -> str:
    if number is None:
        return "uncounted"
    cups = cup_outcomes(session)
    if "refuted" in cups:
        return "void"
    truth = truth_of(session, run)
    checked = check_run(session, run)
    outcomes = {
        "conflict" if is_contradicted_by(checked, check) else truth.outcome(check)
        for check in truth.checks
        if check.cures is None and truth.is_asked(check)
    }
    outcomes |= {fault.saw for fault in others_of(session, run)}
    outcomes |= {"conflict"} if checked.clashes else set()
    if "refuted" in outcomes or number > session.header.event.allowance.attempts:
        return "scratch"
    lacking = [*run.not_shown, *session.not_shown]
    if (
        "conflict" not in outcomes
        and len(times_read(truth, session, run)) < 2
        and is_recorded(session, run)
        and is_admissible(truth, session, run)
        and lacking
    ):
        return "open" if any(is_there(truth, session, run, e.what) for e in lacking) else NO_PROOF
    begins = min(entry.begins.frame for entry in run.begun)
    left = left_from(session)
    still_open = {"unlooked", "conflict"}
    if left is not None and left < begins:
        still_open |= {"proven", "unproven"}  # how many runs came before it, nobody knows
    decided = not (still_open & outcomes) and "unlooked" not in cups
    return (
        "stands"
        if decided
        and is_recorded(session, run)
        and is_admissible(truth, session, run)
        and clock_is_well(truth, session, run)
        else "open"
    )


NO_PROOF = "not proven"


def others_of(session: Session, run: Run) -> list[OtherFault]:
    """Faults of the run that no checkpoint asks for, of rules that are known, seen in the run."""
    known = {rule.id for rule in session.header.event.rules} | {"other"}
    return [f for f in run.other_faults if f.rule in known and lies_in(run, f.by.frame)]


def times_read(truth: Truth, session: Session, run: Run) -> set[Fraction]:
    """The times read where the display can show them."""
    stop = truth.instants["stop"]
    fitting = [r for r in run.readings if may_show_the_time(run, session.runs, stop, r.at.frame)]
    return {Fraction(reading.display) for reading in fitting}


def is_there(truth: Truth, session: Session, run: Run, what: str) -> bool:
    """Whether the record has what it says the footage does not show."""
    if what == "display":
        return bool(times_read(truth, session, run))
    sighted = {mark.moment for mark in seen_in(run) if isinstance(mark, Sighted)}
    instants = truth.instants.get(what, frozenset())
    ends = (EARLIEST, 2 * truth.frames)
    return what in sighted and bool(instants) and not set(ends) & set(instants)


def is_contradicted_by(checked: Checked, check: Check) -> bool:
    """Whether the order of the run's tags contradicts a tag that a checkpoint or its cure is of."""
    ladder = checked.ladder
    found = (ladder.statement(name) for name in (check.id, check.cure))
    return any(is_contradicted(checked.clashes, one) for one in found if one is not None)


def cup_outcomes(session: Session) -> set[str]:
    return {cup_outcome(session, cup) for cup in range(1, session.header.event.cups + 1)}


def cup_outcome(session: Session, cup: int) -> str:
    saw = {entry.saw for entry in session.cups if cup in entry.cups}
    if "proven" in saw:
        return "proven"
    if "unproven" in saw:
        return "unproven"
    frames = range(session.header.footage.frames)
    if "refuted" in saw:
        return "refuted" if all(frame in session.shown for frame in frames) else "unlooked"
    return "unlooked"


def is_recorded(session: Session, run: Run) -> bool:
    """Opened once, closed once, and every fumble and mark about something that is there."""
    ladder = run_ladder(session.header.event, run.fumbles)
    stacks = {stack.id for stack in stacks_of(session.header.event)}
    names = [fumble.fumble for fumble in run.fumbles]
    statements = {step.id for step in ladder.checkpoints if isinstance(step, Statement)}
    known = all(
        m.checkpoint in statements if isinstance(m, Look) else m.moment in ladder.moments
        for m in run.marks
    )
    return (
        len(set(run.begun)) == len(set(run.ended)) == 1
        and run.begun[0].begins.frame <= run.ended[0].ends.frame
        and len(set(names)) == len(names)
        and {fumble.stack for fumble in run.fumbles} <= stacks
        and known
        and {fault.rule for fault in run.other_faults}
        <= {"other", *(rule.id for rule in session.header.event.rules)}
        and all(len(stamps) == 1 for stamps in _stamps(run).values())
        and max(_stamps(run), default=0) < session.header.footage.frames
    )


def is_admissible(truth: Truth, session: Session, run: Run) -> bool:
    """Everything said of the run lies in it, nothing twice, and the display is read in time."""
    over = [entry.at.frame for entry in run.started_over]
    within = [
        *(m.by.frame for m in (*run.marks, *run.other_faults)),
        *(f.at.frame for f in run.fumbles),
        *over,
    ]
    stop = truth.instants["stop"]
    return (
        all(lies_in(run, frame) for frame in within)
        and len(set(over)) == len(over)
        and all(may_show_the_time(run, session.runs, stop, r.at.frame) for r in run.readings)
    )


def _stamps(run: Run) -> dict[int, set[int]]:
    """The time stamps with which the marks of a run write each frame."""
    stamps: dict[int, set[int]] = {}
    for mark in (*run.marks, *run.other_faults):
        for place in (mark.after, mark.by):
            if place is not None:
                stamps.setdefault(place.frame, set()).add(place.pts)
    return stamps


def clock_is_well(truth: Truth, session: Session, run: Run) -> bool:
    """One reading, both ends sighted in the footage, and a display that can be so or is settled."""
    readings = {Fraction(reading.display) for reading in run.readings}
    sighted = {mark.moment for mark in seen_in(run) if isinstance(mark, Sighted)}
    if not {"start", "stop"} <= sighted:
        return False
    start, stop = truth.instants["start"], truth.instants["stop"]
    if len(readings) != 1 or not start or not stop:
        return False
    a, b, c, d = (n // 2 for n in (min(start), max(start), min(stop), max(stop)))
    if a < 0 or c < 0 or max(b, d) >= truth.frames:
        return False
    shortest, longest = (c - b) * FRAME_SECONDS, (d - a) * FRAME_SECONDS
    (read,) = readings
    possible = is_possible(run.readings[0].display, session.header.event.clock, shortest, longest)
    return possible or any(Fraction(entry.display) == read for entry in run.accepted)
