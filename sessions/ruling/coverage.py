"""How much of the footage a reviewer was shown, in words."""

from sessions.evidence.frames import FrameSet
from sessions.plural import nouns, plural, were
from sessions.record.session import Session

NAMED = 3
"""Stretches that are named before the rest is only counted."""


def unseen_words(session: Session) -> str:
    """How much was never shown by what the session has written down; empty where all was."""
    return never_shown(session.unseen, session.header.footage.frames)


def never_shown(unseen: FrameSet, frames: int) -> str:
    """How many of a footage's ``frames`` were never shown, and which; empty where all were."""
    left = len(unseen)
    if not left:
        return ""
    where = f"{nouns(left, 'frame')} {_stretches(unseen)}"
    return f"{left} of {plural(frames, 'frame')} {were(left)} never shown ({where})"


def _stretches(unseen: FrameSet) -> str:
    named = ", ".join(
        str(first) if first == last else f"{first}-{last}" for first, last in unseen.ranges[:NAMED]
    )
    more = len(unseen.ranges) - NAMED
    return f"{named} and {more} more {nouns(more, 'stretch')}" if more > 0 else named
