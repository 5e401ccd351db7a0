"""What a fumble adds to the ladder of its run.

In the up phase the stack must be put right, and let go, before going on; meanwhile no hand may rest
on another standing stack, unless that is cured after it and before the clock stops. Each touch
needs its own cure, and the next touch is asked for once one was found. In the down phase the cups
need only be back in the closing position. Common practice, no source.
"""

from collections.abc import Iterable, Iterator
from dataclasses import replace
from types import MappingProxyType

from sessions.record.entries import Fumble
from sessions.rules.events import EventDefinition, Hand
from sessions.rules.ladder import (
    Checkpoint,
    Kind,
    Ladder,
    Stack,
    Statement,
    build_ladder,
    deciding_hand,
    stacks_of,
    state,
)
from sessions.rules.moments import Moment, moment
from sessions.rules.relations import Relation

MOST_TOUCHES = 4
"""Touches of another stack in one repair that are each judged; a limit of this program."""


def run_ladder(event: EventDefinition, fumbles: Iterable[Fumble]) -> Ladder:
    """The event's ladder with the checkpoints that the fumbles of a run add, before the stop's."""
    base = build_ladder(event)
    moments = dict(base.moments)
    stacks = {stack.id: stack for stack in stacks_of(event)}
    added: list[Checkpoint] = []
    for fumble in fumbles:
        if fumble.stack in stacks:
            added.extend(_statements(fumble, stacks[fumble.stack], moments))
    at = next(i for i, checkpoint in enumerate(base.checkpoints) if checkpoint.kind is Kind.FREE)
    checkpoints = (*base.checkpoints[:at], *added, *base.checkpoints[at:])
    return Ladder(checkpoints, MappingProxyType(moments))


def _statements(fumble: Fumble, stack: Stack, moments: dict[str, Moment]) -> Iterator[Statement]:
    name = fumble.fumble

    def at(part: str, kind: str, hands: Hand | None = None) -> str:
        moment_id = f"{name}.{part}"
        moments[moment_id] = moment(moment_id, f"fumble.{kind}", hands, stack=stack.words)
        return moment_id

    def checkpoint(part: str, kind: Kind, rule: str, title: str, met: str, due: str) -> Statement:
        found = Statement(f"{name}.{part}", kind, rule, f"{title} ({name})", met, due)
        return state(moments, found)

    if fumble.phase == "down":
        met = at("closed", "closed")
        yield checkpoint("closed", Kind.REPAIRED, "fumble.closed", "Cups back", met, "stop")
        return
    right, onward = at("repaired", "repaired"), at("onward", "onward")
    clear = at("let_go", "let_go", deciding_hand("fumble.let-go", "met"))
    title = f"{stack.words.capitalize()} put right"
    yield checkpoint("repaired", Kind.REPAIRED, "fumble.repaired", title, right, onward)
    yield checkpoint("let-go", Kind.LET_GO, "fumble.let-go", "Let go after repair", clear, onward)
    rule, before = "fumble.one-stack", None
    for number in range(1, MOST_TOUCHES + 1):
        again = "" if number == 1 else f"-{number}"
        nth = "" if number == 1 else f", touch {number}"
        if number > 1:
            right = at(f"again{again}", "again")
        touched = "other_stack" if number == 1 else "touched"
        other = at(f"other_stack{again}", touched, deciding_hand(rule, "due"))
        cured = at(f"cured{again}", "cured")
        title = f"Hand off the other stack{nth}"
        touch = checkpoint(f"one-stack{again}", Kind.ONE_STACK, rule, title, right, other)
        cure = checkpoint(
            f"cured{again}", Kind.CURED, rule, f"Two-stack touch cured{nth}", cured, "stop"
        )
        yield replace(touch, cure=cure.id, follows=before)
        yield replace(cure, cures=touch.id, since=(other, right))
        before = touch.id


def fumble_relations(name: str, phase: str) -> Iterator[Relation]:
    """The order of the moments that a fumble adds; its frame shows that the stack has fallen."""
    fallen, right = (f"{name}.fallen", None), (f"{name}.repaired", None)
    if phase == "down":
        yield Relation(fallen, (f"{name}.closed", None), "cups fall before they are brought back")
        return
    yield Relation(fallen, right, "a stack falls before it is put right")
    clear = (f"{name}.let_go", Hand.LAST)
    why = "a stack falls before it is put right and let go of"
    yield Relation(fallen, clear, why, f"{name}.repaired")
    yield Relation(fallen, (f"{name}.cured", None), "a stack falls before it is built again")
    earlier = right, (f"{name}.other_stack", Hand.FIRST)
    for number in range(2, MOST_TOUCHES + 1):
        again = (f"{name}.again-{number}", None)
        touch = (f"{name}.other_stack-{number}", Hand.FIRST)
        yield Relation(earlier[0], again, "what is put right again was put right before")
        yield Relation(earlier[1], touch, "touches of another stack are counted as they come")
        earlier = again, touch
