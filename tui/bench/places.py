"""Places to go to: typed frames and times, tags, unseen footage."""

import math
import re
from collections.abc import Callable
from fractions import Fraction
from functools import partial

from sessions.errors import EntryRefused
from sessions.plural import are, plural
from sessions.record.entries import Look, Sighted, Spot
from sessions.ruling.timing import clock_text
from sessions.ruling.whole_footage import too_long
from tui.bench.review import Review

_TIME = re.compile(r"(?:([0-9]{1,5}):)?([0-9]{1,9}(?:\.[0-9]{1,9})?)(s?)")

_CODE = re.compile(r"[0-9]{1,2}:[0-9]{1,2}:[0-9]{1,2}[:;][0-9]{1,3}")
"""A time code as the top line shows it: hours, minutes, seconds, frames."""


def parse_place(
    text: str, here: int, frame_at: Callable[[Fraction], int], frame_of: Callable[[str], int]
) -> int:
    """A frame from what was typed: ``412``, ``+30``, ``1:23.5``, ``83.5s`` or ``00:00:03:12``.

    ``frame_at`` gives the frame at a time in seconds from the first, ``frame_of`` that of a time
    code. Raises EntryRefused.
    """
    typed = text.strip().replace(",", ".")
    if _CODE.fullmatch(typed):
        return frame_of(typed)
    if re.fullmatch(r"[+-]\d{1,9}", typed):
        return here + int(typed)
    if re.fullmatch(r"[0-9]{1,9}", typed):
        return int(typed)
    match = _TIME.fullmatch(typed)
    if match is None or not (match[1] or match[3] or "." in match[2]):
        raise EntryRefused(
            f'"{text}" is no place: type a frame (412), frames on or back (+30), a time (1:23.5, '
            "83.5s) or a time code (00:00:03:12)."
        )
    return frame_at(int(match[1] or 0) * 60 + Fraction(match[2]))


def go_to_place(review: Review, text: str) -> str | None:
    """Go to what was typed; raises EntryRefused where that is no place in this footage.

    While the footage is still being read, a place beyond what is known waits, and it says so.
    """
    if review.waits:
        return _go_when_read(review, text)
    frame = parse_place(text, review.frame, partial(_frame_at, review), partial(_frame_of, review))
    last = review.frames - 1
    if not 0 <= frame <= last:
        raise EntryRefused(f"There is no frame {frame}: the frames are 0 to {last}.")
    review.go(frame)
    return None


def _go_when_read(review: Review, text: str) -> str | None:
    """Go to a place as soon as the footage is read as far as that."""
    known = review.frames - 1

    def frame_at(seconds: Fraction) -> int:
        last = review.session.header.footage.seconds(review.stamp(known))
        return review.frame_at(seconds) if seconds <= last else known + 1

    def frame_of(_: str) -> int:
        return known + 1  # the rate is known once all of it is read

    frame = parse_place(text, review.frame, frame_at, frame_of)
    if 0 <= frame <= known:
        review.go(frame)
        return None
    if frame < 0:
        raise EntryRefused(f"There is no frame {frame}: the first is 0.")
    is_relative = text.strip()[:1] in "+-"
    review.awaited_place = str(frame) if is_relative else text
    return (
        f"{review.awaited_place} has not been read yet ({review.progress()}): it is shown as soon "
        "as it is; any move takes that back."
    )


def go_where_awaited(review: Review) -> str | None:
    """Try again to go to the place that was waited for, if one was."""
    place = review.awaited_place
    return go_to_place(review, place) if place else None


def _frame_of(review: Review, code: str) -> int:
    footage = review.session.header.footage
    if footage.timecode(0) is None:
        raise EntryRefused("This footage has no time code, as its rate is not steady: type a time.")
    frame = footage.frame_of(code)
    if frame is None or frame >= review.frames:
        last = footage.timecode(review.frames - 1)
        raise EntryRefused(f"No frame has the time code {code}: the last is {last}.")
    return frame


def _frame_at(review: Review, seconds: Fraction) -> int:
    """The frame at a time; that of the last frame may be typed as it is shown, rounded up."""
    last = review.session.header.footage.seconds(review.stamp(review.frames - 1))
    if seconds > Fraction(math.ceil(last * 1000), 1000):
        raise EntryRefused(
            f"There is no frame at {clock_text(seconds)}: the last, {review.frames - 1}, is at "
            f"{clock_text(last)}."
        )
    return review.frame_at(seconds)


def tagged_frames(review: Review) -> list[int]:
    """Every frame that a living tag of any run names, sorted."""
    marks = [line.entry for line in review.session.live if isinstance(line.entry, Look | Sighted)]
    return sorted({mark.by.frame for mark in marks})


def go_where_left(review: Review) -> None:
    """Go to the frame of the last entry that still holds; where there is none, stay."""
    for line in sorted(review.session.live, key=lambda line: line.seq, reverse=True):
        named = (getattr(line.entry, name, None) for name in ("by", "at", "ends", "begins"))
        spot = next((spot for spot in named if isinstance(spot, Spot)), None)
        if spot is not None:
            review.go(spot.frame)
            return


def go_to_tag(review: Review, direction: int) -> str | None:
    """Go to the next or previous tagged frame."""
    frames = tagged_frames(review)
    ahead = [f for f in frames if (f - review.frame) * direction > 0]
    if not ahead:
        where = "after" if direction > 0 else "before"
        raise EntryRefused(f"There is no tag {where} this frame.")
    review.go(min(ahead) if direction > 0 else max(ahead))
    return None


def next_unwatched(review: Review) -> tuple[int, int] | None:
    """The next stretch that nobody watched, from here on and then from the beginning; its frames.

    Stretches that are too short for a run are left out.
    """
    session = review.session
    unseen = review.seen.all.missing(review.frames)
    footage, gap = session.header.footage, session.header.event.coverage.gap
    left = too_long(unseen, footage, gap, review.stamp).ranges
    ahead = [(first, last) for first, last in left if last > review.frame]
    return next(iter(ahead or left), None)


def go_on_watching(review: Review) -> str:
    """Go to the next stretch that nobody watched; raises EntryRefused where there is none."""
    stretch = next_unwatched(review)
    if stretch is None:
        review.check_read()
        raise EntryRefused("All of the footage has been watched.")
    first, last = stretch
    if not first <= review.frame <= last:
        review.go(first)
    return f"Not watched yet: frames {first}-{last}."


def go_to_unseen(review: Review) -> str | None:
    """Go to the next stretch of footage that was never shown."""
    unseen = review.seen.all.missing(review.frames)
    frame = unseen.next_from(review.frame + 1)
    if frame is None:
        frame = unseen.next_from(0)
    if frame is None:
        review.check_read()
        return "All of the footage has been shown."
    review.go(frame)
    return f"{plural(len(unseen), 'frame')} {are(len(unseen))} still unseen."
