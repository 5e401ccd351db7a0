"""Undo and redo, derived from the journal alone, so that they survive a crash."""

from collections.abc import Sequence

from sessions.record.entries import (
    Finished,
    Line,
    Played,
    Reopened,
    Retracted,
    Settling,
    Shown,
    TakenOver,
)
from sessions.record.session import dead_lines

NEVER_UNDONE = (Shown, Played, Finished, Reopened, Settling, TakenOver)
"""Entries that say how a review was made, which no step back changes."""


def next_undo(lines: Sequence[Line]) -> Line | None:
    """The last living deed; what says how the review was made is never undone."""
    return next((line for line in _living(lines) if not _is_step(line)), None)


def next_redo(lines: Sequence[Line]) -> Line | None:
    """The last living step back, unless something new was done after it."""
    for line in _living(lines):
        if not _is_step(line):
            return None
        if not _is_step_forth(line, lines):
            return line
    return None


def _living(lines: Sequence[Line]) -> list[Line]:
    """Living lines, the last first, without those that are never undone."""
    dead = dead_lines(lines)
    return [
        line
        for line in reversed(lines)
        if line.seq not in dead and not isinstance(line.entry, NEVER_UNDONE)
    ]


def _is_step(line: Line) -> bool:
    """Whether a line is a step back or forth in the history."""
    return isinstance(line.entry, Retracted) and line.entry.undo


def _is_step_forth(line: Line, lines: Sequence[Line]) -> bool:
    entry = line.entry
    return isinstance(entry, Retracted) and _is_step(lines[entry.seq - 1])
