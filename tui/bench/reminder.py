"""Reminds, once a run, that contact and movement cannot be judged at a coarse picture."""

from sessions.rules.ladder import Kind
from tui.bench.review import Review

FINE_KINDS = frozenset({Kind.GRIP, Kind.STILL, Kind.FREE, Kind.LET_GO, Kind.SINGLES})
"""Kinds of checkpoints that are about contact or movement."""


class Reminder:
    """Never blocks: it only adds a sentence to what is said."""

    def __init__(self) -> None:
        self._reminded: set[int] = set()

    def before(self, command_id: str | None, review: Review, doubt: str) -> str:
        """What to add when a command is given; ``doubt`` says why contact cannot be judged now."""
        if review.run_id is None or review.run_id in self._reminded:
            return ""
        if _kind(command_id or "", review) not in FINE_KINDS:
            return ""
        return doubt

    def said(self, run: int | None) -> None:
        """The reminder was shown in a run, and is not shown in it again."""
        if run is not None:
            self._reminded.add(run)


def _kind(command_id: str, review: Review) -> Kind | None:
    """The kind of checkpoint that a command tags."""
    answer, _, kind = command_id.partition(".")
    if answer == "due":
        return review.checkpoint.kind if review.checkpoint is not None else None
    tags = answer in ("in_order", "fault", "cannot_tell")
    return Kind(kind) if tags else None
