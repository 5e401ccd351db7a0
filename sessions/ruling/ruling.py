"""The ruling as data that says all of it; ``sessions.ruling.judge`` makes it.

Frames are counted from 0; ``time`` is seconds from the first frame as ``m:ss.mmm``, for people;
``pts`` is the exact time stamp in units of the footage's time base.
"""

from enum import StrEnum
from fractions import Fraction
from typing import Literal

from sessions.record.entries import NotShownWhat
from sessions.record.header import Claim, FootageFacts
from sessions.rules.rulebook import PICTURE
from sessions.ruling.brackets import Outcome
from sessions.ruling.timing import clock_text
from sessions.validation import Frozen


class Standing(StrEnum):
    """What is ruled of one run."""

    STANDS = "stands"
    SCRATCH = "scratch"
    VOID = "void"
    NOT_PROVEN = "not proven"
    OPEN = "open"
    UNCOUNTED = "uncounted"


def may_have_read(
    time: str | None, standing: Standing, possible: tuple[str, str] | None, claimed: str
) -> bool:
    """Whether a run that nobody could read may have read a time, in seconds, so far as it is ruled.

    So it is as well where nothing is shown by which that could be told.
    """
    if time is not None or standing not in (Standing.STANDS, Standing.NOT_PROVEN):
        return False
    if possible is None:
        return True
    low, high = map(Fraction, possible)
    return low < Fraction(claimed) < high


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
    """An instant: not yet in ``after``, surely so in ``by``; a missing end was not looked for.

    ``not_yet`` and ``so`` say what a frame shows before and after it, where there are words for it.
    """

    moment: str
    after: Place | None = None
    by: Place | None = None
    not_yet: str = ""
    so: str = ""


class RuledFinding(Frozen):
    """One checkpoint of a run as ruled: the rule, what was seen where, and what would be right.

    ``cure`` are the instants of what cured its fault, or was to: what was done, and the stop.
    """

    rule: str
    checkpoint: str
    title: str
    outcome: Outcome
    reason: str
    right: str
    source: str
    met: Bracket | None = None
    due: Bracket | None = None
    cure: tuple[Bracket, ...] = ()

    @property
    def brackets(self) -> tuple[Bracket, ...]:
        """Every instant that it rests on."""
        own = (bracket for bracket in (self.met, self.due) if bracket is not None)
        return (*own, *self.cure)


class Lacking(Frozen):
    """Something that the footage does not show in frames ``first`` to ``last``, and the reason.

    ``needed`` is the footage that would have shown it.
    """

    what: NotShownWhat
    title: str
    first: Place
    last: Place
    reason: str
    needed: str


class RuledRun(Frozen):
    """One run as ruled; ``number`` is its attempt number, ``by_picture`` open bounds in seconds.

    ``possible`` are the open bounds, exact fractions of a second, of what the display can have read
    by the picture, where nobody could read it. ``not_shown`` is what the footage lacks for it.
    """

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
    possible: tuple[str, str] | None = None
    not_shown: tuple[Lacking, ...] = ()

    @property
    def doubts(self) -> tuple[RuledFinding, ...]:
        """What the picture leaves unproven, and a display that it contradicts."""
        return tuple(
            f
            for f in self.findings
            if f.outcome is Outcome.UNPROVEN or (f.rule == PICTURE and f.outcome is Outcome.REFUTED)
        )

    def may_have_read(self, claimed: str) -> bool:
        """Whether the display may have read a time, in seconds, that nobody could read."""
        return may_have_read(self.time, self.standing, self.possible, claimed)

    def with_outcome(self, *outcomes: Outcome) -> tuple[RuledFinding, ...]:
        """The findings that came out so."""
        return tuple(f for f in self.findings if f.outcome in outcomes)


class SpentAttempt(Frozen):
    """An attempt that was never performed: starting over in ``by_run``, at ``at``, spent it."""

    number: int
    by_run: int
    at: Place
    rule: str
    reason: str
    right: str
    source: str


class RuledCup(Frozen):
    """One cup as ruled, and what would have been right."""

    cup: int
    outcome: Outcome
    at: Place | None
    detail: str
    right: str


class UsedBefore(Frozen):
    """Attempts that were used before the footage begins, and where that is known from."""

    attempts: int
    source: str


class Ruling(Frozen):
    """The whole ruling; ``made`` is whether nothing is left open that could change it.

    ``decided`` is whether nothing is left open of what was tagged, and ``unwatched`` says what of
    the footage nobody watched, empty where all was: a ruling that needs all of it is then not made.
    ``best_run`` is the best of the runs that were tagged. ``not_shown`` is what none of the footage
    shows. ``settles`` are the reviewers whose differences ``reviewer`` has settled; none of a
    review.
    """

    format: Literal["framecall-ruling"] = "framecall-ruling"
    version: Literal[1] = 1
    made: bool
    decided: bool
    unwatched: str
    summary: str
    best_run: int | None
    best_time: str | None
    faster_but_not_standing: tuple[int, ...]
    claimed_runs: tuple[int, ...]
    used_before: tuple[UsedBefore, ...] = ()
    not_shown: tuple[Lacking, ...] = ()
    spent: tuple[SpentAttempt, ...]
    footage: FootageFacts
    event: str
    claim: Claim
    reviewer: str
    settles: tuple[str, ...] = ()
    frames_seen: int
    frames_unseen: int
    never_shown: str
    runs: tuple[RuledRun, ...]
    cups: tuple[RuledCup, ...]
    problems: tuple[str, ...]
    cautions: tuple[str, ...]


CHILDREN = "Claimants may be children: pass on no more personal data than the claim needs."

CAUTIONS = (
    "This ruling is an aid to the officer; the league's own rules and appeal procedure prevail.",
    CHILDREN,
)
