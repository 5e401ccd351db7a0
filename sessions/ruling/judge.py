"""The judge: a pure function from a session to its ruling."""

from collections.abc import Callable, Mapping
from fractions import Fraction
from itertools import pairwise
from types import MappingProxyType

from sessions.evidence.sighting import Sighting
from sessions.plural import plural
from sessions.record.entries import NotShown, NotShownWhat, Spot
from sessions.record.role import role_of, settled_reviews
from sessions.record.session import Run, Session
from sessions.rules.moments import Words
from sessions.rules.rulebook import PICTURE, Rule, rules
from sessions.ruling.brackets import Outcome
from sessions.ruling.checker import Checked, CheckedRuns, Finding
from sessions.ruling.ruling import (
    CAUTIONS,
    Bracket,
    Lacking,
    Place,
    RuledCup,
    RuledFinding,
    RuledRun,
    Ruling,
    SpentAttempt,
    Standing,
    UsedBefore,
    place_of,
)
from sessions.ruling.timing import readings_possible, seconds_text
from sessions.ruling.whole_footage import (
    CupFinding,
    check_cups,
    count_attempts,
    explain_number,
    is_watched_before,
    never_shown,
    number_of,
    unwatched,
    unwatched_words,
    used_before,
    uses_of,
)


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
        self.header = session.timed_header
        self._places: dict[tuple[int, int | None], Place] = {}
        self.before = used_before(session)
        self.attempts = count_attempts(session.runs, self.before)
        self.cups = check_cups(session)
        self.unwatched = unwatched(session)
        self.problems = self._problems()
        self.runs = tuple(self._run(run) for run in session.runs)

    def ruling(self) -> Ruling:
        best = self._best()
        claimed = self._claimed()
        decided = self._decided(best, claimed)
        made = decided and (self._is_upheld(claimed) or not self.unwatched.ranges)
        footage = self.header.footage
        return Ruling(
            made=made,
            decided=decided,
            unwatched=unwatched_words(self.unwatched, footage.frames),
            summary=self._summary(best, decided, made),
            best_run=best.run if best else None,
            best_time=best.time if best else None,
            faster_but_not_standing=tuple(r.run for r in self._faster_than(best)),
            claimed_runs=tuple(r.run for r in claimed),
            used_before=tuple(
                UsedBefore(attempts=entry.attempts, source=entry.source)
                for entry in dict.fromkeys(self.session.attempts_before)
            ),
            not_shown=tuple(map(self._lacking, self.session.not_shown)),
            spent=self._spent(),
            footage=footage,
            event=self.header.event.title,
            claim=self.header.claim,
            reviewer=self.header.reviewer,
            settles=tuple(r.reviewer for r in settled_reviews(self.session)),
            frames_seen=footage.frames - len(self.session.unseen),
            frames_unseen=len(self.session.unseen),
            never_shown=never_shown(self.session.unseen, footage.frames),
            runs=self.runs,
            cups=tuple(self._cup(cup) for cup in self.cups),
            problems=self.problems,
            cautions=CAUTIONS,
        )

    # -- one run

    def _run(self, run: Run) -> RuledRun:
        checked = self._judged.check(self.session, run)
        number = number_of(run.id, self.attempts)
        why = explain_number(run.id, self.session, self.attempts) if run.counts else ""
        cups = tuple(cup.outcome for cup in self.cups)
        counting = self._counting(run, number)
        return self._judged.ruled(
            checked,
            (number, why, cups, counting),
            lambda: self._ruled(checked, number, why, counting),
        )

    def _ruled(
        self, checked: Checked, number: int | None, why: str, counting: list[Finding]
    ) -> RuledRun:
        run = checked.run
        findings = [*checked.findings, *counting]
        by_picture = checked.elapsed
        stamps = dict(sorted((spot.frame, spot.pts) for spot in run.spots))
        display = checked.display
        return RuledRun(
            run=run.id,
            number=number,
            counted_as=why or f"{run.sort}: counts as nothing",
            sort=run.sort,
            standing=self._standing(run, checked, findings),
            time=display,
            by_picture=(seconds_text(by_picture.shortest, 6), seconds_text(by_picture.longest, 6))
            if by_picture
            else None,
            uncertainty=f"{by_picture.uncertainty:.6f}" if by_picture else None,
            begins=self._place(run.begins),
            ends=self._place(run.ends),
            findings=tuple(self._finding(finding, stamps) for finding in findings),
            possible=self._possible(checked) if display is None else None,
            not_shown=tuple(map(self._lacking, run.not_shown)),
        )

    def _possible(self, checked: Checked) -> tuple[str, str] | None:
        """The open bounds of what a display can have read that nobody could read."""
        if checked.elapsed is None:
            return None
        low, high = readings_possible(checked.elapsed, self.header.event.clock)
        return str(low), str(high)

    def _lacking(self, entry: NotShown) -> Lacking:
        title, needed = NOT_SHOWN[entry.what]
        return Lacking(
            what=entry.what,
            title=title,
            first=self._at(entry.first.frame, entry.first.pts),
            last=self._at(entry.last.frame, entry.last.pts),
            reason=entry.reason,
            needed=needed,
        )

    def _counting(self, run: Run, number: int | None) -> list[Finding]:
        """The attempt's number, which is open while runs may have come before it unseen.

        More runs can only raise it, so a number beyond the allowance is beyond it in any case.
        """
        allowed = self.header.event.allowance.attempts
        if number is None:
            return []
        outcome, detail = Outcome.PROVEN, ""
        if number > allowed:
            outcome = Outcome.REFUTED
            uses = uses_of(number, self.attempts, self.session.runs, self.before)
            detail = f"attempt {number} of {allowed}, after {uses}"
        elif run.begins and not is_watched_before(self.unwatched, run.begins.frame):
            outcome = Outcome.UNLOOKED
            first = self.unwatched.ranges[0][0]
            detail = (
                f"attempt {number} so far, but from frame {first} on not all of the footage before "
                "the run was watched"
            )
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
        accepted = run.acceptances
        unsettled = clock is not None and clock.outcome is Outcome.REFUTED and not accepted
        outcomes = [f.outcome for f in findings] + [cup.outcome for cup in self.cups]
        if Outcome.CONFLICT in outcomes or run.ends is None:
            return Standing.OPEN
        if any(self._ends_it(entry) for entry in run.lacking):
            return Standing.NOT_PROVEN
        if unsettled or any(outcome.is_open for outcome in outcomes):
            return Standing.OPEN
        return Standing.STANDS

    def _ends_it(self, entry: NotShown) -> bool:
        """Whether what is not shown leaves a run unproven; the picture may do without a display."""
        return not (entry.what == "display" and self.header.event.display.picture_carries)

    def _finding(self, finding: Finding, stamps: dict[int, int]) -> RuledFinding:
        rule_ = self.header.event.rule(finding.rule)
        assert rule_ is not None  # every check takes its rule from there
        return RuledFinding(
            rule=finding.rule,
            checkpoint=finding.checkpoint,
            title=finding.title,
            outcome=finding.outcome,
            reason=_reason(finding, rule_),
            right=rule_.right,
            source=rule_.source,
            met=self._bracket(finding.met_words, finding.met, stamps, finding.met_said),
            due=self._bracket(finding.due_words, finding.due, stamps, finding.due_said),
            cure=tuple(
                found
                for said, sighting in finding.cure
                if (found := self._bracket(said.happens, sighting, stamps, said))
            ),
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
        """The runs that read the claimed time; where none does, those that may have read it."""
        claimed = self.header.claim.time
        if claimed is None:
            return []
        reading = [r for r in self.runs if r.time and _seconds(r.time) == _seconds(claimed)]
        return reading or [r for r in self.runs if r.may_have_read(claimed)]

    def _decided(self, best: RuledRun | None, claimed: list[RuledRun]) -> bool:
        """Whether nothing is left open of what was tagged.

        Footage without an attempt is only that once the reviewer has said to be done with it.
        """
        decisive = [*self._faster_than(best), *claimed]
        return bool(
            (self._is_counted or role_of(self.session).finished)
            and not self.problems
            and not any(r.standing is Standing.OPEN for r in decisive)
        )

    @property
    def _is_counted(self) -> bool:
        return any(r.number is not None for r in self.runs)

    def _is_upheld(self, claimed: list[RuledRun]) -> bool:
        """Whether the claimed time stands: what else the footage shows cannot change that.

        That it falls takes all of the footage, as another run may read the same time.
        """
        return any(r.standing is Standing.STANDS for r in claimed)

    def _summary(self, best: RuledRun | None, decided: bool, made: bool) -> str:
        left = unwatched_words(self.unwatched, self.header.footage.frames)
        if not decided:
            still = ", ".join(f"run {r.run}" for r in self.runs if r.standing is Standing.OPEN)
            if not self._is_counted and not still and not self.problems:
                return "Open: no timed run has been begun yet."
            return f"Open: {still or 'the record'} must be looked at before anything is ruled."
        so_far = self._so_far(best)
        if not made:
            return f"Open: {left}; so far {so_far[0].lower()}{so_far[1:]}."
        return f"{so_far}; {left}." if left else f"{so_far}."

    def _so_far(self, best: RuledRun | None) -> str:
        if best is not None:
            doubts = len(best.doubts)
            doubt = f", with {plural(doubts, 'doubt')} noted" if doubts else ""
            return f"{best.time} s stands: run {best.run}, attempt {best.number}{doubt}"
        by_picture = next((r for r in self.runs if r.standing is Standing.STANDS), None)
        if by_picture is not None and by_picture.by_picture is not None:
            low, high = by_picture.by_picture
            return f"Run {by_picture.run} stands by the picture, between {low} and {high} s"
        if not self._is_counted:
            return "No attempt is on this footage"
        return "No run stands"

    def _spent(self) -> tuple[SpentAttempt, ...]:
        """Attempts within the allowance that starting over spent, each an automatic scratch."""
        over = rules()["count.starting-over"]
        allowed = self.header.event.allowance.attempts
        return tuple(
            SpentAttempt(
                number=attempt.number,
                by_run=attempt.run,
                at=self._at(attempt.at.frame, attempt.at.pts),
                rule=over.id,
                reason=over.refuted,
                right=over.right,
                source=over.source,
            )
            for attempt in self.attempts
            if attempt.at is not None and attempt.number <= allowed
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
        before = {entry.attempts for entry in self.session.attempts_before}
        told = [", ".join(map(str, sorted(before)))] if len(before) > 1 else []
        counts = [f"the attempts before this footage are told differently ({n})" for n in told]
        marks = any(e.what == "mark" for e in self.session.not_shown)
        seen = marks and all(cup.outcome is Outcome.PROVEN for cup in self.cups)
        lacks = ["the mark is said not to be shown, and every cup's was seen"] if seen else []
        return (*orphans, *overlaps, *counts, *lacks)

    # -- places

    def _place(self, spot: Spot | None) -> Place | None:
        return None if spot is None else self._at(spot.frame, spot.pts)

    def _at(self, frame: int, pts: int | None) -> Place:
        place = self._places.get((frame, pts))
        if place is None:
            place = self._places[frame, pts] = place_of(self.header.footage, frame, pts)
        return place

    def _bracket(
        self, words: str, sighting: Sighting, pts: dict[int, int], said: Words | None
    ) -> Bracket | None:
        if not words:
            return None
        ends = {"after": sighting.after, "by": sighting.by}
        places = {
            end: self._at(frame, pts.get(frame)) for end, frame in ends.items()
            if frame is not None and frame >= 0
        }  # fmt: skip
        shows = {} if said is None else {"not_yet": said.not_yet, "so": said.so}
        return Bracket(moment=words, after=places.get("after"), by=places.get("by"), **shows)

    def _cup(self, cup: CupFinding) -> RuledCup:
        return RuledCup(
            cup=cup.cup,
            outcome=cup.outcome,
            at=self._place(cup.at),
            detail=cup.detail,
            right=rules()["cup.mark"].right,
        )


def _overlap(run: Run, following: Run) -> bool:
    """Whether a run is still open where the following one begins."""
    ends, begins = run.ends, following.begins
    return ends is None or (begins is not None and ends.frame >= begins.frame)


def _seconds(display: str | None) -> Fraction:
    return Fraction(display or 0)


NOT_SHOWN: Mapping[NotShownWhat, tuple[str, str]] = MappingProxyType(
    {
        "start": (
            "The start of the clock",
            "footage that begins before the start and shows both hands on the pad as the clock "
            "starts",
        ),
        "stop": (
            "The stop of the clock",
            "footage that goes on until the clock has stopped and shows the hands come to the pad",
        ),
        "display": (
            "The display of the clock",
            "footage in which the display can be read after the clock has stopped",
        ),
        "table": (
            "A part of the table",
            "footage that shows the whole table from before the start to after the stop",
        ),
        "mark": (
            "The makers' marks",
            "footage that shows the maker's mark of every cup once, at least half of it",
        ),
    }
)
"""What footage may lack: its title, and the footage that would have been needed."""


def _reason(finding: Finding, rule_: Rule) -> str:
    """One plain clause for what came of a checkpoint."""
    is_tied = finding.is_tied and finding.rule != PICTURE
    words = {
        Outcome.PROVEN: "the footage shows it",
        Outcome.REFUTED: rule_.refuted,
        Outcome.UNPROVEN: "the footage cannot tell which came first, so there is no scratch"
        if is_tied
        else "the footage cannot tell, so there is no scratch",
        Outcome.UNLOOKED: "not checked yet",
        Outcome.CONFLICT: "the tags contradict each other",
    }[finding.outcome]
    if finding.checkpoint == "record" and finding.outcome is Outcome.CONFLICT:
        words = rules()[finding.rule].refuted
    if finding.rule == PICTURE and finding.outcome is Outcome.PROVEN:
        words = "the picture leaves the displayed time possible"
    hand = f" ({finding.hand} hand)" if finding.hand else ""
    return f"{words}{hand}{f': {finding.detail}' if finding.detail else ''}"
