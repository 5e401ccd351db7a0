"""What a settling session takes of one side of a difference, and what has to come along with it.

A finding is taken together with the agreed ones that rest on the same instants, and with those that
cannot be true beside it by the order of a run's moments.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

from sessions.record.entries import (
    AttemptsBefore,
    CaptureRate,
    CupsSeen,
    Entry,
    Fumble,
    Line,
    Note,
    NotShown,
    OtherFault,
    Reading,
    ReadingAccepted,
    StartedOver,
)
from sessions.record.session import Mark, Run, Session
from sessions.ruling.admissible import misread
from sessions.ruling.brackets import brackets
from sessions.ruling.checker import OTHER_FAULT
from sessions.ruling.order import Tag, place_of
from sessions.settling.agreement import CUPS
from sessions.settling.differences import (
    FUMBLES,
    READING,
    TITLES,
    ComparedRun,
    Difference,
    Differences,
    Matter,
)
from sessions.settling.merge import (
    ReviewSide,
    all_of,
    clashes_of,
    cup_entries,
    fumbles_of,
    numbered,
    sources,
)
from sessions.settling.opinions import CLOCK, INSTANTS, of_clock


@dataclass(frozen=True)
class Taking:
    """How a settling session takes one side: what to take back, and what to write.

    ``along`` are the titles of agreed checkpoints whose tags are taken from that side as well, as
    those of another review cannot be true together with what is taken.
    """

    retract: tuple[Line, ...]
    write: tuple[Entry, ...]
    along: tuple[str, ...] = ()


def take_side(found: Differences, difference: Difference, side: int, settling: Session) -> Taking:
    """What makes a settling session say of a difference what a review says.

    Where tags of checkpoints that all agree on cannot be true together with that, by the order of
    a run's moments, they are taken from the same review. What only other reviews looked at yields
    where it contradicts what is taken: nobody settled it.
    """
    wanted, touched = _wanted(found, difference, side)
    taking = _taking(settling.live, wanted, touched)
    if difference.matter not in RESTING:
        return taking
    return _Fitting(found, difference, side, settling).fitted(taking, touched)


def _taking(lines: Iterable[Line], wanted: Sequence[Entry], is_touched: "Touched") -> Taking:
    touched = [line for line in lines if is_touched(line.entry)]
    said = [line.entry for line in touched]
    return Taking(
        retract=tuple(line for line in touched if line.entry not in wanted),
        write=tuple(entry for entry in wanted if entry not in said),
    )


OF_FOOTAGE: dict[Matter, tuple[type, ...]] = {
    Matter.NOT_SHOWN: (NotShown,),
    Matter.BEFORE: (AttemptsBefore,),
    Matter.CAPTURE: (CaptureRate,),
}
"""The matters that may be of all the footage, and the entries that speak of them."""

RESTING = (
    Matter.CHECKPOINT, Matter.INSTANT, Matter.CLOCK, Matter.READING, Matter.FUMBLES,
)  # fmt: skip
"""The matters that rest on instants, as others do."""


def _wanted(found: Differences, difference: Difference, side: int) -> tuple[list[Entry], "Touched"]:
    """The side's entries on a difference, and which entries of a session are on it."""
    if difference.matter in OF_FOOTAGE:
        touched = Touched(kinds=OF_FOOTAGE[difference.matter])
        if difference.run is None:
            session = found.sessions[side]
            said: list[Entry] = [
                *session.not_shown,
                *session.attempts_before,
                *session.capture_rates,
            ]
            return [entry for entry in said if touched(entry)], touched
    if difference.run is None:
        cup = int(difference.subject.removeprefix(f"{CUPS}."))
        return list(cup_entries(found, side, cup)), Touched(cup=cup)
    row = found.row(difference.run)
    if difference.matter is Matter.RUN:
        run = row.runs[side]
        return list(numbered(all_of(run) if run else (), row)), Touched(row.number)
    column = ReviewSide(found, row, side, difference.subject)
    if difference.matter is Matter.STARTED_OVER:
        touched = Touched(row.number, kinds=(StartedOver,))
    elif difference.matter is Matter.NOT_SHOWN:
        touched = Touched(row.number, kinds=(NotShown,))
    elif difference.matter is Matter.OTHER_FAULT:
        touched = Touched(row.number, kinds=(), rule=difference.subject.removeprefix(OTHER_FAULT))
    elif difference.matter is Matter.FUMBLES:
        touched = Touched(row.number, kinds=(Fumble,), fumbles=fumbles_of(row))
    else:
        touched = _linked(found, difference, column, side)
    return _said_by(column, row, touched), touched


def _said_by(column: ReviewSide, row: ComparedRun, touched: "Touched") -> list[Entry]:
    """What a review says of a run, as far as it is touched."""
    return [entry for entry in numbered(all_of(column.run), row) if touched(entry)]


def _linked(found: Differences, difference: Difference, column: ReviewSide, side: int) -> "Touched":
    row = found.row(difference.run or 0)
    agreed = _agreed_with(found, row, side)
    if CLOCK not in agreed and difference.matter is Matter.READING:
        # what others sighted is not the reading's
        return Touched(row.number, kinds=(Reading, ReadingAccepted), column=column)
    subject = CLOCK if difference.subject == READING else difference.subject
    group = column.linked(subject, agreed)
    kinds = (Reading, ReadingAccepted) if CLOCK in group else ()
    return Touched(row.number, kinds=kinds, column=column, subjects=frozenset(group))


def _agreed_with(found: Differences, row: ComparedRun, side: int) -> set[str]:
    """The checkpoints of a run that nobody disputes, and that a review looked at."""
    alone = {d.subject: d for d in found.remarks if d.run == row.number}
    unsaid = {s for s, d in alone.items() if d.opinions[side].value is None}
    agreed = set(sources(found, row)) - unsaid
    if of_clock("", *row.whole[side]).value is None:
        agreed.discard(CLOCK)  # not compared where its start or stop differs: nothing tells so
    return agreed


class _Fitting:
    """Fits what a settling session holds of a run to one side of a difference on instants."""

    def __init__(
        self, found: Differences, difference: Difference, side: int, settling: Session
    ) -> None:
        self.row = found.row(difference.run or 0)
        self.column = ReviewSide(found, self.row, side, difference.subject)
        self.lines = settling.said_of(self.row.number)
        self._run = settling.run(self.row.number) or Run(self.row.number)
        self._event = settling.header.event
        self._agreed = _agreed_with(found, self.row, side)
        self._unsaid, self._alone = _one_sided(found, self.row, side)
        self._disputed = {d.subject for d in found.disputes if d.run == self.row.number}
        said = [set(numbered(all_of(run), self.row)) for _, run in self.row.whole]
        self._own, self._theirs = said[side], set[Entry]().union(*said)
        entries = [line.entry for line in self.lines]
        self._clashed, self._conflicted = self._clashes(entries), self._conflicts(entries)

    def fitted(self, taking: Taking, touched: "Touched") -> Taking:
        """The same with all that has to come along or to yield for it, or that may come back.

        What this review alone looked at had yielded to another: it comes back with all that it
        needs where all that then stands can be true, and else as far as it fits.
        """
        if gone := self._alone - {s for line in self.lines for s in self._subjects(line.entry)}:
            whole = self._fit(self._taking(touched, set(gone)), touched, gone)
            said = [*self._left(whole, ()), *whole.write]
            clashes = self._clashes(said) - self._clashed
            if not clashes and not self._conflicts(said) and not self._misread(said):
                return whole
        return self._fit(taking, touched, frozenset())

    def _subjects(self, entry: Entry) -> Iterator[str]:
        """What only some looked at that an entry is of."""
        if isinstance(entry, Mark):
            for subject in self._alone:
                if self.column.is_of(entry, [subject], self.column.moments([subject])):
                    yield subject

    def _fit(self, taking: Taking, touched: "Touched", back: frozenset[str]) -> Taking:
        along: set[str] = set(back)
        yielding: list[Line] = []
        while (line := self._odd_one_out(taking, yielding)) is not None:
            if subjects := self._linked(line.entry):
                along |= subjects
                taking = self._taking(touched, along)
            else:
                yielding.append(line)
        if self._misread([*self._left(taking, yielding), *taking.write]) & {*taking.write}:
            taking = self._unread(taking)
        titles = {c.id: c.title for c in self.column.ladder.statements} | TITLES
        named = tuple(title for subject, title in titles.items() if subject in along - back)
        gone = (line for line in yielding if line not in taking.retract)
        more = self._coming_back([*self._left(taking, yielding), *taking.write])
        return Taking((*taking.retract, *gone), (*taking.write, *more), named)

    def _unread(self, taking: Taking) -> Taking:
        """The same without readings that do not fit the stop, where nobody disputes them."""
        if READING in self._disputed:
            return taking
        kinds = (Reading, ReadingAccepted)
        return replace(
            taking,
            retract=tuple(line for line in taking.retract if not isinstance(line.entry, kinds)),
            write=tuple(entry for entry in taking.write if not isinstance(entry, kinds)),
        )

    def _left(self, taking: Taking, yielding: Iterable[Line]) -> list[Entry]:
        gone = {line.seq for line in (*taking.retract, *yielding)}
        return [line.entry for line in self.lines if line.seq not in gone]

    def _coming_back(self, held: list[Entry]) -> Iterator[Entry]:
        """What this review alone looked at, and what had yielded to another, as far as it fits."""
        kinds = (Reading, ReadingAccepted) if {CLOCK, READING} & self._alone else ()
        only = Touched(self.row.number, kinds=kinds, column=self.column, subjects=self._alone)
        for entry in _said_by(self.column, self.row, only):
            more = [*held, entry]
            if entry in held or self._conflicts(more) - self._conflicts(held):
                continue
            if not self._clashes(more) - self._clashes(held) and not self._misread(more):
                held = more
                yield entry

    def _taking(self, touched: "Touched", along: set[str]) -> Taking:
        kinds = *(touched.kinds or ()), *((Fumble,) if FUMBLES in along else ())
        more = replace(
            touched,
            column=self.column,
            subjects=touched.subjects | along - {READING, FUMBLES},
            kinds=(*kinds, Reading, ReadingAccepted) if along & {CLOCK, READING} else kinds,
        )
        return _taking(self.lines, _said_by(self.column, self.row, more), more)

    def _odd_one_out(self, taking: Taking, yielding: Iterable[Line]) -> Line | None:
        """What other reviews alone say, settled by nobody, that cannot be with what is taken."""
        entries = [*self._left(taking, yielding), *taking.write]
        odd = self._misread(entries).union(*(self._clashes(entries) - self._clashed))
        if self._conflicts(entries) - self._conflicted:
            own = [entry for entry in entries if entry in self._own]
            alone = self._conflicts(own)
            odd |= {e for e in entries if self._conflicts([*own, e]) - alone}
        gone = (*taking.retract, *yielding)
        able = (line for line in self.lines if line not in gone and line.entry in odd)
        return next((line for line in able if self._can_give_way(line.entry)), None)

    def _misread(self, entries: Iterable[Entry]) -> set[Entry]:
        """Readings from where the display cannot show the time, by what is said of the stop."""
        said = list(entries)
        stop = brackets(self.column.ladder, _marks(said))["stop"]
        readings = (entry for entry in said if isinstance(entry, Reading))
        return {e for e in readings if misread(self._run, stop, e.at.frame) is not None}

    def _can_give_way(self, entry: Entry) -> bool:
        """Whether only other reviews have an entry, and nobody settled what it says."""
        if entry not in self._theirs or entry in self._own:
            return False
        if isinstance(entry, Reading):
            return not self._disputed & {READING, CLOCK}
        sighted = self.column.moments(self._unsaid) - set(INSTANTS)
        sighted |= self.column.moments({CLOCK} & self._unsaid)
        if isinstance(entry, Mark) and self.column.is_of(entry, self._unsaid, sighted):
            return True
        return bool(self._linked(entry))

    def _linked(self, entry: Entry) -> set[str]:
        """What is agreed that an entry is of, and what shares instants with that."""
        if isinstance(entry, Reading):
            return {READING} if self.column.run.readings else set()
        if not isinstance(entry, Mark):
            return {FUMBLES} - self._disputed if isinstance(entry, Fumble) else set()
        found: set[str] = set()
        for subject in self._agreed:
            if self.column.is_of(entry, [subject], self.column.moments([subject])):
                found |= self.column.linked(subject, self._agreed)
        return found

    def _conflicts(self, entries: Iterable[Entry]) -> frozenset[str]:
        """The instants of the run of which entries say what cannot be together."""
        return brackets(self.column.ladder, _marks(entries)).conflicts

    def _clashes(self, entries: Sequence[Entry]) -> set[frozenset[Tag]]:
        """The fewest tags of the run that cannot all be true by the order of its moments."""
        fumbles = tuple(entry for entry in entries if isinstance(entry, Fumble))
        return clashes_of(self._event, replace(self._run, marks=_marks(entries), fumbles=fumbles))


def _marks(entries: Iterable[Entry]) -> tuple[Mark, ...]:
    return tuple(entry for entry in entries if isinstance(entry, Mark))


def _one_sided(
    found: Differences, row: ComparedRun, side: int
) -> tuple[frozenset[str], frozenset[str]]:
    """The checkpoints of a run that only others than this review looked at, and only it and some.

    Nobody disputes them.
    """
    alone = [d for d in found.remarks if d.run == row.number and d.matter is Matter.ONE_SIDED]
    unsaid = {d.subject for d in alone if d.opinions[side].value is None}
    return frozenset(unsaid), frozenset(d.subject for d in alone) - unsaid


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
        if place_of(mark).partition(".")[0] in self.fumbles:
            return True
        column, subjects = self.column, self.subjects
        return column is not None and column.is_of(mark, subjects, column.moments(subjects))
