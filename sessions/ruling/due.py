"""What is still to be looked at on the ladder of a run."""

from collections.abc import Iterator

from sessions.rules.ladder import Checkpoint, Marker, Statement
from sessions.ruling.checker import Checked, Outcome, statement_outcome


def due_checkpoints(checked: Checked) -> Iterator[Checkpoint]:
    """The checkpoints of a run that nobody has looked at yet, in the order of the ladder."""
    return (checkpoint for checkpoint in checked.ladder.checkpoints if is_due(checkpoint, checked))


def is_due(checkpoint: Checkpoint, checked: Checked) -> bool:
    """Whether a checkpoint still has to be looked at; a cure only once its fault is refuted."""
    if isinstance(checkpoint, Marker):
        return not checked.brackets.is_sighted(checkpoint.id)
    is_open = statement_outcome(checked.brackets, checkpoint).is_open
    if checkpoint.cures is None:
        return is_open
    fault = checked.ladder.checkpoint(checkpoint.cures)
    is_fault = isinstance(fault, Statement) and (
        statement_outcome(checked.brackets, fault) is Outcome.REFUTED
    )
    return is_fault and is_open
