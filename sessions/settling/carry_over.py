"""A reviewer's own tags on one claim, taken over for another claim on the same footage.

What was seen in the footage does not depend on the claim. Nothing is ever taken from another
reviewer, and only what was tagged before the review was finished: it was made blind, and what came
after may not have been.
"""

from collections.abc import Iterable

from sessions.record.entries import (
    AttemptsBefore,
    CaptureRate,
    CupsSeen,
    Entry,
    Finished,
    Fumble,
    Line,
    Look,
    NotShown,
    OtherFault,
    Played,
    Reading,
    ReadingAccepted,
    RunBegun,
    RunEnded,
    Shown,
    Sighted,
    StartedOver,
    TakenOver,
)
from sessions.record.header import Header
from sessions.record.role import role_of
from sessions.record.session import Session, living

FINDINGS = (
    RunBegun, RunEnded, Sighted, Look, Reading, Fumble, StartedOver, CupsSeen, ReadingAccepted,
    OtherFault, NotShown, AttemptsBefore, CaptureRate, Shown, Played,
)  # fmt: skip
"""The entries that a reviewer finds in the footage, or that say what was looked at."""


def is_tagged(lines: Iterable[Line]) -> bool:
    """Whether anything was ever tagged in a session, or taken over into it."""
    shown = (Shown, Played)
    return any(
        isinstance(line.entry, (TakenOver, *FINDINGS)) and not isinstance(line.entry, shown)
        for line in lines
    )


def may_take_over(source: Session, head: Header) -> bool:
    """Whether a session that begins with ``head`` may begin with the tags of ``source``.

    ``source`` must be of the same reviewer, footage and event as it is defined, finished, blind
    from its beginning to its end, on another claim, and no settling of reviews.
    """
    first, role = source.header, role_of(source)
    return (
        first.claim.id not in (None, head.claim.id)
        and (first.claim.time, first.claim.competitor) == (None, None)
        and first.reviewer == head.reviewer
        and first.footage.counts_as(head.footage)
        and first.event == head.event
        and role.finished
        and not role.settles
        and all(entry.blind for _, entry in _finishings(source))
    )


def taken_over(source: Session, sha256: str) -> tuple[Entry, ...]:
    """What the new session begins with: where it is from, and the findings when it was finished.

    ``sha256`` is of the whole lines of the source's file.
    """
    ends = min((seq for seq, _ in _finishings(source)), default=len(source.lines))
    origin = TakenOver(claim=source.header.claim.id or "", sha256=sha256)
    lines = living(source.lines[:ends])
    return (origin, *(line.entry for line in lines if isinstance(line.entry, FINDINGS)))


def _finishings(source: Session) -> list[tuple[int, Finished]]:
    """The living entries that say that the review is done, with their numbers."""
    return [(line.seq, line.entry) for line in source.live if isinstance(line.entry, Finished)]
