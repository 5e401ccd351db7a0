"""What a settling session takes over from the reviews: what they agree on, and one side's finding.

Runs are numbered as ``ComparedRun.number``. A finding is taken over together with the agreed ones
that rest on the same instants: a session never mixes two reviewers' brackets of one instant.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from functools import cached_property

from sessions.evidence.frames import FrameSet
from sessions.record.entries import (
    AttemptsBefore,
    CupsSeen,
    Entry,
    Fumble,
    Line,
    Look,
    Note,
    NotShown,
    OtherFault,
    Played,
    Reading,
    ReadingAccepted,
    Shown,
    StartedOver,
)
from sessions.record.session import Mark, Run, Session
from sessions.rules.ladder import Statement
from sessions.ruling.brackets import brackets
from sessions.ruling.checker import OTHER_FAULT
from sessions.ruling.fumbles import run_ladder
from sessions.settling.agreement import CUPS
from sessions.settling.differences import (
    BEFORE,
    FUMBLES,
    NOT_SHOWN,
    OVER,
    READING,
    ComparedRun,
    Difference,
    Differences,
    Matter,
)
from sessions.settling.opinions import CLOCK, INSTANTS, of_clock


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


@dataclass(frozen=True)
class Taking:
    """How a settling session takes one side: what to take back, and what to write."""

    retract: tuple[Line, ...]
    write: tuple[Entry, ...]


def take_side(found: Differences, difference: Difference, side: int, settling: Session) -> Taking:
    """What makes a settling session say of a difference what a review says.

    What only other reviews looked at yields where it contradicts that: nobody settled it.
    """
    wanted, is_touched = _wanted(found, difference, side)
    touched = [line for line in settling.live if is_touched(line.entry)]
    said = [line.entry for line in touched]
    taking = Taking(
        retract=tuple(line for line in touched if line.entry not in wanted),
        write=tuple(entry for entry in wanted if entry not in said),
    )
    if difference.matter not in RESTING:
        return taking
    yielding = _yielding(found, difference, side, settling, taking)
    return replace(taking, retract=(*taking.retract, *yielding))


OF_FOOTAGE: dict[Matter, tuple[type, ...]] = {
    Matter.NOT_SHOWN: (NotShown,),
    Matter.BEFORE: (AttemptsBefore,),
}
"""The matters that may be of all the footage, and the entries that speak of them."""

RESTING = (
    Matter.CHECKPOINT, Matter.INSTANT, Matter.CLOCK, Matter.READING, Matter.FUMBLES,
)  # fmt: skip
"""The matters that rest on instants, as others do."""


# -- what is agreed


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
        yield from _numbered(_all_of(run), row) if uncounted else ()
        return
    sources = _sources(found, row)
    agreed: list[Entry] = [*_bounds(found, row, run)]
    agreed += run.fumbles if FUMBLES not in disputed else ()
    agreed += run.started_over if OVER not in disputed else ()
    agreed += run.not_shown if NOT_SHOWN not in disputed else ()
    agreed += (f for f in run.other_faults if f"{OTHER_FAULT}{f.rule}" not in disputed)
    agreed += _agreed_marks(row, found, sources)
    if CLOCK in sources:
        read = row.whole[sources[CLOCK]][1]
        agreed += (*read.readings, *read.accepted)
    yield from _numbered(agreed, row)


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


def _sources(found: Differences, row: ComparedRun) -> dict[str, int]:
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
    fallen = _fumbles(row) if FUMBLES in disputed else frozenset()
    subjects = [CLOCK, *ReviewSide(found, row, 0).subjects]
    return {
        s: alone.get(s, alone[CLOCK])
        for s in subjects
        if s not in disputed and s.partition(".")[0] not in fallen
    }


def _fumbles(row: ComparedRun) -> frozenset[str]:
    return frozenset(fumble.fumble for _, run in row.whole for fumble in run.fumbles)


def _agreed_marks(row: ComparedRun, found: Differences, sources: dict[str, int]) -> list[Mark]:
    """Every mark from one review: an instant's from the first that a checkpoint on it is from.

    The review that the clock is from comes first: another may not have sighted start and stop.
    What only another looked at, and what contradicts that, stays open.
    """
    claimed: set[str] = set()
    taken: list[Mark] = []
    for number in sorted(set(sources.values()), key=lambda n: (n != sources.get(CLOCK), n)):
        column = ReviewSide(found, row, number)
        subjects = {s for s, source in sources.items() if source == number}
        moments = column.moments(subjects) - claimed
        claimed |= moments
        own = brackets(column.ladder, column.run.marks).conflicts
        for mark in (m for m in column.run.marks if column.is_of(m, subjects, moments)):
            fits = brackets(column.ladder, [*taken, mark]).conflicts <= own
            taken += [mark] if fits else []
    return taken


def _agreed_cups(found: Differences) -> Iterator[Entry]:
    said = {d.subject: d for d in (*found.disputes, *found.remarks) if d.run is None}
    for cup in range(1, found.sessions[0].header.event.cups + 1):
        difference = said.get(f"{CUPS}.{cup}")
        if difference is None or difference.matter is Matter.ONE_SIDED:
            yield from _cup(found, 0 if difference is None else difference.sides[0], cup)


def _cup(found: Differences, column: int, cup: int) -> Iterator[Entry]:
    for entry in found.sessions[column].cups:
        if cup in entry.cups:
            yield entry.model_copy(update={"cups": (cup,)})


def _numbered(entries: Iterable[Entry], row: ComparedRun) -> Iterator[Entry]:
    return (entry.model_copy(update={"run": row.number}) for entry in entries)


# -- one side


def _wanted(found: Differences, difference: Difference, side: int) -> tuple[list[Entry], "Touched"]:
    """The side's entries on a difference, and which entries of a session are on it."""
    if difference.matter in OF_FOOTAGE:
        touched = Touched(kinds=OF_FOOTAGE[difference.matter])
        if difference.run is None:
            session = found.sessions[side]
            said: list[Entry] = [*session.not_shown, *session.attempts_before]
            return [entry for entry in said if touched(entry)], touched
    if difference.run is None:
        cup = int(difference.subject.removeprefix(f"{CUPS}."))
        return list(_cup(found, side, cup)), Touched(cup=cup)
    row = found.row(difference.run)
    if difference.matter is Matter.RUN:
        run = row.runs[side]
        return list(_numbered(_all_of(run) if run else (), row)), Touched(row.number)
    column = ReviewSide(found, row, side, difference.subject)
    if difference.matter is Matter.STARTED_OVER:
        touched = Touched(row.number, kinds=(StartedOver,))
    elif difference.matter is Matter.NOT_SHOWN:
        touched = Touched(row.number, kinds=(NotShown,))
    elif difference.matter is Matter.OTHER_FAULT:
        touched = Touched(row.number, kinds=(), rule=difference.subject.removeprefix(OTHER_FAULT))
    elif difference.matter is Matter.FUMBLES:
        touched = Touched(row.number, kinds=(Fumble,), fumbles=_fumbles(row))
    else:
        touched = _linked(found, difference, column, side)
    return [entry for entry in _numbered(_all_of(column.run), row) if touched(entry)], touched


def _linked(found: Differences, difference: Difference, column: ReviewSide, side: int) -> "Touched":
    row = found.row(difference.run or 0)
    sources = _sources(found, row)
    alone = {d.subject: d for d in found.remarks if d.run == row.number}
    agreed = {
        s for s in sources if s not in alone or alone[s].opinions[side].value is not None
    }  # fmt: skip
    if of_clock("", *row.whole[side]).value is None:
        agreed.discard(CLOCK)  # not compared where its start or stop differs: nothing tells so
        if difference.matter is Matter.READING:  # what others sighted is not the reading's
            return Touched(row.number, kinds=(Reading, ReadingAccepted), column=column)
    subject = CLOCK if difference.subject == READING else difference.subject
    group = column.linked(subject, agreed)
    kinds = (Reading, ReadingAccepted) if CLOCK in group else ()
    return Touched(row.number, kinds=kinds, column=column, subjects=frozenset(group))


def _yielding(
    found: Differences, difference: Difference, side: int, settling: Session, taking: Taking
) -> Iterator[Line]:
    """Marks that only other reviews made, and that contradict what the side says of an instant.

    Sightings that the side has are taken from it already; what was looked at anew stays.
    """
    row = found.row(difference.run or 0)
    column = ReviewSide(found, row, side, difference.subject)
    kept = [line for line in settling.live if line not in taking.retract]
    before = _conflicts(column, row, (line.entry for line in settling.live))
    conflicts = _conflicts(column, row, (*(line.entry for line in kept), *taking.write)) - before
    unsaid = {s for s in _unsaid(found, row, side) if column.moments([s]) & conflicts}
    sighted = conflicts & set(INSTANTS) if CLOCK in unsaid else frozenset()
    theirs = {mark for _, run in row.whole for mark in _numbered(run.marks, row)}
    for line in kept:
        mark = line.entry
        if isinstance(mark, Mark) and mark in theirs and column.is_of(mark, unsaid, sighted):
            yield line


def _conflicts(column: ReviewSide, row: ComparedRun, entries: Iterable[Entry]) -> frozenset[str]:
    """The instants of a run of which entries say what cannot be together."""
    marks = (entry for entry in entries if isinstance(entry, Mark) and entry.run == row.number)
    return brackets(column.ladder, marks).conflicts


def _unsaid(found: Differences, row: ComparedRun, side: int) -> Iterator[str]:
    """The checkpoints of a run that only other reviews than this looked at."""
    alone = (d for d in found.remarks if d.run == row.number and d.matter is Matter.ONE_SIDED)
    return (d.subject for d in alone if d.opinions[side].value is None)


@dataclass(frozen=True)
class Touched:
    """Tells the entries that a difference is about; all of a run's where only the run is given."""

    run: int | None = None
    cup: int | None = None
    kinds: tuple[type, ...] | None = None
    fumbles: frozenset[str] = frozenset()
    column: ReviewSide | None = None
    subjects: frozenset[str] = frozenset()
    rule: str = ""

    def __call__(self, entry: Entry) -> bool:
        """Whether an entry is one of them."""
        if self.cup is not None:
            return isinstance(entry, CupsSeen) and entry.cups == (self.cup,)
        if getattr(entry, "run", None) != self.run or isinstance(entry, Note):
            return False
        if self.rule:
            return isinstance(entry, OtherFault) and entry.rule == self.rule
        if self.kinds is None or isinstance(entry, self.kinds):
            return True
        return isinstance(entry, Mark) and self._has(entry)

    def _has(self, mark: Mark) -> bool:
        place = mark.checkpoint if isinstance(mark, Look) else mark.moment
        if self.column is None:
            return place.partition(".")[0] in self.fumbles
        return self.column.is_of(mark, self.subjects, self.column.moments(self.subjects))


def _all_of(run: Run) -> Iterator[Entry]:
    yield from run.begun
    yield from run.fumbles
    yield from run.started_over
    yield from run.not_shown
    yield from run.other_faults
    yield from run.marks
    yield from run.readings
    yield from run.accepted
    yield from run.ended
