"""What a settling session begins with: all that the reviews agree on, put into one.

Runs are numbered as ``ComparedRun.number``. Every instant is taken from one review: a session never
mixes two reviewers' brackets of one instant.
"""

from collections.abc import Iterable, Iterator
from dataclasses import replace
from functools import cached_property

from sessions.evidence.frames import FrameSet
from sessions.record.entries import (
    Entry,
    Look,
    Played,
    Shown,
)
from sessions.record.session import Mark, Run
from sessions.rules.events import EventDefinition
from sessions.rules.ladder import Statement
from sessions.ruling.brackets import brackets
from sessions.ruling.checker import OTHER_FAULT
from sessions.ruling.fumbles import run_ladder
from sessions.ruling.order import Tag, contradictions
from sessions.settling.agreement import CUPS
from sessions.settling.differences import (
    BEFORE,
    CAPTURE,
    FUMBLES,
    NOT_SHOWN,
    OVER,
    READING,
    ComparedRun,
    Differences,
    Matter,
)
from sessions.settling.opinions import CLOCK, INSTANTS


class ReviewSide:
    """One review's side of a run that all have, by the checkpoints of its ladder.

    An instant of the clock on which the reviews are apart is of no checkpoint's, nor the clock's:
    it is settled by itself. Where that is being settled, ``settles`` names it.
    """

    def __init__(
        self, found: Differences, row: ComparedRun, number: int, settles: str = ""
    ) -> None:
        self.run: Run = row.whole[number][1]
        disputes = (d for d in found.disputes if d.run == row.number)
        self._apart = {d.subject for d in disputes if d.matter is Matter.INSTANT} - {settles}
        self.ladder = run_ladder(found.sessions[number].header.event, self.run.fumbles)

    @cached_property
    def _by_subject(self) -> dict[str, list[Statement]]:
        """The checkpoints, each with its cure."""
        found: dict[str, list[Statement]] = {}
        for checkpoint in self.ladder.statements:
            found.setdefault(checkpoint.cures or checkpoint.id, []).append(checkpoint)
        return found

    @property
    def subjects(self) -> tuple[str, ...]:
        """The checkpoints that are judged, in the order of the ladder."""
        return tuple(self._by_subject)

    def moments(self, subjects: Iterable[str]) -> set[str]:
        """The instants that these checkpoints, the clock or its start or stop rest on."""
        found: set[str] = set()
        for subject in subjects:
            if subject == CLOCK:
                found |= set(INSTANTS)
            elif subject in INSTANTS:
                found.add(subject)
            for checkpoint in self._by_subject.get(subject, ()):
                found |= {checkpoint.met, checkpoint.due}
        return found - self._apart

    def is_of(self, mark: Mark, subjects: Iterable[str], moments: Iterable[str]) -> bool:
        """Whether a mark is a look at one of the checkpoints, or sights one of the instants."""
        if isinstance(mark, Look):
            return any(
                r.id == mark.checkpoint for s in subjects for r in self._by_subject.get(s, ())
            )
        return mark.moment in moments

    def linked(self, subject: str, agreed: Iterable[str]) -> set[str]:
        """A checkpoint and the agreed ones that share instants with it, directly or by others."""
        left, group = set(agreed) - {subject}, {subject}
        while joined := {s for s in left if self.moments([s]) & self.moments(group)}:
            group |= joined
            left -= joined
        return group


def agreed_entries(found: Differences) -> Iterator[Entry]:
    """Entries that say all that the reviews agree on, and what only some of them looked at."""
    yield from _watched(found)
    for row in found.rows:
        yield from _agreed_run(found, row)
    yield from _agreed_of_footage(found)
    yield from _agreed_cups(found)


def _agreed_of_footage(found: Differences) -> Iterator[Entry]:
    """What all say of all the footage and of what came before it, in the words of the first."""
    disputed = {d.subject for d in found.disputes if d.run is None}
    first = found.sessions[0]
    yield from first.not_shown if NOT_SHOWN not in disputed else ()
    yield from first.attempts_before if BEFORE not in disputed else ()
    yield from first.capture_rates if CAPTURE not in disputed else ()


def _watched(found: Differences) -> Iterator[Entry]:
    """Frames count as shown that any reviewer has seen; each of them saw with their own eyes."""
    shown = FrameSet.of(r for session in found.sessions for r in session.shown.ranges)
    stamps = {f: stamp for session in found.sessions for f, stamp in session.stamps.items()}
    if shown.ranges:
        ends = tuple((stamps.get(a), stamps.get(b)) for a, b in shown.ranges)
        told = tuple((a, b) for a, b in ends if a is not None and b is not None)
        yield Shown(ranges=shown.ranges, stamps=told if len(told) == len(ends) else ())
    lines = (line for session in found.sessions for line in session.live)
    yield from dict.fromkeys(line.entry for line in lines if isinstance(line.entry, Played))


def _agreed_run(found: Differences, row: ComparedRun) -> Iterator[Entry]:
    disputed = {d.subject for d in found.disputes if d.run == row.number}
    run = next(run for run in row.runs if run is not None)
    if not row.is_counted:
        uncounted = not any(other is not None and other.counts for other in row.runs)
        yield from numbered(all_of(run), row) if uncounted else ()
        return
    taken_from = sources(found, row)
    agreed: list[Entry] = [*_bounds(found, row, run)]
    agreed += row.whole[_lead(taken_from)][1].fumbles if FUMBLES not in disputed else ()
    agreed += run.started_over if OVER not in disputed else ()
    agreed += run.not_shown if NOT_SHOWN not in disputed else ()
    agreed += (f for f in run.other_faults if f"{OTHER_FAULT}{f.rule}" not in disputed)
    agreed += _agreed_marks(row, found, taken_from)
    if CLOCK in taken_from:
        read = row.whole[taken_from[CLOCK]][1]
        agreed += (*read.readings, *read.accepted)
    yield from numbered(agreed, row)


def _bounds(found: Differences, row: ComparedRun, run: Run) -> Iterator[Entry]:
    """The beginning and the end of a run, drawn so wide that every review's tags of it lie within.

    It ends before the next run begins in any review, or as in the review that it is taken from.
    """
    runs = [other for _, other in row.whole]
    first = min((r.begins.frame for r in runs if r.begins is not None), default=0)
    later = (other for after in found.rows[row.number :] for other in after.runs if other)
    next_first = min((r.begins.frame for r in later if r.begins is not None), default=None)
    for begun in run.begun:
        wider = (e for r in runs for e in r.begun if e.begins.frame == first)
        yield begun.model_copy(update={"begins": next(wider, begun).begins})
    for ended in run.ended:
        if ended.ends != run.ends:  # ended twice: that stays a contradiction
            yield ended
            continue
        ends = [ended.ends, *(r.ends for r in runs if r.ends is not None)]
        fitting = [spot for spot in ends if next_first is None or spot.frame < next_first]
        last = max(fitting, key=lambda spot: spot.frame, default=ended.ends)
        yield ended.model_copy(update={"ends": last})


def sources(found: Differences, row: ComparedRun) -> dict[str, int]:
    """The column from which each checkpoint that is not disputed is taken.

    What all say is taken from the review that the clock is from: no other need fit its instants.
    """
    disputed = {d.subject for d in found.disputes if d.run == row.number}
    disputed |= {CLOCK} if READING in disputed else set()
    alone = {
        d.subject: d.sides[0]
        for d in found.remarks
        if d.run == row.number and d.matter is Matter.ONE_SIDED
    }
    alone.setdefault(CLOCK, alone.get(READING, 0))
    fallen = fumbles_of(row) if FUMBLES in disputed else frozenset()
    subjects = [CLOCK, *ReviewSide(found, row, 0).subjects]
    return {
        s: alone.get(s, alone[CLOCK])
        for s in subjects
        if s not in disputed and s.partition(".")[0] not in fallen
    }


def fumbles_of(row: ComparedRun) -> frozenset[str]:
    """The names of all fumbles that any review has in a run."""
    return frozenset(fumble.fumble for _, run in row.whole for fumble in run.fumbles)


def _lead(taken_from: dict[str, int]) -> int:
    """The review that the clock is from, which comes first; else the first that anything is from.

    Another may not have sighted start and stop.
    """
    return taken_from.get(CLOCK, min(taken_from.values(), default=0))


def _agreed_marks(row: ComparedRun, found: Differences, taken_from: dict[str, int]) -> list[Mark]:
    """Every mark from one review: an instant's from the first that a checkpoint on it is from.

    What only another looked at, and what contradicts that, stays open.
    """
    claimed: set[str] = set()
    taken: list[Mark] = []
    event, lead = found.sessions[0].header.event, _lead(taken_from)
    fumbles = row.whole[lead][1].fumbles
    for number in sorted(set(taken_from.values()), key=lambda n: (n != lead, n)):
        column = ReviewSide(found, row, number)
        subjects = {s for s, source in taken_from.items() if source == number}
        moments = column.moments(subjects) - claimed
        claimed |= moments
        own = brackets(column.ladder, column.run.marks).conflicts
        clashed = clashes_of(event, column.run)
        clashed |= clashes_of(event, replace(column.run, marks=tuple(taken), fumbles=fumbles))
        for mark in (m for m in column.run.marks if column.is_of(m, subjects, moments)):
            with_it = replace(column.run, marks=(*taken, mark), fumbles=fumbles)
            fits = brackets(column.ladder, with_it.marks).conflicts <= own
            if fits and (number == lead or clashes_of(event, with_it) <= clashed):
                taken.append(mark)
    return taken


def _agreed_cups(found: Differences) -> Iterator[Entry]:
    said = {d.subject: d for d in (*found.disputes, *found.remarks) if d.run is None}
    for cup in range(1, found.sessions[0].header.event.cups + 1):
        difference = said.get(f"{CUPS}.{cup}")
        if difference is None or difference.matter is Matter.ONE_SIDED:
            yield from cup_entries(found, 0 if difference is None else difference.sides[0], cup)


def cup_entries(found: Differences, column: int, cup: int) -> Iterator[Entry]:
    """What one review says of one cup."""
    for entry in found.sessions[column].cups:
        if cup in entry.cups:
            yield entry.model_copy(update={"cups": (cup,)})


def numbered(entries: Iterable[Entry], row: ComparedRun) -> Iterator[Entry]:
    """Entries of a run with the number that the reviews have for it between them."""
    return (entry.model_copy(update={"run": row.number}) for entry in entries)


def clashes_of(event: EventDefinition, run: Run) -> set[frozenset[Tag]]:
    """The fewest tags of a run that cannot all be true by the order of its moments."""
    found = contradictions(event, run, run.marks, run_ladder(event, run.fumbles))
    return {frozenset(clash.tags) for clash in found}


def all_of(run: Run) -> Iterator[Entry]:
    """Every entry that speaks of a run."""
    yield from run.begun
    yield from run.fumbles
    yield from run.started_over
    yield from run.not_shown
    yield from run.other_faults
    yield from run.marks
    yield from run.readings
    yield from run.accepted
    yield from run.ended
