"""What is still to be looked at."""

from hypothesis import HealthCheck, given

from sessions.rules.ladder import Statement, build_ladder
from sessions.ruling.checker import check_run, due_checkpoints
from tests.proofs import examples
from tests.sessions.samples import faultless_marks, header
from tests.sessions.strategies import Drawn, drawn_sessions
from tests.sessions.tags import session_from

HEADER = header("cycle")
FALLEN = ["open 1 attempt at 0", "fumble 1 x1 f1.s1 up at 45"]


def due(*tags: str) -> list[str]:
    session = session_from(HEADER, tags)
    return [step.id for step in due_checkpoints(check_run(session, session.runs[0]))]


def test_everything_is_due_on_a_run_just_opened() -> None:
    assert due("open 1 attempt at 0") == [
        step.id for step in build_ladder(HEADER.event).checkpoints
    ]


def test_nothing_is_due_on_a_run_looked_through() -> None:
    assert due("clean 1 at 0") == []


def test_steps_are_due_in_the_order_of_the_ladder_until_looked_at() -> None:
    marks = list(faultless_marks(build_ladder(HEADER.event), 1, 0))
    steps = [step.id for step in build_ladder(HEADER.event).checkpoints]
    session = session_from(HEADER, ["open 1 attempt at 0"], *marks[:4])
    assert [s.id for s in due_checkpoints(check_run(session, session.runs[0]))] == steps[4:]


def test_a_broken_step_was_looked_at() -> None:
    assert "start.grip" not in due("clean 1 at 0", "look 1 start.grip refuted 9")


def test_a_contradicted_step_is_due_again() -> None:
    found = due("clean 1 at 0", "also look 1 f2.column refuted 120")
    assert found == ["f2.column"]


def test_a_cure_is_due_only_once_its_fault_is_refuted() -> None:
    repaired = [*FALLEN, "look 1 x1.repaired proven 60"]
    assert "x1.one-stack" in due(*repaired)
    assert "x1.cured" not in due(*repaired)
    assert "x1.cured" not in due(*repaired, "look 1 x1.one-stack proven 60")
    touched = [*repaired, "look 1 x1.one-stack refuted 55"]
    assert "x1.cured" in due(*touched)
    assert "x1.cured" not in due(*touched, "look 1 x1.cured proven 80", "sighted 1 stop 219 220")


@examples(few=20, many=200, suppress_health_check=list(HealthCheck))
@given(drawn_sessions(most_runs=2))
def test_a_checkpoint_is_due_where_its_finding_is_open(drawn: Drawn) -> None:
    session = drawn.session
    for run in session.runs:
        checked = check_run(session, run)
        plain = {r.id for r in checked.ladder.statements if r.cure is None and r.cures is None}
        open_findings = {f.checkpoint for f in checked.findings if f.outcome.is_open}
        found = {step.id for step in due_checkpoints(checked) if isinstance(step, Statement)}
        assert found & plain == open_findings & plain


def test_short_times_are_found_once_for_a_run_as_it_stands() -> None:
    """A stack that rises in (48, 49] is let go of by 50: in less than 67 ms."""
    soon = session_from(HEADER, ("clean 1 at 0", "sighted 1 f1.s1.rise 48 49"))
    checked = check_run(soon, soon.runs[0])
    assert {"f1.s1.rise", "f1.s1.let-go"} <= checked.hurried
    assert checked.hurried is checked.hurried
    calm = session_from(HEADER, ("clean 1 at 0",))
    assert check_run(calm, calm.runs[0]).hurried == frozenset()
