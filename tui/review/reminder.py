"""Reminds, once a run, that contact and movement cannot be judged at a coarse picture."""

from sessions.ladder import Kind
from tui.review.desk import Desk

FINE_KINDS = frozenset({Kind.GRIP, Kind.STILL, Kind.FREE, Kind.LET_GO, Kind.SINGLES})
"""Kinds of steps that are about contact or movement."""


class Reminder:
    """Never blocks: it only adds a sentence to what is said."""

    def __init__(self) -> None:
        self._reminded: set[int] = set()

    def before(self, command_id: str | None, desk: Desk, doubt: str) -> str:
        """What to add when a command is given; ``doubt`` says why contact cannot be judged now."""
        if desk.run_id is None or desk.run_id in self._reminded:
            return ""
        if _kind(command_id or "", desk) not in FINE_KINDS:
            return ""
        return doubt

    def said(self, run: int | None) -> None:
        """The reminder was shown in a run, and is not shown in it again."""
        if run is not None:
            self._reminded.add(run)


def _kind(command_id: str, desk: Desk) -> Kind | None:
    """The kind of step that a command tags."""
    answer, _, kind = command_id.partition(".")
    if answer == "due":
        return desk.step.kind if desk.step is not None else None
    tags = answer in ("kept", "broken", "unclear")
    return Kind(kind) if tags else None
