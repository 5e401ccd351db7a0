"""What part a session plays among the reviews of a claim."""

from dataclasses import dataclass

from sessions.entries import Finished, Reopened, Settling
from sessions.session import Session


@dataclass(frozen=True, slots=True)
class Role:
    """What part a session plays; ``settles`` holds the SHA-256 of the reviews that it settles."""

    finished: bool = False
    settles: tuple[str, ...] = ()


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
