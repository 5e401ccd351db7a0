"""What part a session plays among the reviews of a claim, and what was changed once it was done."""

from dataclasses import dataclass

from sessions.record.entries import Finished, Played, Reopened, SettledReview, Settling, Shown
from sessions.record.header import rfc3339
from sessions.record.session import Session
from sessions.validation import Frozen


@dataclass(frozen=True, slots=True)
class Role:
    """What part a session plays; ``settles`` holds the SHA-256 of the reviews that it settles."""

    finished: bool = False
    settles: tuple[str, ...] = ()


def role_of(session: Session) -> Role:
    """Whether a session is finished, and which reviews it settles."""
    settled = {review.sha256 for review in settled_reviews(session)}
    finished = any(isinstance(line.entry, Finished) for line in session.milestones)
    return Role(finished=finished, settles=tuple(sorted(settled)))


def settled_reviews(session: Session) -> tuple[SettledReview, ...]:
    """The reviews whose differences a session settles, by reviewer; none where it is a review."""
    entries = (line.entry for line in session.milestones)
    found = {r for entry in entries if isinstance(entry, Settling) for r in entry.reviews}
    return tuple(sorted(found, key=lambda review: (review.reviewer, review.sha256)))


def is_closed(session: Session) -> bool:
    """Whether a session is finished, and was not reopened after that."""
    marks = (
        line.entry for line in session.milestones if isinstance(line.entry, Finished | Reopened)
    )
    return isinstance(next(reversed([*marks]), None), Finished)


# -- what was changed in a review after it was finished, and why


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
