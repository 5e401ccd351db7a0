"""What is still to be looked at on the ladder of a run."""

from collections.abc import Iterator

from sessions.checker import Checked, Outcome, rung_outcome
from sessions.ladder import Marker, Rung, Step


def due_steps(checked: Checked) -> Iterator[Step]:
    """The steps of a run that nobody has looked at yet, in the order of the ladder."""
    return (step for step in checked.ladder.steps if is_due(step, checked))


def is_due(step: Step, checked: Checked) -> bool:
    """Whether a step still has to be looked at; a cure only once its fault is refuted."""
    if isinstance(step, Marker):
        return not checked.brackets.is_sighted(step.id)
    is_open = rung_outcome(checked.brackets, step).is_open
    if step.cures is None:
        return is_open
    fault = checked.ladder.step(step.cures)
    is_fault = isinstance(fault, Rung) and (
        rung_outcome(checked.brackets, fault) is Outcome.REFUTED
    )
    return is_fault and is_open
