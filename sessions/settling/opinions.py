"""What one review says of each matter on which reviews of a claim may differ."""

from collections.abc import Sequence
from dataclasses import dataclass

from sessions.evidence.sighting import Sighting
from sessions.exact import micros
from sessions.plural import plural
from sessions.record.entries import AttemptsBefore, CaptureRate, Look, NotShown, Sighted
from sessions.record.session import Run
from sessions.ruling.brackets import Outcome
from sessions.ruling.ruling import Bracket, RuledCup, RuledFinding, RuledRun

CLOCK = "clock"
"""The checkpoint that compares display and picture."""

START, STOP = INSTANTS = ("start", "stop")
"""The instants of a run that the clock runs from and to."""

FOUND = {
    Outcome.PROVEN: "in order",
    Outcome.REFUTED: "FAULT",
    Outcome.UNPROVEN: "cannot tell",
    Outcome.UNLOOKED: "not looked at",
    Outcome.CONFLICT: "tags contradict each other",
}
"""What a review found, in the words of the bench."""


@dataclass(frozen=True, slots=True)
class Opinion:
    """What one review says: ``value`` is compared, ``None`` where it says nothing.

    ``frame`` is the frame that it names, ``met`` and ``due`` are the brackets behind it.
    """

    reviewer: str
    value: str | None
    words: str
    frame: int | None = None
    met: Bracket | None = None
    due: Bracket | None = None

    @property
    def sighting(self) -> Sighting:
        """The bracket of an opinion on one instant, in frames."""
        return Sighting() if self.met is None else Sighting(*bracket_frames(self.met))

    @property
    def brackets(self) -> tuple[tuple[int | None, int | None], ...]:
        """The ends of the brackets in frames, ``None`` where nobody looked for one."""
        return tuple(bracket_frames(b) for b in (self.met, self.due) if b is not None)


def bracket_frames(bracket: Bracket) -> tuple[int | None, int | None]:
    """The ends of a bracket in frames, ``None`` where nobody looked for one."""
    after = None if bracket.after is None else bracket.after.frame
    return after, None if bracket.by is None else bracket.by.frame


def of_checkpoint(name: str, finding: RuledFinding, run: Run) -> Opinion:
    """What came of a checkpoint, by the last look at it where there is one."""
    looks = [m for m in run.marks if isinstance(m, Look) and m.checkpoint == finding.checkpoint]
    look = looks[-1] if looks else None
    frame = look.by.frame if look is not None else _frame_of(finding)
    value = None if finding.outcome.is_open else str(finding.outcome)
    words = FOUND[finding.outcome]
    if look is not None and look.saw == "unproven":
        words += (
            f" up to frame {frame}" if look.after is None else _between(look.after.frame, frame)
        )
    elif value is not None and frame is not None:
        words += f" at frame {frame}"
    if look is not None and look.hand is not None:
        words += f" ({look.hand} hand)"
    return Opinion(name, value, words, frame, finding.met, finding.due)


def _between(after: int, by: int | None) -> str:
    return f" in ({after},{by}]"


def _frame_of(finding: RuledFinding) -> int | None:
    """The frame that shows a finding without a look of its own: where the later end is sure."""
    ends = [b.by.frame for b in (finding.met, finding.due) if b is not None and b.by is not None]
    return max(ends, default=None)


def clock_of(ruled: RuledRun) -> RuledFinding:
    """What came of display against picture: every run has that finding."""
    return next(f for f in ruled.findings if f.checkpoint == CLOCK)


def of_clock(name: str, ruled: RuledRun, run: Run) -> Opinion:
    """Whether the display can be true by the picture, and whether a contradiction was settled."""
    finding = clock_of(ruled)
    # a reason left from before what is tagged now settles nothing where the two agree
    parts = finding.outcome is Outcome.REFUTED and bool(run.acceptances)
    settled = ", settled" if parts else ""
    value = None if finding.outcome.is_open else f"{finding.outcome}{settled}"
    agrees = {Outcome.PROVEN: "agrees", Outcome.REFUTED: f"does not agree{settled}"}
    read = "no reading" if ruled.time is None else f"reads {ruled.time} s"
    words = f"{read}, {agrees.get(finding.outcome, FOUND[finding.outcome])}"
    return Opinion(name, value, words, _frame_of(finding), finding.met, finding.due)


def of_instant(name: str, ruled: RuledRun, run: Run, instant: str) -> Opinion:
    """Where the start or the stop of the clock was sighted; nothing where it was not, or by half.

    What looks at checkpoints say of the instant is in its bracket as well.
    """
    clock = clock_of(ruled)
    bracket = clock.met if instant == START else clock.due
    is_sighted = any(isinstance(mark, Sighted) and mark.moment == instant for mark in run.marks)
    if not is_sighted or bracket is None or bracket.after is None or bracket.by is None:
        return Opinion(name, None, "not sighted", met=bracket)
    value = f"({bracket.after.frame},{bracket.by.frame}]"
    return Opinion(name, value, f"seen in {value}", bracket.by.frame, met=bracket)


def of_reasons(name: str, run: Run) -> Opinion:
    """Why a contradiction of display and picture was settled."""
    reasons = "; ".join(sorted({entry.reason for entry in run.acceptances}))
    return Opinion(name, reasons or None, reasons or "no reason")


def of_reading(name: str, ruled: RuledRun, run: Run) -> Opinion:
    """What the display reads; times are compared, not their digits."""
    if ruled.time is None:
        return Opinion(name, None, "no reading")
    frame = run.readings[-1].at.frame
    # where the display was read tells nothing of what was read: no bracket is given
    return Opinion(name, str(micros(ruled.time)), f"reads {ruled.time} s at frame {frame}", frame)


def of_run(name: str, run: RuledRun | None) -> Opinion:
    """Whether a stretch of the footage counts as an attempt."""
    if run is None:
        return Opinion(name, "not counted", "no run here")
    frame = None if run.begins is None else run.begins.frame
    what = run.sort if run.number is None else f"attempt {run.number}"
    value = "not counted" if run.number is None else "counted"
    return Opinion(name, value, f"{what}, frames {bounds(run)}", frame)


def of_starting_over(name: str, column: tuple[RuledRun, Run]) -> Opinion:
    """How often the event was started over in a run."""
    frames = sorted(over.at.frame for over in column[1].started_over)
    if not frames:
        return Opinion(name, "0", "never started over")
    listed = ", ".join(map(str, frames))
    return Opinion(name, str(len(frames)), f"started over at frame {listed}", frames[0])


def of_other_fault(name: str, rule: str, run: Run) -> Opinion:
    """Whether a rule that no checkpoint asks for was broken in a run; nothing noted says no."""
    faults = sorted((f for f in run.other_faults if f.rule == rule), key=lambda f: f.by.frame)
    if not faults:
        return Opinion(name, "none", "no fault noted")
    worst = "refuted" if any(fault.saw == "refuted" for fault in faults) else "unproven"
    words = ", ".join(f"{FOUND[Outcome(f.saw)]} at frame {f.by.frame}" for f in faults)
    return Opinion(name, worst, words, faults[0].by.frame)


def of_not_shown(name: str, entries: Sequence[NotShown]) -> Opinion:
    """Whether the footage fails to show something of a run, or throughout."""
    if not entries:
        return Opinion(name, "shown", "nothing is said not to be shown")
    words = ", ".join(
        f"{e.what} not shown in frames {e.first.frame}-{e.last.frame}" for e in entries
    )
    return Opinion(name, "not shown", words, entries[0].first.frame)


def of_attempts_before(name: str, entries: Sequence[AttemptsBefore]) -> Opinion:
    """How many attempts were used before the footage begins."""
    if not entries:
        return Opinion(name, "0", "no attempt before this footage")
    entry = max(entries, key=lambda entry: entry.attempts)
    words = f"{plural(entry.attempts, 'attempt')} before this footage ({entry.source})"
    return Opinion(name, str(entry.attempts), words)


def of_capture_rates(name: str, entries: Sequence[CaptureRate]) -> Opinion:
    """At which rate the pictures were taken, where a reviewer says so."""
    if not entries:
        return Opinion(name, "", "nothing is said of the capture rate")
    value = ", ".join(sorted({entry.rate for entry in entries}))
    return Opinion(name, value, f"taken at {value} frames a second ({entries[0].source})")


def of_fumbles(name: str, column: tuple[RuledRun, Run]) -> Opinion:
    """Which stacks fell or slid in a run, and in which phase."""
    fumbles = column[1].fumbles
    if not fumbles:
        return Opinion(name, "", "no fumble")
    value = "; ".join(sorted(f"{f.fumble} {f.stack} {f.phase}" for f in fumbles))
    words = ", ".join(f"{f.stack} going {f.phase} at frame {f.at.frame}" for f in fumbles)
    return Opinion(name, value, words, fumbles[0].at.frame)


def of_cup(name: str, cup: RuledCup) -> Opinion:
    """What came of a cup's mark."""
    frame = None if cup.at is None else cup.at.frame
    at = "" if frame is None else f" at frame {frame}"
    value = None if cup.outcome.is_open else str(cup.outcome)
    return Opinion(name, value, f"{cup.detail}{at}", frame)


def bounds(run: RuledRun) -> str:
    """The first and the last frame of a run."""
    begins = "?" if run.begins is None else str(run.begins.frame)
    return f"{begins}-{'?' if run.ends is None else run.ends.frame}"
