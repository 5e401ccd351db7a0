"""The ruling as data that says all of it; ``sessions.ruling.judge`` makes it.

Frames are counted from 0; ``time`` is seconds from the first frame as ``m:ss.mmm``, for people;
``pts`` is the exact time stamp in units of the footage's time base.
"""

from enum import StrEnum
from typing import Literal

from sessions.frozen import Frozen
from sessions.record.header import Claim, FootageFacts
from sessions.ruling.checker import Outcome
from sessions.ruling.timing import clock_text


class Standing(StrEnum):
    """What is ruled of one run."""

    STANDS = "stands"
    SCRATCH = "scratch"
    VOID = "void"
    OPEN = "open"
    UNCOUNTED = "uncounted"


class Place(Frozen):
    """A frame with its time stamp, its time in the footage and, where it has one, its time code."""

    frame: int
    pts: int | None = None
    time: str | None = None
    timecode: str | None = None


def place_of(facts: FootageFacts, frame: int, pts: int | None) -> Place:
    """A frame with its time, where its time stamp is known, and its time code, where it has one."""
    time = None if pts is None else clock_text(facts.seconds(pts))
    return Place(frame=frame, pts=pts, time=time, timecode=facts.timecode(frame))


class Bracket(Frozen):
    """An instant: not yet in ``after``, surely so in ``by``; a missing end was not looked for."""

    moment: str
    after: Place | None = None
    by: Place | None = None


class RuledFinding(Frozen):
    """One checkpoint of a run as ruled: the rule, what was seen where, and what would be right."""

    rule: str
    checkpoint: str
    title: str
    outcome: Outcome
    reason: str
    right: str
    met: Bracket | None = None
    due: Bracket | None = None


class RuledRun(Frozen):
    """One run as ruled; ``number`` is its attempt number, ``by_picture`` open bounds in seconds."""

    run: int
    number: int | None
    counted_as: str
    sort: str
    standing: Standing
    time: str | None
    by_picture: tuple[str, str] | None
    uncertainty: str | None
    begins: Place | None
    ends: Place | None
    findings: tuple[RuledFinding, ...]

    def with_outcome(self, *outcomes: Outcome) -> tuple[RuledFinding, ...]:
        """The findings that came out so."""
        return tuple(f for f in self.findings if f.outcome in outcomes)


class SpentAttempt(Frozen):
    """An attempt that was never performed: starting over in ``by_run`` spent it."""

    number: int
    by_run: int
    rule: str
    reason: str
    right: str


class RuledCup(Frozen):
    """One cup as ruled."""

    cup: int
    outcome: Outcome
    at: Place | None
    detail: str


class Ruling(Frozen):
    """The whole ruling; ``made`` is whether nothing is left open that could change it.

    ``settles`` are the reviewers whose differences ``reviewer`` has settled; none of a review.
    """

    format: Literal["framecall-ruling"] = "framecall-ruling"
    version: Literal[1] = 1
    made: bool
    summary: str
    best_run: int | None
    best_time: str | None
    faster_but_not_standing: tuple[int, ...]
    claimed_runs: tuple[int, ...]
    spent: tuple[SpentAttempt, ...]
    footage: FootageFacts
    event: str
    claim: Claim
    reviewer: str
    settles: tuple[str, ...] = ()
    frames_seen: int
    frames_unseen: int
    runs: tuple[RuledRun, ...]
    cups: tuple[RuledCup, ...]
    problems: tuple[str, ...]
    cautions: tuple[str, ...]


CHILDREN = "Claimants may be children: pass on no more personal data than the claim needs."

CAUTIONS = (
    "This ruling is an aid to the officer; the league's own rules and appeal procedure prevail.",
    CHILDREN,
)
