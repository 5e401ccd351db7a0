"""The judge: a pure function from a session to its ruling."""

from collections.abc import Callable
from fractions import Fraction
from itertools import pairwise

from sessions.evidence.sighting import Sighting
from sessions.plural import plural
from sessions.record.entries import Spot
from sessions.record.role import settled_reviews
from sessions.record.session import Run, Session
from sessions.rules.rulebook import PICTURE, rules
from sessions.ruling.attempts import count_attempts, explain_number, number_of
from sessions.ruling.checker import Checked, CheckedRuns, Finding, Outcome
from sessions.ruling.coverage import unseen_words
from sessions.ruling.equipment import CupFinding, check_cups
from sessions.ruling.ruling import (
    CAUTIONS,
    Bracket,
    Place,
    RuledCup,
    RuledFinding,
    RuledRun,
    Ruling,
    SpentAttempt,
    Standing,
    place_of,
)
from sessions.ruling.timing import seconds_text


def rule(session: Session) -> Ruling:
    """Rule on everything that a session says."""
    return JudgedRuns().rule(session)


class JudgedRuns:
    """Rules on a session as it grows, and judges each time only the runs that changed.

    A ruled run follows from its findings, its place in the count and the cups: where none of these
    changed, it is taken over.
    """

    def __init__(self) -> None:
        self._checked = CheckedRuns()
        self._ruled: dict[int, tuple[tuple[Checked, object], RuledRun]] = {}

    def check(self, session: Session, run: Run) -> Checked:
        """The findings of one run of a session."""
        return self._checked.check(session, run)

    def rule(self, session: Session) -> Ruling:
        """Rule on everything that a session says; its header is that of the sessions before."""
        ruling = _Judge(session, self).ruling()
        self._checked.forget_all_but(session.runs)
        return ruling

    def ruled(self, checked: Checked, rest: object, make: Callable[[], RuledRun]) -> RuledRun:
        """A run as it was ruled before, where nothing that it follows from changed; else made."""
        before, ruled = self._ruled.get(checked.run.id, (None, None))
        if ruled is None or before is None or before[0] is not checked or before[1] != rest:
            ruled = make()
            self._ruled[checked.run.id] = (checked, rest), ruled
        return ruled


class _Judge:
    def __init__(self, session: Session, judged: JudgedRuns) -> None:
        self.session = session
        self._judged = judged
        self.header = session.header
        self._places: dict[tuple[int, int | None], Place] = {}
        self.attempts = count_attempts(session.runs)
        self.cups = check_cups(session)
        self.runs = tuple(self._run(run) for run in session.runs)

    def ruling(self) -> Ruling:
        best = self._best()
        claimed = self._claimed()
        made = self._made(best, claimed)
        footage = self.header.footage
        return Ruling(
            made=made,
            summary=self._summary(best, made),
            best_run=best.run if best else None,
            best_time=best.time if best else None,
            faster_but_not_standing=tuple(r.run for r in self._faster_than(best)),
            claimed_runs=tuple(r.run for r in claimed),
            spent=self._spent(),
            footage=footage,
            event=self.header.event.title,
            claim=self.header.claim,
            reviewer=self.header.reviewer,
            settles=tuple(r.reviewer for r in settled_reviews(self.session)),
            frames_seen=footage.frames - len(self.session.unseen),
            frames_unseen=len(self.session.unseen),
            runs=self.runs,
            cups=tuple(self._cup(cup) for cup in self.cups),
            problems=self._problems(),
            cautions=CAUTIONS,
        )

    # -- one run

    def _run(self, run: Run) -> RuledRun:
        checked = self._judged.check(self.session, run)
        number = number_of(run.id, self.attempts)
        why = explain_number(run.id, self.session.runs, self.attempts) if run.counts else ""
        cups = tuple(cup.outcome for cup in self.cups)
        return self._judged.ruled(
            checked, (number, why, cups), lambda: self._ruled(checked, number, why)
        )

    def _ruled(self, checked: Checked, number: int | None, why: str) -> RuledRun:
        run = checked.run
        findings = [*checked.findings, *self._counting(run, number)]
        by_picture = checked.elapsed
        times = {reading.display for reading in checked.readings}
        stamps = dict(sorted((spot.frame, spot.pts) for spot in run.spots))
        return RuledRun(
            run=run.id,
            number=number,
            counted_as=why or f"{run.sort}: counts as nothing",
            sort=run.sort,
            standing=self._standing(run, checked, findings),
            time=times.pop() if len(times) == 1 else None,
            by_picture=(seconds_text(by_picture.shortest, 6), seconds_text(by_picture.longest, 6))
            if by_picture
            else None,
            uncertainty=f"{by_picture.uncertainty:.6f}" if by_picture else None,
            begins=self._place(run.begins),
            ends=self._place(run.ends),
            findings=tuple(self._finding(finding, stamps) for finding in findings),
        )

    def _counting(self, run: Run, number: int | None) -> list[Finding]:
        allowed = self.header.event.allowance.attempts
        if number is None:
            return []
        beyond = number > allowed
        detail = f"attempt {number} of {allowed}" if beyond else ""
        outcome = Outcome.REFUTED if beyond else Outcome.PROVEN
        return [
            Finding("count.allowance", "number", "Within the allowance", outcome, detail=detail)
        ]

    def _standing(self, run: Run, checked: Checked, findings: list[Finding]) -> Standing:
        if not run.counts:
            return Standing.UNCOUNTED
        if any(cup.outcome is Outcome.REFUTED for cup in self.cups):
            return Standing.VOID
        clock = checked.finding("clock")
        if any(f.outcome is Outcome.REFUTED and f is not clock for f in findings):
            return Standing.SCRATCH
        unsettled = clock is not None and clock.outcome is Outcome.REFUTED and not run.accepted
        outcomes = [f.outcome for f in findings] + [cup.outcome for cup in self.cups]
        if unsettled or any(outcome.is_open for outcome in outcomes):
            return Standing.OPEN
        return Standing.STANDS

    def _finding(self, finding: Finding, stamps: dict[int, int]) -> RuledFinding:
        rule_ = rules()[finding.rule]
        return RuledFinding(
            rule=finding.rule,
            checkpoint=finding.checkpoint,
            title=finding.title,
            outcome=finding.outcome,
            reason=_reason(finding),
            right=rule_.right,
            met=self._bracket(finding.met_words, finding.met, stamps),
            due=self._bracket(finding.due_words, finding.due, stamps),
        )

    # -- all runs

    def _best(self) -> RuledRun | None:
        standing = [r for r in self.runs if r.standing is Standing.STANDS and r.time is not None]
        return min(standing, key=lambda r: _seconds(r.time), default=None)

    def _faster_than(self, best: RuledRun | None) -> list[RuledRun]:
        others = [
            r for r in self.runs if r.number is not None and r.standing is not Standing.STANDS
        ]
        if best is None:
            return others
        return [r for r in others if r.time is None or _seconds(r.time) <= _seconds(best.time)]

    def _claimed(self) -> list[RuledRun]:
        claimed = self.header.claim.time
        if claimed is None:
            return []
        return [r for r in self.runs if r.time and _seconds(r.time) == _seconds(claimed)]

    def _made(self, best: RuledRun | None, claimed: list[RuledRun]) -> bool:
        is_counted = any(r.number is not None for r in self.runs)
        decisive = [*self._faster_than(best), *claimed]
        return bool(
            is_counted
            and not self._problems()
            and (claimed or not self._lacks_footage())
            and not any(r.standing is Standing.OPEN for r in decisive)
        )

    def _lacks_footage(self) -> bool:
        """Whether a time is claimed, and some of the footage that may show it was never shown.

        What nobody has watched cannot prove that no run reads the time.
        """
        return self.header.claim.time is not None and not self.session.all_seen

    def _summary(self, best: RuledRun | None, made: bool) -> str:
        if not any(r.number is not None for r in self.runs):
            return "Open: no timed run has been begun yet."
        if not made:
            still = ", ".join(f"run {r.run}" for r in self.runs if r.standing is Standing.OPEN)
            if not still and not self._problems() and self._lacks_footage():
                return f"Open: no run reads the claimed time, but {unseen_words(self.session)}."
            return f"Open: {still or 'the record'} must be looked at before anything is ruled."
        if best is None:
            return "No run stands."
        doubts = len(best.with_outcome(Outcome.UNPROVEN))
        doubt = f", with {plural(doubts, 'doubt')} noted" if doubts else ""
        return f"{best.time} s stands: run {best.run}, attempt {best.number}{doubt}."

    def _spent(self) -> tuple[SpentAttempt, ...]:
        """Attempts within the allowance that starting over spent, each an automatic scratch."""
        over = rules()["count.starting-over"]
        allowed = self.header.event.allowance.attempts
        return tuple(
            SpentAttempt(
                number=attempt.number,
                by_run=attempt.run,
                rule=over.id,
                reason=over.refuted,
                right=over.right,
            )
            for attempt in self.attempts
            if attempt.spent and attempt.number <= allowed
        )

    def _problems(self) -> tuple[str, ...]:
        orphans = [
            f"line {line.seq + 1} speaks of a run that was never begun"
            for line in self.session.orphans
        ]
        overlaps = [
            f"runs {run.id} and {following.id} overlap"
            for run, following in pairwise(self.session.runs)
            if _overlap(run, following)
        ]
        return (*orphans, *overlaps)

    # -- places

    def _place(self, spot: Spot | None) -> Place | None:
        return None if spot is None else self._at(spot.frame, spot.pts)

    def _at(self, frame: int, pts: int | None) -> Place:
        place = self._places.get((frame, pts))
        if place is None:
            place = self._places[frame, pts] = place_of(self.header.footage, frame, pts)
        return place

    def _bracket(self, words: str, sighting: Sighting, pts: dict[int, int]) -> Bracket | None:
        if not words:
            return None
        ends = {"after": sighting.after, "by": sighting.by}
        places = {
            end: self._at(frame, pts.get(frame)) for end, frame in ends.items()
            if frame is not None and frame >= 0
        }  # fmt: skip
        return Bracket(moment=words, after=places.get("after"), by=places.get("by"))

    def _cup(self, cup: CupFinding) -> RuledCup:
        return RuledCup(cup=cup.cup, outcome=cup.outcome, at=self._place(cup.at), detail=cup.detail)


def _overlap(run: Run, following: Run) -> bool:
    """Whether a run is still open where the following one begins."""
    ends, begins = run.ends, following.begins
    return ends is None or (begins is not None and ends.frame >= begins.frame)


def _seconds(display: str | None) -> Fraction:
    return Fraction(display or 0)


def _reason(finding: Finding) -> str:
    """One plain clause for what came of a checkpoint."""
    words = {
        Outcome.PROVEN: "the footage shows it",
        Outcome.REFUTED: rules()[finding.rule].refuted,
        Outcome.UNPROVEN: "the footage cannot tell which came first, so there is no scratch",
        Outcome.UNLOOKED: "nobody has looked yet",
        Outcome.CONFLICT: "the tags contradict each other",
    }[finding.outcome]
    if finding.checkpoint == "record" and finding.outcome is Outcome.CONFLICT:
        words = rules()[finding.rule].refuted
    if finding.rule == PICTURE and finding.outcome is Outcome.PROVEN:
        words = "the picture leaves the displayed time possible"
    hand = f" ({finding.hand} hand)" if finding.hand else ""
    return f"{words}{hand}{f': {finding.detail}' if finding.detail else ''}"
