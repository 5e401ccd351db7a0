"""The session: a fold over the lines of the journal, and nothing else.

The bench, the checker and every export replay these lines alike; the bench lets the session grow
by the lines that a key adds, and judges only the runs that these touch. The order of the lines does
not matter for what a session says, only for what a retraction or an amendment takes back.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import Literal, TypeVar

from sessions.evidence.frames import FrameSet
from sessions.exact import micros
from sessions.record.entries import (
    AttemptsBefore,
    CaptureRate,
    CupsSeen,
    Entry,
    Finished,
    Fumble,
    Line,
    Look,
    Note,
    NotShown,
    OtherFault,
    Reading,
    ReadingAccepted,
    Reopened,
    Retracted,
    RunBegun,
    RunEnded,
    Settling,
    Shown,
    Sighted,
    Spot,
    StartedOver,
    completed,
    timed,
)
from sessions.record.header import Header

Mark = Look | Sighted
Where = Literal["before", "after"]
"""The side of a run on which a frame beside it lies."""


@dataclass(frozen=True)
class Run:
    """One run on the tape, with everything that was said of it and still holds.

    Where entries of a kind that can hold only once differ (``readings``, ``begun``, ``ended``),
    all are kept, so that the checker can say so. ``next_begins`` is the frame in which the next
    run of the footage begins; the last run has none. ``shown_nowhere`` is what none of the footage
    shows.
    """

    id: int
    begun: tuple[RunBegun, ...] = ()
    ended: tuple[RunEnded, ...] = ()
    marks: tuple[Mark, ...] = ()
    readings: tuple[Reading, ...] = ()
    fumbles: tuple[Fumble, ...] = ()
    started_over: tuple[StartedOver, ...] = ()
    accepted: tuple[ReadingAccepted, ...] = ()
    other_faults: tuple[OtherFault, ...] = ()
    not_shown: tuple[NotShown, ...] = ()
    next_begins: int | None = None
    shown_nowhere: tuple[NotShown, ...] = ()

    @property
    def display(self) -> str | None:
        """What the display reads; ``None`` without a reading, and where readings differ."""
        return one_display(self.readings)

    @property
    def acceptances(self) -> tuple[ReadingAccepted, ...]:
        """The acceptances that were given for the reading as it stands."""
        display = self.display
        if display is None:
            return ()
        return tuple(e for e in self.accepted if micros(e.display) == micros(display))

    @property
    def lacking(self) -> tuple[NotShown, ...]:
        """What the footage does not show of the run, or nowhere."""
        return (*self.not_shown, *self.shown_nowhere)

    @property
    def begins(self) -> Spot | None:
        """Where the run begins."""
        return min((e.begins for e in self.begun), key=_frame, default=None)

    @property
    def ends(self) -> Spot | None:
        """Where the run ends; ``None`` while it is open."""
        return max((e.ends for e in self.ended), key=_frame, default=None)

    def side_of(self, frame: int) -> Where | None:
        """On which side of the run a frame lies; ``None`` in it. A run that is open has no end."""
        if self.begins is not None and frame < self.begins.frame:
            return "before"
        if self.ends is not None and frame > self.ends.frame:
            return "after"
        return None

    @property
    def restarts(self) -> tuple[Spot, ...]:
        """Where in the run the event was started over, in the order of the footage, each once."""
        spots = {entry.at.frame: entry.at for entry in self.started_over}
        return tuple(spots[frame] for frame in sorted(spots) if self.side_of(frame) is None)

    @property
    def spots(self) -> Iterator[Spot]:
        """Every frame that the run's marks and other faults name, with its time stamp."""
        for mark in (*self.marks, *self.other_faults):
            yield mark.by
            if mark.after is not None:
                yield mark.after

    @property
    def frames(self) -> Iterator[int]:
        """Every frame that any entry of the run names."""
        yield from (spot.frame for spot in self.spots)
        yield from (entry.begins.frame for entry in self.begun)
        yield from (entry.ends.frame for entry in self.ended)
        yield from (entry.at.frame for entry in self.readings)
        yield from (entry.at.frame for entry in self.fumbles)
        yield from (entry.at.frame for entry in self.started_over)
        yield from (spot.frame for entry in self.not_shown for spot in (entry.first, entry.last))

    @property
    def sort(self) -> str:
        """attempt, warm-up or rearranging; an attempt where entries differ."""
        sorts = {e.sort for e in self.begun}
        return sorts.pop() if len(sorts) == 1 else "attempt"

    @property
    def counts(self) -> bool:
        """Whether the run takes an attempt number."""
        return self.sort == "attempt"


@dataclass(frozen=True)
class Session:
    """What a session says: the runs in the order of the footage, cups, notes, frames shown.

    ``not_shown`` is what none of the footage shows; what a run does not show is the run's.
    ``stamps`` are the time stamps of frames shown, as far as they are written down, by frame.
    ``by_run`` holds the living lines that speak of each run, begun or not; ``milestones`` the
    living lines that say which reviews the session settles, and whether it is finished. ``dead``
    are the numbers of the lines that were taken back or amended.
    """

    header: Header
    lines: tuple[Line, ...] = ()
    dead: frozenset[int] = field(default=frozenset(), repr=False)
    live: tuple[Line, ...] = ()
    runs: tuple[Run, ...] = ()
    orphans: tuple[Line, ...] = ()
    cups: tuple[CupsSeen, ...] = ()
    notes: tuple[Note, ...] = ()
    not_shown: tuple[NotShown, ...] = ()
    attempts_before: tuple[AttemptsBefore, ...] = ()
    capture_rates: tuple[CaptureRate, ...] = ()
    shown: FrameSet = field(default_factory=FrameSet)
    stamps: Mapping[int, int] = field(default_factory=dict, repr=False)
    by_run: Mapping[int, tuple[Line, ...]] = field(default_factory=dict, repr=False)
    milestones: tuple[Line, ...] = ()

    def run(self, run_id: int) -> Run | None:
        """The run with this id, if it was begun."""
        return next((run for run in self.runs if run.id == run_id), None)

    def run_at(self, frame: int) -> Run | None:
        """The last run begun at or before a frame and not ended before it."""
        for run in reversed(self.runs):
            if run.begins is not None and run.begins.frame <= frame:
                open_here = run.ends is None or frame <= run.ends.frame
                return run if open_here else None
        return None

    def said_of(self, run_id: int | None) -> tuple[Line, ...]:
        """The living lines that speak of a run, in their order."""
        return () if run_id is None else self.by_run.get(run_id, ())

    @cached_property
    def timed_header(self) -> Header:
        """The header with the capture rate as reviewers say it: by this one times are told."""
        return timed(self.header, self.capture_rates) if self.capture_rates else self.header

    @cached_property
    def unseen(self) -> FrameSet:
        """The frames of the footage that were never shown."""
        return self.shown.missing(self.header.footage.frames)

    @property
    def all_seen(self) -> bool:
        """Whether every frame of the footage was shown."""
        return not self.unseen.ranges


def fold(header: Header, lines: Sequence[Line]) -> Session:
    """Replay a journal into a session."""
    return grow(Session(header), lines)


def grow(session: Session, lines: Sequence[Line]) -> Session:
    """The session with more lines at its end, as ``fold`` makes it of all of them.

    What the new lines do not touch is taken over as it is: a run that none of them speaks of, and
    whose next run begins where it did, is the same object as before.
    """
    everything = (*session.lines, *lines)
    dead = _dead(session.dead, everything, lines)
    gone, back = dead - session.dead, session.dead - dead
    new = [line for line in lines if line.seq not in dead and not _retracts(line)]
    if back:
        live = tuple(line for line in everything if line.seq not in dead and not _retracts(line))
    elif gone:
        live = (*(line for line in session.live if line.seq not in gone), *new)
    else:
        live = (*session.live, *new)
    again = [line for seq in sorted(back) if not _retracts(line := everything[seq - 1])]
    changed = [*(everything[seq - 1] for seq in gone), *again, *new]
    touched = {_run_of(line) for line in changed}
    by_run = {
        run_id: said
        if run_id not in touched
        else tuple(line for line in said if line.seq not in gone)
        for run_id, said in session.by_run.items()
    }
    for run_id, more in _grouped([*again, *new]).items():
        said = (*by_run.get(run_id, ()), *more)
        by_run[run_id] = tuple(sorted(said, key=_seq)) if again else said
    kinds = {type(line.entry) for line in changed}
    not_shown = (
        tuple(entry for entry in _of_kind(live, NotShown) if entry.run is None)
        if NotShown in kinds
        else session.not_shown
    )
    return Session(
        header=completed(session.header, lines),
        capture_rates=_of_kind(live, CaptureRate)
        if CaptureRate in kinds
        else session.capture_rates,
        lines=everything,
        dead=dead,
        live=live,
        runs=_runs(
            by_run, {run.id: run for run in session.runs if run.id not in touched}, not_shown
        ),
        orphans=_orphans(by_run),
        cups=_of_kind(live, CupsSeen) if CupsSeen in kinds else session.cups,
        notes=_of_kind(live, Note) if Note in kinds else session.notes,
        not_shown=not_shown,
        attempts_before=_of_kind(live, AttemptsBefore)
        if AttemptsBefore in kinds
        else session.attempts_before,
        shown=_shown(session, live, gone | back, new) if Shown in kinds else session.shown,
        stamps={
            **({} if gone or back else session.stamps),
            **_stamps(live if gone or back else new),
        }
        if Shown in kinds
        else session.stamps,
        by_run={run_id: said for run_id, said in by_run.items() if said},
        milestones=session.milestones if kinds.isdisjoint(MILESTONES) else _milestones(live),
    )


def _dead(
    before: frozenset[int], everything: Sequence[Line], lines: Sequence[Line]
) -> frozenset[int]:
    """The numbers of the lines that do not live any more, now that ``lines`` are the last.

    What amends earlier lines takes these away and brings none back, unless one of them was itself
    a retraction; then, and after a retraction, all is looked through.
    """
    gone: set[int] = set()
    for line in lines:
        if _retracts(line):
            return dead_lines(everything)
        earlier = line.replaces
        while earlier is not None:
            if _retracts(everything[earlier - 1]):
                return dead_lines(everything)
            gone.add(earlier)
            earlier = everything[earlier - 1].replaces
    return before | gone


def _grouped(lines: Iterable[Line]) -> dict[int, list[Line]]:
    """Lines by the run that they speak of, where they speak of one."""
    by_run: dict[int, list[Line]] = {}
    for line in lines:
        if (run_id := _run_of(line)) is not None:
            by_run.setdefault(run_id, []).append(line)
    return by_run


MILESTONES = (Settling, Finished, Reopened)
"""The entries that say which reviews a session settles, and whether it is finished."""

_Kind = TypeVar("_Kind", bound=Entry)


def _of_kind(live: Iterable[Line], kind: type[_Kind]) -> tuple[_Kind, ...]:
    return tuple(line.entry for line in live if isinstance(line.entry, kind))


def _milestones(live: Iterable[Line]) -> tuple[Line, ...]:
    return tuple(line for line in live if isinstance(line.entry, MILESTONES))


def _shown(
    session: Session, live: Iterable[Line], is_other: frozenset[int], new: Iterable[Line]
) -> FrameSet:
    """The frames shown by the living lines; added to those known, unless earlier lines changed."""
    entries = _of_kind(live if is_other else new, Shown)
    known = () if is_other else session.shown.ranges
    return FrameSet.of([*known, *(r for entry in entries for r in entry.ranges)])


def _seq(line: Line) -> int:
    return line.seq


def _retracts(line: Line) -> bool:
    return isinstance(line.entry, Retracted)


def _stamps(live: Iterable[Line]) -> dict[int, int]:
    return {
        frame: stamp
        for entry in _of_kind(live, Shown)
        for ends, stamps in zip(entry.ranges, entry.stamps, strict=False)
        for frame, stamp in zip(ends, stamps, strict=True)
    }


def one_display(readings: Iterable[Reading]) -> str | None:
    """What readings say alike, with the most digits written; ``None`` where they differ.

    They are compared as times: 2.33 and 2.330 are one reading.
    """
    shown = [reading.display for reading in readings]
    if len({micros(display) for display in shown}) != 1:
        return None
    return max(shown, key=len)


def _run_of(line: Line) -> int | None:
    """The id of the run that a line speaks of."""
    run_id: int | None = getattr(line.entry, "run", None)
    return run_id


def living(lines: Sequence[Line]) -> tuple[Line, ...]:
    """The lines that no living later line retracts or replaces; retractions left out."""
    dead = dead_lines(lines)
    return tuple(
        line for line in lines if line.seq not in dead and not isinstance(line.entry, Retracted)
    )


def dead_lines(lines: Sequence[Line]) -> frozenset[int]:
    """The numbers of the lines that a living later line retracts or replaces."""
    replaced = {line.seq: line.replaces for line in lines}
    dead: set[int] = set()
    for line in reversed(lines):
        if line.seq in dead:
            continue
        if isinstance(line.entry, Retracted):
            dead.add(line.entry.seq)
        # What a living line amends stays amended, however often it was amended before.
        earlier = line.replaces
        while earlier is not None:
            dead.add(earlier)
            earlier = replaced.get(earlier)
    return frozenset(dead)


def _runs(
    by_run: Mapping[int, Sequence[Line]],
    untouched: Mapping[int, Run],
    nowhere: tuple[NotShown, ...],
) -> tuple[Run, ...]:
    """The runs that were begun, by their first frame; ``untouched`` ones as they were."""
    made = [
        untouched.get(run_id) or _run(run_id, [line.entry for line in lines])
        for run_id, lines in by_run.items()
    ]
    firsts = sorted((run.begins.frame, run.id, run) for run in made if run.begins is not None)
    runs: list[Run] = []
    following: int | None = None
    for place in reversed(range(len(firsts))):
        first, _, run = firsts[place]
        if place + 1 < len(firsts) and firsts[place + 1][0] > first:
            following = firsts[place + 1][0]
        is_same = (run.next_begins, run.shown_nowhere) == (following, nowhere)
        runs.append(run if is_same else replace(run, next_begins=following, shown_nowhere=nowhere))
    return tuple(reversed(runs))


def _orphans(by_run: Mapping[int, Sequence[Line]]) -> tuple[Line, ...]:
    """The lines, but for notes, that speak of a run that was never begun."""
    strays = (
        line
        for lines in by_run.values()
        if not any(isinstance(line.entry, RunBegun) for line in lines)
        for line in lines
        if not isinstance(line.entry, Note)
    )
    return tuple(sorted(strays, key=_seq))


def _run(run_id: int, entries: Sequence[object]) -> Run:
    return Run(
        id=run_id,
        begun=tuple(e for e in entries if isinstance(e, RunBegun)),
        ended=tuple(e for e in entries if isinstance(e, RunEnded)),
        marks=tuple(e for e in entries if isinstance(e, Look | Sighted)),
        readings=tuple(e for e in entries if isinstance(e, Reading)),
        fumbles=tuple(sorted((e for e in entries if isinstance(e, Fumble)), key=_fumble_order)),
        started_over=tuple(e for e in entries if isinstance(e, StartedOver)),
        accepted=tuple(e for e in entries if isinstance(e, ReadingAccepted)),
        other_faults=tuple(e for e in entries if isinstance(e, OtherFault)),
        not_shown=tuple(e for e in entries if isinstance(e, NotShown)),
    )


def _fumble_order(fumble: Fumble) -> tuple[int, str, str, str]:
    return fumble.at.frame, fumble.fumble, fumble.stack, fumble.phase


def _frame(spot: Spot) -> int:
    return spot.frame
