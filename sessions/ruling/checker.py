"""The checker: from the marks of a run to one finding for each checkpoint.

A ladder's checkpoint is the statement that one moment came before another, of each hand by itself
where its rule says so; the brackets alone decide it. Where a moment was never bracketed from both
sides and nothing is decided, nobody has looked, and the finding says so: it is open, not clean.
"""

from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property

from sessions.evidence.sighting import UNSEEN, Sighting
from sessions.evidence.verdict import Verdict
from sessions.plural import joined
from sessions.record.entries import CaptureRate, Look, Reading
from sessions.record.header import Header
from sessions.record.session import Mark, Run, Session, one_display
from sessions.rules.events import Hand
from sessions.rules.ladder import Checkpoint, Ladder, Marker, Statement, stacks_of
from sessions.rules.moments import SIDES, Side, Words
from sessions.rules.rulebook import PICTURE
from sessions.ruling.admissible import inadmissible, marks_within, misread
from sessions.ruling.brackets import (
    Brackets,
    Outcome,
    brackets,
    hand_that_decides,
    hands_left,
    hull,
    is_asked,
    is_too_early,
    statement_outcome,
    ways_of,
)
from sessions.ruling.fumbles import run_ladder
from sessions.ruling.order import (
    Contradiction,
    contradiction_words,
    contradictions,
    hurried,
    is_contradicted,
)
from sessions.ruling.timing import Elapsed, agrees, elapsed

SIGHTED_BY = {"start": "hands off", "stop": "hands on"}
"""The checkpoint that sights each end of the clock."""

UNTIMED = "say in which frames the start and the stop had not come yet"
"""What to do where an end of the clock has no frame before it."""


@dataclass(frozen=True, slots=True)
class Finding:
    """One checkpoint judged: the rule, the outcome, and the brackets that it rests on, in frames.

    ``met_words`` and ``due_words`` say what the brackets are of, ``met_said`` and ``due_said`` also
    what a frame shows before and after; ``detail`` adds what the words of the rule cannot say.
    ``cure`` are the brackets of what cured a fault, or was to, and of the stop.
    """

    rule: str
    checkpoint: str
    title: str
    outcome: Outcome
    met: Sighting = UNSEEN
    due: Sighting = UNSEEN
    met_words: str = ""
    due_words: str = ""
    hand: str | None = None
    detail: str = ""
    met_said: Words | None = None
    due_said: Words | None = None
    cure: tuple[tuple[Words, Sighting], ...] = ()

    @property
    def is_tied(self) -> bool:
        """Whether it rests on two brackets that overlap, so that none can tell which came first."""
        if not (self.met.is_bounded and self.due.is_bounded):
            return False
        return self.met.meet(self.due) is not None


@dataclass(frozen=True)
class Checked:
    """A run with its ladder, the brackets of its moments and all its findings.

    ``readings`` are those of its readings that are evidence.
    """

    header: Header
    run: Run
    ladder: Ladder
    brackets: Brackets
    findings: tuple[Finding, ...]
    elapsed: Elapsed | None
    marks: tuple[Mark, ...]
    readings: tuple[Reading, ...]
    clashes: tuple[Contradiction, ...] = ()

    @property
    def display(self) -> str | None:
        """What the display reads, by the readings that are evidence of it."""
        return one_display(self.readings)

    def finding(self, checkpoint: str) -> Finding | None:
        """The finding of one checkpoint of the ladder."""
        return next((f for f in self.findings if f.checkpoint == checkpoint), None)

    @cached_property
    def hurried(self) -> frozenset[str]:
        """The checkpoints between whose tags lies less time than the work usually takes.

        Found once for a run as it stands, not at every frame that is shown.
        """
        event, footage = self.header.event, self.header.footage
        unit = int(event.order.unit * footage.slowed / Fraction(footage.time_base))
        return hurried(event, self.run, self.marks, self.ladder, unit)


def check_run(session: Session, run: Run) -> Checked:
    """Judge every checkpoint of one run; all findings, not the first.

    They follow from the session's header and the run alone: ``CheckedRuns`` rests on that.
    """
    ladder = run_ladder(session.header.event, run.fumbles)
    marks = marks_within(run)
    found = brackets(ladder, marks)
    readings = tuple(
        reading for reading in run.readings if misread(run, found["stop"], reading.at.frame) is None
    )
    by_picture = _elapsed(run, found, session.timed_header)
    clashes = contradictions(session.header.event, run, marks, ladder)
    scene = _Scene(session.timed_header, run, ladder, marks, readings, found, by_picture, clashes)
    findings = tuple(finding for check in CHECKS for finding in check(scene))
    return Checked(
        session.timed_header, run, ladder, found, findings, by_picture, marks, readings, clashes
    )


class CheckedRuns:
    """The findings of a session's runs as it grows, each run judged once.

    ``grow`` leaves a run that no new entry touches as it is, the same object; so its findings hold.
    """

    def __init__(self) -> None:
        self._found: dict[int, tuple[Run, Checked]] = {}
        self._said: tuple[CaptureRate, ...] = ()

    def check(self, session: Session, run: Run) -> Checked:
        """The findings of one run of a session; every session asked about has the same header."""
        if session.capture_rates != self._said:  # all times are told otherwise now
            self._found, self._said = {}, session.capture_rates
        _, checked = self._found.get(id(run), (None, None))
        if checked is None:
            checked = check_run(session, run)
            self._found[id(run)] = run, checked  # with the run itself, so that no other gets its id
        return checked

    def forget_all_but(self, runs: Iterable[Run]) -> None:
        """Keep the findings of these runs alone."""
        kept = {id(run) for run in runs}
        self._found = {key: held for key, held in self._found.items() if key in kept}


@dataclass(frozen=True)
class _Scene:
    header: Header
    run: Run
    ladder: Ladder
    marks: tuple[Mark, ...]
    readings: tuple[Reading, ...]
    found: Brackets
    elapsed: Elapsed | None
    clashes: tuple[Contradiction, ...]


def _check_ladder(scene: _Scene) -> Iterator[Finding]:
    for checkpoint in scene.ladder.statements:
        if checkpoint.cures is None and is_asked(scene.found, scene.ladder, checkpoint):
            yield _judge(scene, checkpoint)


def _check_clock(scene: _Scene) -> Iterator[Finding]:
    """The display against the picture: the picture can refute a reading, never refine it."""
    rule, title = PICTURE, "Display against picture"
    display = one_display(scene.readings)
    start, stop = scene.found["start"], scene.found["stop"]
    unsighted = [m for m in ("start", "stop") if not scene.found.is_sighted(m)]
    untimed = _untimed(scene.header, start, stop)
    if untimed:
        outcome, detail = Outcome.CONFLICT, untimed
    elif display is None and scene.readings:
        readings = sorted({reading.display for reading in scene.readings})
        outcome, detail = Outcome.CONFLICT, f"readings differ: {', '.join(readings)}"
    elif display is None and scene.elapsed and not unsighted and _picture_carries(scene):
        outcome, detail = Outcome.UNPROVEN, "the display is not shown, so the picture's time stands"
    elif display is None or unsighted or scene.elapsed is None:
        first = [f"tag {SIGHTED_BY[moment]}" for moment in unsighted]
        first += [] if display else ["read the display"]
        outcome, detail = Outcome.UNLOOKED, f"{joined(first)} first" if first else UNTIMED
    elif agrees(display, scene.header.event.clock, scene.elapsed):
        outcome, detail = Outcome.PROVEN, ""
    else:
        outcome, detail = Outcome.REFUTED, _settled(scene.run)
    words = scene.ladder.moments
    yield Finding(
        rule, "clock", title, outcome, start, stop, words["start"].words, words["stop"].words,
        detail=detail, met_said=words["start"].said, due_said=words["stop"].said,
    )  # fmt: skip


def _picture_carries(scene: _Scene) -> bool:
    """Whether the time by the picture carries a run whose display the footage does not show."""
    lacks = any(entry.what == "display" for entry in scene.run.lacking)
    return lacks and scene.header.event.display.picture_carries


def _check_others(scene: _Scene) -> Iterator[Finding]:
    """Faults of rules that no checkpoint asks for, in the order of the footage."""
    seen = (fault for fault in scene.run.other_faults if scene.run.side_of(fault.by.frame) is None)
    faults = sorted(seen, key=lambda fault: (fault.by.frame, fault.rule))
    counts: Counter[str] = Counter()
    for fault in dict.fromkeys(faults):
        rule = scene.header.event.other_rule(fault.rule)
        if rule is None:  # told by the check of the record
            continue
        counts[rule.id] += 1
        number = f".{counts[rule.id]}" if counts[rule.id] > 1 else ""
        yield Finding(
            rule.id, f"{OTHER_FAULT}{rule.id}{number}", rule.title, Outcome(fault.saw),
            due=fault.bracket, due_words=rule.refuted, detail=fault.reason or "",
        )  # fmt: skip


OTHER_FAULT = "other."
"""How the checkpoint of a fault begins that nothing on the ladder asks for."""


def _check_order(scene: _Scene) -> Iterator[Finding]:
    """The tags against the order of a run's moments: those that cannot all be true are named."""
    for clash in scene.clashes:
        yield Finding(
            "record.complete", "order", "Order of the run", Outcome.CONFLICT,
            detail=contradiction_words(scene.ladder, clash),
        )  # fmt: skip


def _check_record(scene: _Scene) -> Iterator[Finding]:
    for detail in (*_other_problems(scene), *_record_problems(scene)):
        yield Finding(
            "record.complete", "record", "Record of the run", Outcome.CONFLICT, detail=detail
        )
    if scene.run.ends is None:
        yield Finding(
            "record.complete", "record", "Record of the run", Outcome.UNLOOKED,
            detail="the run is not ended",
        )  # fmt: skip


def _other_problems(scene: _Scene) -> Iterator[str]:
    """Faults of rules that nobody knows, and what is written of what is said not to be shown."""
    for fault in scene.run.other_faults:
        if scene.header.event.other_rule(fault.rule) is None:
            yield f"a fault is of the rule {fault.rule}, which the event file does not list"
    tagged = {m: scene.found.is_sighted(m) for m in ("start", "stop")}
    tagged["display"] = bool(scene.readings)
    for what in sorted({entry.what for entry in scene.run.lacking if tagged.get(entry.what)}):
        yield f"the {what} is said not to be shown, and is written down all the same"


def _record_problems(scene: _Scene) -> Iterator[str]:
    run = scene.run
    if len(set(run.begun)) > 1:
        yield "the run is begun in more than one place"
    if len(set(run.ended)) > 1:
        yield "the run is ended in more than one place"
    if run.ends is not None and run.begins is not None and run.ends.frame < run.begins.frame:
        yield "the run ends before it begins"
    names = [fumble.fumble for fumble in run.fumbles]
    for name in sorted({name for name in names if names.count(name) > 1}):
        yield f"two fumbles are named {name}"
    stacks = {stack.id for stack in stacks_of(scene.header.event)}
    for fumble in run.fumbles:
        if fumble.stack not in stacks:
            yield f"fumble {fumble.fumble} is of {fumble.stack}, which the event does not have"
    for place in sorted({_place(mark) for mark in scene.found.orphans}):
        yield f"a tag speaks of {place}, which this run's ladder does not have"
    stamps = {(spot.frame, spot.pts) for spot in run.spots}
    frames = sorted(frame for frame, _ in stamps)
    for frame in sorted({frame for frame in frames if frames.count(frame) > 1}):
        yield f"frame {frame} is written with different time stamps"
    last = max(run.frames, default=0)
    if last >= scene.header.footage.frames:
        yield f"an entry lies at frame {last}, beyond the footage"
    yield from inadmissible(run, scene.ladder, scene.found["stop"])


def _place(mark: Mark) -> str:
    return mark.checkpoint if isinstance(mark, Look) else mark.moment


CHECKS: tuple[Callable[[_Scene], Iterable[Finding]], ...] = (
    _check_ladder,
    _check_others,
    _check_clock,
    _check_order,
    _check_record,
)
"""Every family of checks, each yielding its findings for one run."""


def _judge(scene: _Scene, checkpoint: Statement) -> Finding:
    outcome = statement_outcome(scene.found, checkpoint)
    side = hand_that_decides(scene.found, checkpoint, outcome)
    detail = _first_due(scene, checkpoint) if outcome is Outcome.UNLOOKED else ""
    cure = scene.ladder.statement(checkpoint.cure)
    if cure is not None:
        outcome, detail = _cured(scene, cure, outcome)
    if any(is_contradicted(scene.clashes, one) for one in (checkpoint, cure) if one is not None):
        outcome, detail = Outcome.CONFLICT, "the order of the run's tags cannot be"
    elif outcome is Outcome.UNLOOKED and (left := hands_left(scene.marks, checkpoint)):
        detail = f"the {left[0]} hand is still to be looked at"
    met, due, met_said, due_said = _evidence(scene, checkpoint, side)
    return Finding(
        rule=checkpoint.rule,
        checkpoint=checkpoint.id,
        title=checkpoint.title,
        outcome=outcome,
        met=met,
        due=due,
        met_words=met_said.happens,
        due_words=due_said.happens,
        hand=_hand_at_fault(scene.marks, checkpoint, side if outcome is Outcome.REFUTED else None),
        detail=detail,
        met_said=met_said,
        due_said=due_said,
        cure=() if cure is None else tuple(_looked_at(scene, cure)),
    )


def _looked_at(scene: _Scene, cure: Statement) -> Iterator[tuple[Words, Sighting]]:
    """The instants that a cure rests on, once anybody looked for it."""
    if scene.found[cure.met].is_unseen:
        return
    for moment in (cure.met, cure.due):
        yield scene.ladder.moments[moment].said, scene.found[moment]


def _first_due(scene: _Scene, checkpoint: Statement) -> str:
    """What has to be tagged first where a checkpoint was looked at, and the clock's end was not."""
    ends = (checkpoint.met, checkpoint.due)
    is_looked = any(m not in _MARKERS and not scene.found[m].is_unseen for m in ends)
    lacking = [m for m in ends if m in _MARKERS and not scene.found[m].is_bounded]
    return f"tag {_MARKERS[lacking[0]]} first" if is_looked and lacking else ""


_MARKERS = {"start": "hands off", "stop": "hands on"}
"""The names of the moments that have a key of their own, by which they are tagged."""


def _evidence(
    scene: _Scene, checkpoint: Statement, side: Side | None
) -> tuple[Sighting, Sighting, Words, Words]:
    """The brackets that a checkpoint rests on, and the words for them.

    Where each hand is judged, those of the hand that decides; else of the last hand to do what it
    must, and of the first to do what it must not.
    """
    moments, found = scene.ladder.moments, scene.found
    met, due = moments[checkpoint.met], moments[checkpoint.due]
    if not checkpoint.each:
        return found[met.id], found[due.id], met.said, due.said
    met_said, due_said = (moment.words_of(side, both=True) for moment in (met, due))
    if side is None:
        return found.of(met.id, Hand.LAST), found.of(due.id, Hand.FIRST), met_said, due_said
    hands = [hands[SIDES.index(side)] for hands in ways_of(found, checkpoint)]
    first, second = (hull(seen) for seen in zip(*hands, strict=True))
    return first, second, met_said, due_said


def _cured(scene: _Scene, checkpoint: Statement, fault: Outcome) -> tuple[Outcome, str]:
    """A fault or its cure: strong Kleene disjunction, as far as both were looked at."""
    cure = statement_outcome(scene.found, checkpoint)
    if Outcome.CONFLICT in (fault, cure):
        return Outcome.CONFLICT, ""
    if Outcome.PROVEN in (fault, cure):
        return Outcome.PROVEN, "" if fault is Outcome.PROVEN else "cured before the clock stopped"
    if cure is Outcome.UNLOOKED:
        if fault is Outcome.REFUTED:
            return Outcome.UNLOOKED, "say whether the touch was cured before the stop"
        return fault, ""
    if fault is Outcome.UNLOOKED:
        return fault, ""
    early = is_too_early(scene.found, checkpoint) and fault is Outcome.REFUTED
    detail = "what was tagged as its cure came before the touch, and cures nothing" if early else ""
    return Outcome((Verdict(fault.value) | Verdict(cure.value)).value), detail


def _hand_at_fault(
    marks: Iterable[Mark], checkpoint: Statement, decides: Side | None
) -> str | None:
    """The hands that a fault was seen of, by its tags or by the hand whose instants decide it."""
    looks = (m for m in marks if isinstance(m, Look) and m.checkpoint == checkpoint.id)
    hands = {look.hand for look in looks if look.hand is not None and look.saw == "refuted"}
    return " and ".join(sorted(hands | ({decides} if decides else set()))) or None


def _settled(run: Run) -> str:
    return "; ".join(sorted({f"accepted: {entry.reason}" for entry in run.acceptances}))


def _elapsed(run: Run, found: Brackets, header: Header) -> Elapsed | None:
    """Seconds between start and stop; ``None`` while an end has no time in the footage."""
    stamps = {(spot.frame, spot.pts) for spot in run.spots}
    times = {frame: header.footage.lived(pts) for frame, pts in stamps}
    if len(times) < len(stamps):
        return None
    start, stop = _interval(found["start"], times), _interval(found["stop"], times)
    if start is None or stop is None or _untimed(header, found["start"], found["stop"]):
        return None
    return elapsed(start, stop)


def _untimed(header: Header, start: Sighting, stop: Sighting) -> str:
    """Why the footage tells no time from the start to the stop; empty where it does."""
    ends = [end for end in (start.after, start.by, stop.after, stop.by) if end is not None]
    joint = header.footage.joint_between(min(ends), max(ends)) if ends else None
    if joint is not None:
        return (
            f"frame {joint} begins another recording, and how much time went by before it is not "
            "known: the run cannot be timed"
        )
    doubt = header.footage.time_doubt
    return f"the footage tells no time: {doubt}" if doubt and ends else ""


def _interval(
    sighting: Sighting, times: Mapping[int, Fraction]
) -> tuple[Fraction, Fraction] | None:
    """The seconds of both ends; ``None`` where an end is not a frame of the footage."""
    if sighting.after is None or sighting.by is None or sighting.after not in times:
        return None
    return times[sighting.after], times[sighting.by]


# -- what is still to be looked at


def due_checkpoints(checked: Checked) -> Iterator[Checkpoint]:
    """The checkpoints of a run that nobody has looked at yet, in the order of the ladder."""
    return (checkpoint for checkpoint in checked.ladder.checkpoints if is_due(checkpoint, checked))


def is_due(checkpoint: Checkpoint, checked: Checked) -> bool:
    """Whether a checkpoint still has to be looked at; a cure only once its fault is refuted.

    So also the next touch of another stack in a repair, once there was one before. What is
    contradicted by the order of the run's tags is to be looked at again.
    """
    if is_contradicted(checked.clashes, checkpoint):
        return True
    if isinstance(checkpoint, Marker):
        return not checked.brackets.is_sighted(checkpoint.id)
    if not is_asked(checked.brackets, checked.ladder, checkpoint):
        return False
    return statement_outcome(checked.brackets, checkpoint).is_open
