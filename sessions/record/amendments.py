"""What was changed in a review after it was finished, and why."""

from sessions.frozen import Frozen
from sessions.record.entries import Finished, Played, Reopened, Shown
from sessions.record.header import rfc3339
from sessions.record.session import Session

UNSAID = "not given"
"""The reason of changes from before reasons were asked for."""


class Amendment(Frozen):
    """Changes made to a finished review: from when on (UTC), why, and how many entries."""

    at: str
    reason: str
    entries: int


def amendments(session: Session) -> tuple[Amendment, ...]:
    """Every time that a finished review was changed, in order; what was only watched is no change.

    Entries count whether they were taken back later or not: what once stood after the review was
    finished is told.
    """
    found: list[Amendment] = []
    is_finished = False
    for line in session.lines:
        if isinstance(line.entry, Finished):
            is_finished = True
        elif not is_finished or isinstance(line.entry, Shown | Played):
            continue
        elif isinstance(line.entry, Reopened):
            found.append(Amendment(at=rfc3339(line.at), reason=line.entry.reason, entries=0))
        else:
            begun = Amendment(at=rfc3339(line.at), reason=UNSAID, entries=0)
            last = found.pop() if found else begun
            found.append(last.model_copy(update={"entries": last.entries + 1}))
    return tuple(amendment for amendment in found if amendment.entries)
