"""How much of the footage a reviewer was shown, in words."""

from sessions.counted import counted, were
from sessions.session import Session


def unseen_words(session: Session) -> str:
    """How many frames were never shown, and the first stretch of them; empty where all were."""
    unseen = session.unseen
    if not unseen.ranges:
        return ""
    (first, last), *others = unseen.ranges
    where = f"frame {first}" if first == last else f"frames {first} to {last}"
    told = f"first {where}" if others else where
    total = session.header.footage.frames
    left = len(unseen)
    return f"{left} of {counted(total, 'frame')} {were(left)} never shown ({told})"
