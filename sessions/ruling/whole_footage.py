"""What is judged of all the footage: its attempts, how much of it was watched, and the cups.

Each timed run takes the next attempt number, each starting over spends one more.

Footage is *watched* where no stretch longer than the event file allows was left out: no run fits
into a shorter one, so that is enough to say how many runs there are. It is *seen whole* where every
frame was shown: only then may a mark be said never to appear.

One clear sight of its maker's mark clears a cup; only footage seen whole can void the runs in it. A
mark that could not be told in one place is not proven, though it was never found in another: what
may be a mark is no proof that there is none.
"""

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from fractions import Fraction

from sessions.evidence.frames import FrameSet
from sessions.plural import are, nouns, plural, were
from sessions.record.entries import CupsSeen, Spot
from sessions.record.header import FootageFacts
from sessions.record.session import Run, Session
from sessions.ruling.brackets import Outcome


@dataclass(frozen=True, slots=True)
class Attempt:
    """An attempt number: performed as ``run``, or spent as it was started over, which is ``at``."""

    number: int
    run: int
    at: Spot | None = None

    @property
    def spent(self) -> bool:
        """Whether starting over used it up, so that it was never performed."""
        return self.at is not None


def used_before(session: Session) -> int:
    """How many attempts were used before the footage begins; the most, where entries differ."""
    return max((entry.attempts for entry in session.attempts_before), default=0)


def count_attempts(runs: Iterable[Run], before: int = 0) -> tuple[Attempt, ...]:
    """The attempts of runs given in the order of the footage; others than attempts take none.

    ``before`` are those used before the footage begins. Starting over is counted once a frame:
    entered twice at one frame, it is the same.
    """
    attempts: list[Attempt] = []
    for run in runs:
        if not run.counts:
            continue
        attempts.append(Attempt(before + len(attempts) + 1, run.id))
        for at in run.restarts:
            attempts.append(Attempt(before + len(attempts) + 1, run.id, at))
    return tuple(attempts)


def number_of(run_id: int, attempts: Iterable[Attempt]) -> int | None:
    """The attempt number of a run, if it takes one."""
    return next((a.number for a in attempts if a.run == run_id and not a.spent), None)


def explain_number(run_id: int, session: Session, attempts: Iterable[Attempt]) -> str:
    """Why a run counts as the attempt that it counts as, in words."""
    counted = [run for run in session.runs if run.counts]
    place = [run.id for run in counted].index(run_id) + 1
    number = number_of(run_id, attempts)
    spent = [a for a in attempts if a.at is not None and number is not None and a.number < number]
    words = f"timed run {place} counts as attempt {number}"
    reasons = [
        f"{plural(entry.attempts, 'attempt')} came before this footage ({entry.source})"
        for entry in session.attempts_before
    ]
    if spent:
        times = "once" if len(spent) == 1 else f"{len(spent)} times"
        where = ", ".join(f"frame {a.at.frame} of run {a.run}" for a in spent if a.at is not None)
        reasons.append(
            f"the event was started over {times} before it ({where}), which spends an attempt "
            "each time"
        )
    return f"{words}, because {' and '.join(reasons)}" if reasons else words


def uses_of(number: int, attempts: Iterable[Attempt], runs: Iterable[Run], before: int) -> str:
    """What used up the attempts before a number: ``attempt 1 by run 1 from frame 80``."""
    begins = {run.id: run.begins.frame for run in runs if run.begins is not None}
    earlier = [a for a in attempts if a.number < number]
    parts = [f"attempt {n} before this footage" for n in range(1, before + 1)]
    parts += [
        f"attempt {a.number} by run {a.run} from frame {begins[a.run]}"
        if a.at is None
        else f"attempt {a.number} by starting over at frame {a.at.frame} of run {a.run}"
        for a in earlier
    ]
    return ", ".join(parts)


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
    return _left_words(left, frames, "never watched")


def never_shown(unseen: FrameSet, frames: int) -> str:
    """How many of a footage's ``frames`` were never shown, and which; empty where all were."""
    return _left_words(unseen, frames, "never shown")


def damaged_words(damaged: FrameSet, frames: int) -> str:
    """How many of a footage's ``frames`` are damaged, and which; empty where none is."""
    return _left_words(damaged, frames, "damaged", now=True)


def _left_words(frame_set: FrameSet, frames: int, done: str, *, now: bool = False) -> str:
    left = len(frame_set)
    if not left:
        return ""
    where, verb = f"{nouns(left, 'frame')} {_stretches(frame_set)}", are if now else were
    return f"{left} of {plural(frames, 'frame')} {verb(left)} {done} ({where})"


def _stretches(unseen: FrameSet) -> str:
    named = ", ".join(
        str(first) if first == last else f"{first}-{last}" for first, last in unseen.ranges[:NAMED]
    )
    more = len(unseen.ranges) - NAMED
    return f"{named} and {more} more {nouns(more, 'stretch')}" if more > 0 else named


@dataclass(frozen=True, slots=True)
class CupFinding:
    """One cup judged; ``at`` is the frame that decides it, where one does."""

    cup: int
    outcome: Outcome
    at: Spot | None
    detail: str


def check_cups(session: Session) -> tuple[CupFinding, ...]:
    """One finding for each cup of the event, numbered from 1 by where it stands."""
    return tuple(_check(session, cup) for cup in range(1, session.header.event.cups + 1))


def _check(session: Session, cup: int) -> CupFinding:
    said = {saw: list(_spots(session, cup, saw)) for saw in ("proven", "refuted", "unproven")}
    if said["proven"]:
        at = min(said["proven"], key=lambda spot: spot.frame)
        return CupFinding(cup, Outcome.PROVEN, at, "its mark was seen")
    if said["unproven"]:
        at = min(said["unproven"], key=lambda spot: spot.frame)
        return CupFinding(cup, Outcome.UNPROVEN, at, "the footage cannot show its mark")
    if said["refuted"]:
        if session.all_seen:
            return CupFinding(cup, Outcome.REFUTED, None, "its mark never appeared")
        unseen = len(session.unseen)
        left = f"{plural(unseen, 'frame')} {are(unseen)} still unseen"
        detail = f"its mark was not found, but {left}"
        return CupFinding(cup, Outcome.UNLOOKED, None, detail)
    return CupFinding(cup, Outcome.UNLOOKED, None, "its mark was not looked for")


def _spots(session: Session, cup: int, saw: str) -> Iterator[Spot]:
    entries: tuple[CupsSeen, ...] = session.cups
    return (entry.at for entry in entries if cup in entry.cups and entry.saw == saw)
