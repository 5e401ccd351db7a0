"""What is still to be looked at on the ladder of a run."""

from collections.abc import Iterator

from sessions.rules.ladder import Checkpoint, Marker
from sessions.ruling.checker import Checked
from sessions.ruling.order import is_contradicted
from sessions.ruling.statements import is_asked, statement_outcome


def due_checkpoints(checked: Checked) -> Iterator[Checkpoint]:
    """The checkpoints of a run that nobody has looked at yet, in the order of the ladder."""
    return (checkpoint for checkpoint in checked.ladder.checkpoints if is_due(checkpoint, checked))


def is_due(checkpoint: Checkpoint, checked: Checked) -> bool:
    """Whether a checkpoint still has to be looked at; a cure only once its fault is refuted.

    So also the next touch of another stack in a repair, once there was one before. What is
    contradicted by the order of the run's tags is to be looked at again.
    """
    if is_contradicted(checked.clashes, checkpoint):
        return True
    if isinstance(checkpoint, Marker):
        return not checked.brackets.is_sighted(checkpoint.id)
    if not is_asked(checked.brackets, checked.ladder, checkpoint):
        return False
    return statement_outcome(checked.brackets, checkpoint).is_open
