"""A review: what one session says of a claim, short enough to keep for thousands of sessions."""

from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path

from sessions.errors import SessionError
from sessions.evidence.sighting import Sighting
from sessions.exact import micros
from sessions.record.header import Header, rfc3339
from sessions.record.recording import Recording, parse_session
from sessions.record.role import is_closed, role_of
from sessions.record.session import fold
from sessions.rules.rulebook import PICTURE, rules
from sessions.ruling.brackets import Outcome
from sessions.ruling.judge import rule
from sessions.ruling.ruling import Bracket, RuledRun, Ruling, Standing, may_have_read
from sessions.settling.opinions import clock_of

Frames = tuple[int, int]
"""The ends of a bracket, in frames."""


@dataclass(frozen=True, slots=True)
class ReviewedRun:
    """One counted run, or an attempt that was spent; rules by id, ``time`` as displayed.

    ``start`` and ``stop`` are the brackets of the clock's, where the footage shows both.
    ``run`` is the run that performed it. ``possible`` are the open bounds of what a display may
    have read that nobody could read.
    """

    number: int
    standing: Standing
    time: str | None = None
    broken: tuple[str, ...] = ()
    doubtful: tuple[str, ...] = ()
    start: Frames | None = None
    stop: Frames | None = None
    possible: tuple[str, str] | None = None
    run: int | None = None

    @property
    def name(self) -> str:
        """What it is called: by its run, where it was performed, else by its number."""
        return f"attempt {self.number}" if self.run is None else f"run {self.run}"

    def may_have_read(self, claimed: str) -> bool:
        """Whether the display may have read a time, in seconds, that nobody could read."""
        return may_have_read(self.time, self.standing, self.possible, claimed)

    @property
    def is_doubtful(self) -> bool:
        """Whether something in it is unproven, or its display is contradicted by the picture."""
        return bool(self.doubtful) or PICTURE in self.broken

    @property
    def fate(self) -> tuple[object, ...]:
        """What came of it: its standing, its time in microseconds and the rules it broke."""
        return self.standing, self.time and micros(self.time), self.broken

    def is_apart(self, other: "ReviewedRun") -> bool:
        """Whether the clock's start or stop was sighted so that one of the two must be wrong."""
        pairs = ((self.start, other.start), (self.stop, other.stop))
        return any(a and b and Sighting(*a).is_apart(Sighting(*b)) for a, b in pairs)


@dataclass(frozen=True, slots=True)
class ReviewSummary:
    """One session as ruled; ``problem`` says why there is none to speak of.

    ``unread`` is whether the file could not even be read, which may pass.
    ``amending`` is whether it was changed after it was finished, and not finished again since.
    ``made`` is whether nothing of what was tagged is left open that could change the best time;
    ``unwatched`` says how much of the footage nobody watched, empty where all was; ``not_shown`` is
    whether the footage fails to show something throughout; ``titles`` are of the league's own rules
    that were broken or are in doubt, by id; ``sha256`` is of the whole lines of
    the session file, ``footage_sha256`` of the footage; ``last_at`` is in UTC.
    """

    claim: str
    reviewer: str
    problem: str = ""
    unread: bool = False
    event: str = ""
    finished: bool = False
    amending: bool = False
    settles: tuple[str, ...] = ()
    made: bool = False
    best_time: str | None = None
    runs: tuple[ReviewedRun, ...] = ()
    unwatched: str = ""
    not_shown: bool = False
    titles: tuple[tuple[str, str], ...] = ()
    footage_sha256: str = ""
    sha256: str = ""
    last_at: str = ""

    def best_time_above(self, time: str) -> str | None:
        """The fastest time that stands and is slower than another, both as displayed."""
        standing = (r.time for r in self.runs if r.standing is Standing.STANDS and r.time)
        slower = (other for other in standing if micros(other) > micros(time))
        return min(slower, key=micros, default=None)

    def reading(self, time: str) -> tuple[ReviewedRun, ...]:
        """The runs that read a time; where none does, those that may have read it."""
        wanted = micros(time)
        read = tuple(run for run in self.runs if run.time and micros(run.time) == wanted)
        return read or tuple(run for run in self.runs if run.may_have_read(time))


def read_review(path: Path, claim: str, reviewer: str) -> ReviewSummary:
    """Judge one session file, which the docket keeps under this claim and reviewer."""
    try:
        recording = parse_session(path.read_bytes(), path)
        recording.check_complete(path)
    except OSError as error:
        problem = f"cannot be read ({error.strerror})"
        return ReviewSummary(claim=claim, reviewer=reviewer, problem=problem, unread=True)
    except SessionError as error:
        return ReviewSummary(claim=claim, reviewer=reviewer, problem=f"cannot be used: {error}")
    problem = _misplaced(recording.header, claim, reviewer)
    if problem:
        return ReviewSummary(claim=claim, reviewer=reviewer, problem=problem)
    return _review(recording, claim)


def _misplaced(header: Header, claim: str, reviewer: str) -> str:
    """What the file's name and its first line say against each other."""
    if header.claim.id not in (None, claim):
        return f"judges claim {header.claim.id}, not {claim} as its name says"
    if header.reviewer != reviewer:
        return f"is by {header.reviewer}, not by {reviewer} as its name says"
    return ""


def _review(recording: Recording, claim: str) -> ReviewSummary:
    session = fold(recording.header, recording.lines)
    role = role_of(session)
    return replace(
        summed_up(rule(session), claim, recording.header.event.name),
        finished=role.finished,
        amending=role.finished and not is_closed(session),
        settles=role.settles,
        sha256=recording.sha256,
        last_at=rfc3339(_last(recording)),
    )


def summed_up(ruling: Ruling, claim: str, event: str) -> ReviewSummary:
    """A ruling on a claim of an event, by its name, summed up as a review that is finished."""
    return ReviewSummary(
        claim=claim,
        reviewer=ruling.reviewer,
        event=event,
        finished=True,
        made=ruling.decided,
        best_time=ruling.best_time,
        runs=_runs(ruling),
        unwatched=ruling.unwatched,
        not_shown=bool(ruling.not_shown),
        titles=_titles(ruling),
        footage_sha256=ruling.footage.sha256,
    )


def _last(recording: Recording) -> datetime:
    return recording.lines[-1].at if recording.lines else recording.header.made


def _runs(ruling: Ruling) -> tuple[ReviewedRun, ...]:
    """Every attempt by its number: performed ones, and those that starting over spent."""
    cups = {cup.outcome for cup in ruling.cups}
    performed = [
        _run(run, run.number, cups) for run in ruling.runs if run.number is not None
    ]  # fmt: skip
    spent = [
        ReviewedRun(number=attempt.number, standing=Standing.SCRATCH, broken=(attempt.rule,))
        for attempt in ruling.spent
    ]
    return tuple(sorted(performed + spent, key=lambda run: run.number))


def _titles(ruling: Ruling) -> tuple[tuple[str, str], ...]:
    """The titles of the league's own rules that were broken or are in doubt."""
    odd = [f for run in ruling.runs for f in (*run.doubts, *run.with_outcome(Outcome.REFUTED))]
    return tuple(sorted({(f.rule, f.title) for f in odd if f.rule not in rules()}))


def _run(run: RuledRun, number: int, cups: set[Outcome]) -> ReviewedRun:
    clock = clock_of(run)
    is_open = clock.outcome.is_open
    return ReviewedRun(
        number=number,
        standing=run.standing,
        time=run.time,
        broken=_rules(run, cups, Outcome.REFUTED),
        doubtful=_rules(run, cups, Outcome.UNPROVEN),
        start=_frames(None if is_open else clock.met),
        stop=_frames(None if is_open else clock.due),
        possible=run.possible,
        run=run.run,
    )


def _frames(bracket: Bracket | None) -> Frames | None:
    if bracket is None or bracket.after is None or bracket.by is None:
        return None
    return bracket.after.frame, bracket.by.frame


def _rules(run: RuledRun, cups: set[Outcome], outcome: Outcome) -> tuple[str, ...]:
    """The rules that came out so in a run, cups included; each once, sorted."""
    found = {finding.rule for finding in run.with_outcome(outcome)}
    return tuple(sorted(found | ({"cup.mark"} if outcome in cups else set())))
