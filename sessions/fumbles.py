"""What a fumble adds to the ladder of its run.

In the up phase the stack must be put right, and let go, before going on; meanwhile no hand may rest
on another standing stack, unless that is cured before the clock stops. In the down phase the cups
need only be back in the closing position. Common practice, no source.
"""

from collections.abc import Iterable, Iterator
from types import MappingProxyType

from sessions.entries import Fumble
from sessions.events import EventDefinition, Hand
from sessions.ladder import Kind, Ladder, Rung, Stack, Step, build_ladder, stacks_of
from sessions.moments import Moment


def run_ladder(event: EventDefinition, fumbles: Iterable[Fumble]) -> Ladder:
    """The event's ladder with the steps that the fumbles of a run add, before the stop's."""
    base = build_ladder(event)
    moments = dict(base.moments)
    stacks = {stack.id: stack for stack in stacks_of(event)}
    added: list[Step] = []
    for fumble in fumbles:
        if fumble.stack in stacks:
            added.extend(_rungs(fumble, stacks[fumble.stack], moments))
    at = next(i for i, step in enumerate(base.steps) if step.kind is Kind.FREE)
    steps = (*base.steps[:at], *added, *base.steps[at:])
    return Ladder(steps, MappingProxyType(moments))


def _rungs(fumble: Fumble, stack: Stack, moments: dict[str, Moment]) -> Iterator[Rung]:
    name = fumble.fumble

    def moment(part: str, words: str, hands: Hand | None = None) -> str:
        moment_id = f"{name}.{part}"
        moments[moment_id] = Moment(moment_id, words, hands)
        return moment_id

    def rung(part: str, kind: Kind, rule: str, title: str, met: str, due: str, **cure: str) -> Rung:
        return Rung(f"{name}.{part}", kind, rule, f"{title} ({name})", met, due, **cure)

    if fumble.phase == "down":
        met = moment("closed", f"the cups of {stack.words} are back in the closing position")
        yield rung("closed", Kind.REPAIRED, "fumble.closed", "Cups back", met, "stop")
        return
    right = moment("repaired", f"{stack.words} is put right after its fumble")
    clear = moment("let_go", f"both hands are clear of {stack.words} after its repair", Hand.LAST)
    other = moment("other_stack", "a hand rests on another standing stack", Hand.FIRST)
    cured = moment("cured", f"{stack.words} is down and built again, the other stack untouched")
    onward = moment("onward", "the stacking goes on")
    title = f"{stack.words.capitalize()} put right"
    yield rung("repaired", Kind.REPAIRED, "fumble.repaired", title, right, onward)
    yield rung("let-go", Kind.LET_GO, "fumble.let-go", "Let go after repair", clear, onward)
    one, cure = f"{name}.one-stack", f"{name}.cured"
    title = "Hand off the other stack"
    yield rung("one-stack", Kind.ONE_STACK, "fumble.one-stack", title, right, other, cure=cure)
    title = "Two-stack touch cured"
    yield rung("cured", Kind.CURED, "fumble.one-stack", title, cured, "stop", cures=one)
