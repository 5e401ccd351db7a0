"""What a fumble adds to the ladder of its run.

In the up phase the stack must be put right, and let go, before going on; meanwhile no hand may rest
on another standing stack, unless that is cured before the clock stops. In the down phase the cups
need only be back in the closing position. Common practice, no source.
"""

from collections.abc import Iterable, Iterator
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
    stacks_of,
)
from sessions.rules.moments import Moment


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

    def moment(part: str, words: str, hands: Hand | None = None) -> str:
        moment_id = f"{name}.{part}"
        moments[moment_id] = Moment(moment_id, words, hands)
        return moment_id

    def checkpoint(
        part: str, kind: Kind, rule: str, title: str, met: str, due: str, **cure: str
    ) -> Statement:
        return Statement(f"{name}.{part}", kind, rule, f"{title} ({name})", met, due, **cure)

    if fumble.phase == "down":
        met = moment("closed", f"the cups of {stack.words} are back in the closing position")
        yield checkpoint("closed", Kind.REPAIRED, "fumble.closed", "Cups back", met, "stop")
        return
    right = moment("repaired", f"{stack.words} is put right after its fumble")
    clear = moment("let_go", f"both hands are clear of {stack.words} after its repair", Hand.LAST)
    other = moment("other_stack", "a hand rests on another standing stack", Hand.FIRST)
    cured = moment("cured", f"{stack.words} is down and built again, the other stack untouched")
    onward = moment("onward", "the stacking goes on")
    title = f"{stack.words.capitalize()} put right"
    yield checkpoint("repaired", Kind.REPAIRED, "fumble.repaired", title, right, onward)
    yield checkpoint("let-go", Kind.LET_GO, "fumble.let-go", "Let go after repair", clear, onward)
    one, cure = f"{name}.one-stack", f"{name}.cured"
    title = "Hand off the other stack"
    yield checkpoint(
        "one-stack", Kind.ONE_STACK, "fumble.one-stack", title, right, other, cure=cure
    )
    title = "Two-stack touch cured"
    yield checkpoint("cured", Kind.CURED, "fumble.one-stack", title, cured, "stop", cures=one)
