"""What part a session plays among the reviews of a claim."""

from sessions.entries import Finished, Reopened, Settling
from sessions.review import Role
from sessions.session import Session


def role_of(session: Session) -> Role:
    """Whether a session is finished, and which reviews it settles."""
    entries = [line.entry for line in session.live]
    settled = {
        review.sha256
        for entry in entries
        if isinstance(entry, Settling)
        for review in entry.reviews
    }
    finished = any(isinstance(entry, Finished) for entry in entries)
    return Role(finished=finished, settles=tuple(sorted(settled)))


def is_closed(session: Session) -> bool:
    """Whether a session is finished, and was not reopened after that."""
    marks = (line.entry for line in session.live if isinstance(line.entry, Finished | Reopened))
    return isinstance(next(reversed([*marks]), None), Finished)
