"""How much of the footage a reviewer was shown, and what that is enough for.

Footage is *watched* where no stretch longer than the event file allows was left out: no run fits
into a shorter one, so that is enough to say how many runs there are. It is *seen whole* where every
frame was shown: only then may a mark be said never to appear.
"""

from collections.abc import Callable, Mapping
from fractions import Fraction

from sessions.evidence.frames import FrameSet
from sessions.plural import nouns, plural, were
from sessions.record.header import FootageFacts
from sessions.record.session import Session

NAMED = 3
"""Stretches that are named before the rest is only counted."""

StampOf = Callable[[int], int | None]
"""Gives the time stamp of a frame, where it is known."""


def unwatched(session: Session) -> FrameSet:
    """The unseen stretches that are too long to be left out, as frames."""
    footage = session.header.footage
    return too_long(
        session.unseen, footage, session.header.event.coverage.gap, stamps_known(session)
    )


def stamps_known(session: Session) -> StampOf:
    """The time stamps that a session's file tells: of frames shown, and of both ends."""
    footage = session.header.footage
    ends: Mapping[int, int | None] = {0: footage.first_pts, footage.frames - 1: footage.last_pts}

    def stamp(frame: int) -> int | None:
        found = session.stamps.get(frame)
        return ends.get(frame) if found is None else found

    return stamp


def too_long(unseen: FrameSet, footage: FootageFacts, gap: Fraction, stamp: StampOf) -> FrameSet:
    """The unseen stretches that last longer than ``gap`` seconds.

    A stretch lasts from the frame shown before it to the frame shown after it, by their time
    stamps; by the rate where that is steady and a stamp is not known. Where neither is known the
    stretch counts as too long, and so does one across a joint of two recordings: nobody knows how
    much time went by there.
    """
    last = footage.frames - 1

    def lasts(first: int, final: int) -> Fraction | None:
        ends = max(first - 1, 0), min(final + 1, last)
        if footage.joint_between(*ends) is not None:
            return None
        begun, ended = (stamp(frame) for frame in ends)
        if begun is not None and ended is not None:
            return footage.seconds(ended) - footage.seconds(begun)
        return None if footage.rate is None else (ends[1] - ends[0]) / footage.rate

    kept = (
        (first, final)
        for first, final in unseen.ranges
        if (seconds := lasts(first, final)) is None or seconds > gap
    )
    return FrameSet(tuple(kept))


def is_watched_before(left: FrameSet, frame: int) -> bool:
    """Whether no stretch of what is left to watch begins before a frame."""
    return not left.ranges or left.ranges[0][0] >= frame


def unwatched_words(left: FrameSet, frames: int) -> str:
    """How many of a footage's ``frames`` nobody watched, and which; empty where none are left."""
    return _left_words(left, frames, "watched")


def never_shown(unseen: FrameSet, frames: int) -> str:
    """How many of a footage's ``frames`` were never shown, and which; empty where all were."""
    return _left_words(unseen, frames, "shown")


def _left_words(frame_set: FrameSet, frames: int, done: str) -> str:
    left = len(frame_set)
    if not left:
        return ""
    where = f"{nouns(left, 'frame')} {_stretches(frame_set)}"
    return f"{left} of {plural(frames, 'frame')} {were(left)} never {done} ({where})"


def _stretches(unseen: FrameSet) -> str:
    named = ", ".join(
        str(first) if first == last else f"{first}-{last}" for first, last in unseen.ranges[:NAMED]
    )
    more = len(unseen.ranges) - NAMED
    return f"{named} and {more} more {nouns(more, 'stretch')}" if more > 0 else named
