"""Undo and redo, derived from the journal alone, so that they survive a crash."""

from collections.abc import Sequence

from sessions.entries import Line, Retracted, Shown
from sessions.session import dead_lines


def next_undo(lines: Sequence[Line]) -> Line | None:
    """The last living entry that a person made; what was shown is never undone."""
    dead = dead_lines(lines)
    return next(
        (
            line
            for line in reversed(lines)
            if line.seq not in dead and not isinstance(line.entry, Shown | Retracted)
        ),
        None,
    )


def next_redo(lines: Sequence[Line]) -> Line | None:
    """The last living retraction, unless something new was done after it."""
    dead = dead_lines(lines)
    for line in reversed(lines):
        if line.seq in dead or isinstance(line.entry, Shown):
            continue
        if not isinstance(line.entry, Retracted):
            return None
        if not _is_revival(line, lines):
            return line
    return None


def _is_revival(line: Line, lines: Sequence[Line]) -> bool:
    """Whether a retraction takes back another retraction: that is a redo, not an undo."""
    entry = line.entry
    return isinstance(entry, Retracted) and isinstance(lines[entry.seq - 1].entry, Retracted)
