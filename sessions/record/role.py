"""What part a session plays among the reviews of a claim."""

from dataclasses import dataclass

from sessions.record.entries import Finished, Reopened, SettledReview, Settling
from sessions.record.session import Session


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
