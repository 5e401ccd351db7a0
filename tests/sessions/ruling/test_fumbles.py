"""What a fumble adds to the ladder of its run."""

from hypothesis import given
from hypothesis import strategies as st

from sessions.record.entries import Fumble
from sessions.rules.events import EventDefinition, load_event
from sessions.rules.ladder import Kind, build_ladder, stacks_of
from sessions.ruling.fumbles import MOST_TOUCHES, run_ladder
from tests.sessions.samples import spot
from tests.sessions.strategies import events

EVENT = load_event("3-3-3")


def fumble(name: str, phase: str, stack: str = "f1.s1") -> Fumble:
    fields = {"run": 1, "fumble": name, "stack": stack, "phase": phase, "at": spot(3)}
    return Fumble.model_validate(fields)


def test_a_run_without_a_fumble_has_the_ladder_of_its_event() -> None:
    assert run_ladder(EVENT, []) == build_ladder(EVENT)


def test_a_fumble_in_the_up_phase_asks_for_repair_letting_go_and_one_stack() -> None:
    ladder = run_ladder(EVENT, [fumble("x1", "up")])
    added = [r for r in ladder.statements if r.id.startswith("x1.")]
    assert [(r.rule, r.met, r.due) for r in added[:4]] == [
        ("fumble.repaired", "x1.repaired", "x1.onward"),
        ("fumble.let-go", "x1.let_go", "x1.onward"),
        ("fumble.one-stack", "x1.repaired", "x1.other_stack"),
        ("fumble.one-stack", "x1.cured", "stop"),
    ]
    assert (added[2].cure, added[3].cures) == ("x1.cured", "x1.one-stack")


def test_each_touch_of_another_stack_has_its_own_cure_and_follows_the_touch_before() -> None:
    ladder = run_ladder(EVENT, [fumble("x1", "up")])
    touches = [r for r in ladder.statements if r.kind is Kind.ONE_STACK]
    names = ["x1.one-stack", *(f"x1.one-stack-{n}" for n in range(2, MOST_TOUCHES + 1))]
    assert [touch.id for touch in touches] == names
    assert [touch.follows for touch in touches] == [None, *names[:-1]]
    for touch in touches:
        cure = ladder.statement(touch.cure)
        assert cure is not None
        assert cure.cures == touch.id
        assert cure.since == (touch.due, touch.met)
    assert len({touch.due for touch in touches}) == len(names)


def test_a_fumble_in_the_down_phase_asks_only_for_the_closing_position() -> None:
    ladder = run_ladder(EVENT, [fumble("x1", "down")])
    added = [r for r in ladder.statements if r.id.startswith("x1.")]
    assert [(r.rule, r.due) for r in added] == [("fumble.closed", "stop")]


@given(events(), st.data())
def test_fumbles_add_their_steps_before_those_of_the_stop(
    event: EventDefinition, data: st.DataObject
) -> None:
    stacks = st.sampled_from([s.id for s in stacks_of(event)])
    phases = st.sampled_from(["up", "down"])
    count = data.draw(st.integers(1, 3))
    fallen = [fumble(f"x{n}", data.draw(phases), data.draw(stacks)) for n in range(1, count + 1)]
    steps = run_ladder(event, fallen).checkpoints
    added = [step for step in steps if step.id.startswith("x")]
    assert [step for step in steps if step not in added] == list(build_ladder(event).checkpoints)
    assert len(added) == sum(2 + 2 * MOST_TOUCHES if f.phase == "up" else 1 for f in fallen)
    assert steps[steps.index(added[-1]) + 1].kind is Kind.FREE


def test_a_fumble_of_no_stack_of_the_event_adds_nothing() -> None:
    assert run_ladder(EVENT, [fumble("x1", "up", "f7.s1")]) == build_ladder(EVENT)
