"""Finding a reviewer's own finished review of the same footage, and beginning a session with it."""

from dataclasses import dataclass
from pathlib import Path

from sessions.docket.docket import Docket
from sessions.docket.review_summary import ReviewSummary
from sessions.errors import SessionError
from sessions.record.header import Header
from sessions.record.journal import Journal, read_session
from sessions.record.session import Session, fold
from sessions.record.wholefile import write_whole
from sessions.settling.carry_over import may_take_over, taken_over

PART = ".begun"
"""Ends the name of a session while it is written, until it is whole."""


@dataclass(frozen=True)
class OwnLook:
    """A session that may be taken over, of which claim it is, and the SHA-256 of its lines."""

    claim: str
    session: Session
    sha256: str


def find_own_look(docket: Docket, head: Header) -> OwnLook | None:
    """The reviewer's own last finished look at the footage of ``head`` on another claim."""
    reviews = (review for placed in docket.placed for review in placed.state.reviews)
    alike = [r for r in reviews if r.finished and _is_alike(r, head)]
    for review in sorted(alike, key=lambda review: review.last_at, reverse=True):
        own = _read(docket.folder.session(review.claim, review.reviewer), review.claim)
        if own is not None and may_take_over(own.session, head):
            return own
    return None


def begin_with(path: Path, head: Header, own: OwnLook) -> None:
    """Begin a session with the tags of an own look; it is there whole, or not at all.

    Raises SessionError where the disk does not take it.
    """
    part = path.with_name(path.name + PART)
    try:
        part.unlink(missing_ok=True)
        with Journal.create(part, head) as journal:
            for entry in taken_over(own.session, own.sha256):
                journal.append(entry)
        write_whole(path, part.read_bytes())
        part.unlink()
    except OSError as error:
        raise SessionError(
            f"The session {path} cannot be begun ({error.strerror}); "
            "check the disk and who may write to it."
        ) from None


def _is_alike(review: ReviewSummary, head: Header) -> bool:
    return (
        review.reviewer == head.reviewer
        and review.footage_sha256 == head.footage.sha256
        and review.claim != head.claim.id
        and not review.settles
    )


def _read(path: Path, claim: str) -> OwnLook | None:
    """A session as it is now; nothing where it cannot be read any more."""
    try:
        recording = read_session(path)
    except SessionError:
        return None
    return OwnLook(claim, fold(recording.header, recording.lines), recording.sha256)
