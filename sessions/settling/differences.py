"""Where finished reviews of one claim differ, checkpoint by checkpoint, with both sides' frames.

Runs of different reviews are one run where they share frames. ``disputes`` are what has to be
settled before the reviews rule alike; ``remarks`` need no settling: brackets that differ though the
verdict is the same, what only some looked at, and what follows from the disputes.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum
from itertools import combinations

from sessions.record.entries import Fumble
from sessions.record.session import Run, Session
from sessions.ruling.checker import OTHER_FAULT
from sessions.ruling.judge import rule
from sessions.ruling.ruling import RuledFinding, RuledRun, Ruling
from sessions.settling.agreement import CUPS, align
from sessions.settling.opinions import (
    CLOCK,
    INSTANTS,
    START,
    STOP,
    Opinion,
    bounds,
    of_attempts_before,
    of_capture_rates,
    of_checkpoint,
    of_clock,
    of_cup,
    of_fumbles,
    of_instant,
    of_not_shown,
    of_other_fault,
    of_reading,
    of_reasons,
    of_run,
    of_starting_over,
)

READING, RUN, OVER, FUMBLES = "reading", "run", "started-over", "fumbles"
NOT_SHOWN, BEFORE, CAPTURE = "not-shown", "attempts-before", "capture-rate"
REASONS = "clock-reasons"
"""Subjects of differences in a run beside its checkpoints and its clock."""

TITLES = {
    START: "Start of the clock",
    STOP: "Stop of the clock",
    READING: "Reading of the display",
    RUN: "Counts as an attempt",
    OVER: "Started over",
    FUMBLES: "Fumbles",
    NOT_SHOWN: "What the footage does not show",
    BEFORE: "Attempts before this footage",
    CAPTURE: "Capture rate of the footage",
    CLOCK: "Display against picture",
    REASONS: "Why display and picture part",
}
"""The titles of the matters that are no checkpoints, by subject."""

DERIVED = frozenset({"count.allowance", "record.complete"})
"""Rules whose findings follow from other entries, and are never settled by themselves."""


class Matter(StrEnum):
    """What a difference is about."""

    CHECKPOINT = "checkpoint"
    INSTANT = "start or stop of the clock"
    CLOCK = "clock"
    READING = "reading"
    RUN = "run"
    STARTED_OVER = "starting over"
    FUMBLES = "fumbles"
    OTHER_FAULT = "fault that no checkpoint asks for"
    NOT_SHOWN = "what is not shown"
    BEFORE = "attempts before this footage"
    CAPTURE = "capture rate of the footage"
    CUP = "cup"
    BRACKET = "bracket"
    REASONS = "reasons"
    ONE_SIDED = "looked at by some only"
    ATTEMPT = "attempt number"
    BOUNDS = "bounds of the run"
    STANDING = "standing"


@dataclass(frozen=True, slots=True)
class Difference:
    """One difference, with an opinion of each review in their order.

    ``run`` counts, from 1, the runs that the reviews have between them; what is of the cups or of
    all the footage has ``None``.
    """

    matter: Matter
    subject: str
    title: str
    run: int | None
    opinions: tuple[Opinion, ...]

    @property
    def key(self) -> str:
        """Names the difference among all of one claim's reviews."""
        return self.subject if self.run is None else f"{self.run}.{self.subject}"

    @property
    def sides(self) -> tuple[int, ...]:
        """The first review of each opinion held, in the order of the reviews."""
        held: dict[str, int] = {}
        for column, opinion in enumerate(self.opinions):
            if opinion.value is not None:
                held.setdefault(opinion.value, column)
        return tuple(held.values())


@dataclass(frozen=True, slots=True)
class ComparedRun:
    """One run as the reviews have it: number from 1, and in each column what a review says."""

    number: int
    ruled: tuple[RuledRun | None, ...]
    runs: tuple[Run | None, ...]

    @property
    def is_counted(self) -> bool:
        """Whether every review has the run, as an attempt."""
        return all(run is not None and run.counts for run in self.runs)

    @property
    def whole(self) -> tuple[tuple[RuledRun, Run], ...]:
        """The columns of a run that every review has."""
        pairs = zip(self.ruled, self.runs, strict=True)
        return tuple((ruled, run) for ruled, run in pairs if ruled is not None and run is not None)


@dataclass(frozen=True)
class Differences:
    """The reviews side by side: their sessions, rulings and rows of runs, and what differs."""

    sessions: tuple[Session, ...]
    rulings: tuple[Ruling, ...]
    rows: tuple[ComparedRun, ...]
    disputes: tuple[Difference, ...]
    remarks: tuple[Difference, ...]

    @property
    def reviewers(self) -> tuple[str, ...]:
        """Whose reviews they are."""
        return tuple(session.header.reviewer for session in self.sessions)

    def row(self, number: int) -> ComparedRun:
        """The run with this number."""
        return self.rows[number - 1]


SETTLED = frozenset(
    {
        Matter.CHECKPOINT, Matter.INSTANT, Matter.CLOCK, Matter.READING, Matter.RUN,
        Matter.STARTED_OVER, Matter.FUMBLES, Matter.OTHER_FAULT, Matter.NOT_SHOWN, Matter.BEFORE,
        Matter.CAPTURE,
        Matter.CUP,
    }
)  # fmt: skip
"""The matters that have to be settled."""


def differences(sessions: Sequence[Session]) -> Differences:
    """Compare reviews of one claim, given by their sessions from the first reviewer's on.

    All must be of the same footage and the same event.
    """
    rulings = tuple(rule(session) for session in sessions)
    aligned = align([ruling.runs for ruling in rulings])
    rows = tuple(_row(number, ruled, sessions) for number, ruled in enumerate(aligned, 1))
    names = [session.header.reviewer for session in sessions]
    found = [d for row in rows for d in _in_run(row, names)]
    found += _of_footage(sessions, names)
    found += _cups(rulings, names)
    return Differences(
        sessions=tuple(sessions),
        rulings=rulings,
        rows=rows,
        disputes=tuple(d for d in found if d.matter in SETTLED),
        remarks=tuple(d for d in found if d.matter not in SETTLED),
    )


def _of_footage(sessions: Sequence[Session], names: Sequence[str]) -> Iterator[Difference]:
    """What reviews say of all the footage, and of what came before it."""
    not_shown = [of_not_shown(n, s.not_shown) for n, s in zip(names, sessions, strict=True)]
    before = [
        of_attempts_before(n, s.attempts_before) for n, s in zip(names, sessions, strict=True)
    ]
    yield from _differing(None, Matter.NOT_SHOWN, NOT_SHOWN, TITLES[NOT_SHOWN], not_shown)
    yield from _differing(None, Matter.BEFORE, BEFORE, TITLES[BEFORE], before)
    taken = [of_capture_rates(n, s.capture_rates) for n, s in zip(names, sessions, strict=True)]
    yield from _differing(None, Matter.CAPTURE, CAPTURE, TITLES[CAPTURE], taken)


def _row(number: int, ruled: Sequence[RuledRun | None], sessions: Sequence[Session]) -> ComparedRun:
    pairs = zip(ruled, sessions, strict=True)
    runs = tuple(None if run is None else session.run(run.run) for run, session in pairs)
    return ComparedRun(number, tuple(ruled), runs)


def _in_run(row: ComparedRun, names: Sequence[str]) -> Iterator[Difference]:
    counted = {run is not None and run.counts for run in row.runs}
    if counted == {True}:
        yield from _in_attempt(row, names)
    elif len(counted) > 1:
        opinions = [of_run(name, run) for name, run in zip(names, row.ruled, strict=True)]
        yield Difference(Matter.RUN, RUN, TITLES[RUN], row.number, tuple(opinions))


def _in_attempt(row: ComparedRun, names: Sequence[str]) -> Iterator[Difference]:
    over = _differing(
        row, Matter.STARTED_OVER, OVER, TITLES[OVER], map(of_starting_over, names, row.whole)
    )
    fumbles = _differing(
        row, Matter.FUMBLES, FUMBLES, TITLES[FUMBLES], map(of_fumbles, names, row.whole)
    )
    yield from (*over, *fumbles)
    not_shown = [of_not_shown(name, run.not_shown) for name, (_, run) in _named(names, row)]
    yield from _differing(row, Matter.NOT_SHOWN, NOT_SHOWN, TITLES[NOT_SHOWN], not_shown)
    yield from _other_faults(row, names)
    yield from _checkpoints(row, names, {f.fumble for f in _all_fumbles(row)} if fumbles else set())
    yield from _clocks(row, names)
    yield from _consequences(row, names)


def _other_faults(row: ComparedRun, names: Sequence[str]) -> Iterator[Difference]:
    """Faults that no checkpoint asks for, rule by rule: who noted none says that there was none."""
    titles = {f.rule: f.title for ruled, _ in row.whole for f in other_faults(ruled)}
    for rule_id, title in titles.items():
        said = [of_other_fault(name, rule_id, run) for name, (_, run) in _named(names, row)]
        subject = f"{OTHER_FAULT}{rule_id}"
        yield from _differing(row, Matter.OTHER_FAULT, subject, title, said)


def other_faults(ruled: RuledRun) -> Iterator[RuledFinding]:
    """The findings on rules that no checkpoint asks for."""
    return (f for f in ruled.findings if f.checkpoint.startswith(OTHER_FAULT))


def _clocks(row: ComparedRun, names: Sequence[str]) -> Iterator[Difference]:
    """What was sighted and read of the clock; what follows for it only where these agree."""
    apart = [d for instant in INSTANTS for d in _instant(row, names, instant)]
    readings = [of_reading(name, ruled, run) for name, (ruled, run) in _named(names, row)]
    reading = _judged(row, Matter.READING, READING, TITLES[READING], readings)
    yield from (*apart, *reading)
    clocks = [of_clock(name, ruled, run) for name, (ruled, run) in _named(names, row)]
    clock = _judged(row, Matter.CLOCK, CLOCK, TITLES[CLOCK], clocks)
    follows = any(d.matter in SETTLED for d in (*apart, *reading))
    yield from (d for d in clock if d.matter is Matter.ONE_SIDED or not follows)
    reasons = [of_reasons(name, run) for name, (_, run) in _named(names, row)]
    if all(reason.value is not None for reason in reasons):
        yield from _differing(row, Matter.REASONS, REASONS, TITLES[REASONS], reasons)


def _instant(row: ComparedRun, names: Sequence[str], instant: str) -> Iterator[Difference]:
    """The start or the stop, where two reviews sighted it so that one of them must be wrong."""
    said = [of_instant(name, ruled, run, instant) for name, (ruled, run) in _named(names, row)]
    sighted = [opinion.sighting for opinion in said if opinion.value is not None]
    if any(one.is_apart(other) for one, other in combinations(sighted, 2)):
        yield Difference(Matter.INSTANT, instant, TITLES[instant], row.number, tuple(said))


def _named(names: Sequence[str], row: ComparedRun) -> Iterator[tuple[str, tuple[RuledRun, Run]]]:
    return zip(names, row.whole, strict=True)


def _checkpoints(row: ComparedRun, names: Sequence[str], fumbles: set[str]) -> Iterator[Difference]:
    """The ladder's checkpoints; those of fumbles only where all have the same fumbles."""
    found = [
        {f.checkpoint: f for f in ruled.findings if _is_of_ladder(f)} for ruled, _ in row.whole
    ]
    for checkpoint in dict.fromkeys(checkpoint for findings in found for checkpoint in findings):
        if checkpoint.partition(".")[0] in fumbles:
            continue
        said = [findings[checkpoint] for findings in found]
        opinions = [
            of_checkpoint(name, finding, run)
            for name, finding, (_, run) in zip(names, said, row.whole, strict=True)
        ]
        yield from _judged(row, Matter.CHECKPOINT, checkpoint, said[0].title, opinions)


def _is_of_ladder(finding: RuledFinding) -> bool:
    """Whether a finding is on a checkpoint of the ladder, which all reviews of a run have."""
    if finding.rule in DERIVED or finding.checkpoint == CLOCK:
        return False
    return not finding.checkpoint.startswith(OTHER_FAULT)


def _judged(
    row: ComparedRun, matter: Matter, subject: str, title: str, opinions: Sequence[Opinion]
) -> list[Difference]:
    """A dispute, or what only some looked at, or brackets that differ; or nothing."""
    held = {opinion.value for opinion in opinions}
    if len(held - {None}) > 1:
        kind = matter
    elif len(held) > 1:
        kind = Matter.ONE_SIDED
    elif len({opinion.brackets for opinion in opinions}) > 1:
        kind = Matter.BRACKET
    else:
        return []
    return [Difference(kind, subject, title, row.number, tuple(opinions))]


def _differing(
    row: ComparedRun | None, matter: Matter, subject: str, title: str, opinions: Iterable[Opinion]
) -> list[Difference]:
    said = tuple(opinions)
    differs = len({opinion.value for opinion in said}) > 1
    run = None if row is None else row.number
    return [Difference(matter, subject, title, run, said)] if differs else []


def _consequences(row: ComparedRun, names: Sequence[str]) -> Iterator[Difference]:
    """What follows from other differences, or does not matter: number, bounds and standing."""
    ruled = [ruled for ruled, _ in row.whole]
    texts = {
        (Matter.ATTEMPT, "Attempt number"): [f"attempt {run.number}" for run in ruled],
        (Matter.BOUNDS, "Bounds of the run"): [f"frames {bounds(run)}" for run in ruled],
        (Matter.STANDING, "Standing"): [str(run.standing) for run in ruled],
    }
    for (matter, title), said in texts.items():
        opinions = (Opinion(name, text, text) for name, text in zip(names, said, strict=True))
        yield from _differing(row, matter, matter.value, title, opinions)


def _all_fumbles(row: ComparedRun) -> Iterator[Fumble]:
    return (fumble for _, run in row.whole for fumble in run.fumbles)


def cup_title(cup: int) -> str:
    """The title of a difference on a cup."""
    return f"Maker's mark of cup {cup}"


def _cups(rulings: Sequence[Ruling], names: Sequence[str]) -> Iterator[Difference]:
    for said in zip(*(ruling.cups for ruling in rulings), strict=True):
        opinions = tuple(of_cup(name, cup) for name, cup in zip(names, said, strict=True))
        held = {opinion.value for opinion in opinions}
        if len(held) > 1:
            matter = Matter.CUP if len(held - {None}) > 1 else Matter.ONE_SIDED
            cup = said[0].cup
            yield Difference(matter, f"{CUPS}.{cup}", cup_title(cup), None, opinions)
