"""The session: a fold over the lines of the journal, and nothing else.

The bench, the checker and every export replay this one function. The order of the lines does not
matter for what a session says, only for what a retraction or an amendment takes back.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from functools import cached_property

from sessions.evidence.frames import FrameSet
from sessions.record.entries import (
    CupsSeen,
    Fumble,
    Line,
    Look,
    Note,
    Reading,
    ReadingAccepted,
    Retracted,
    RunBegun,
    RunEnded,
    Shown,
    Sighted,
    Spot,
    StartedOver,
)
from sessions.record.header import Header

Mark = Look | Sighted


@dataclass(frozen=True)
class Run:
    """One run on the tape, with everything that was said of it and still holds.

    Where entries of a kind that can hold only once differ (``readings``, ``begun``, ``ended``),
    all are kept, so that the checker can say so.
    """

    id: int
    begun: tuple[RunBegun, ...] = ()
    ended: tuple[RunEnded, ...] = ()
    marks: tuple[Mark, ...] = ()
    readings: tuple[Reading, ...] = ()
    fumbles: tuple[Fumble, ...] = ()
    started_over: tuple[StartedOver, ...] = ()
    accepted: tuple[ReadingAccepted, ...] = ()

    @property
    def begins(self) -> Spot | None:
        """Where the run begins."""
        return min((e.begins for e in self.begun), key=_frame, default=None)

    @property
    def ends(self) -> Spot | None:
        """Where the run ends; ``None`` while it is open."""
        return max((e.ends for e in self.ended), key=_frame, default=None)

    @property
    def spots(self) -> Iterator[Spot]:
        """Every frame that the run's marks name, with its time stamp."""
        for mark in self.marks:
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
    """What a session says: the runs in the order of the footage, cups, notes, frames shown."""

    header: Header
    lines: tuple[Line, ...]
    live: tuple[Line, ...]
    runs: tuple[Run, ...]
    orphans: tuple[Line, ...]
    cups: tuple[CupsSeen, ...]
    notes: tuple[Note, ...]
    shown: FrameSet = field(default_factory=FrameSet)

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
    live = living(lines)
    runs, orphans = _runs(live)
    entries = [line.entry for line in live]
    return Session(
        header=header,
        lines=tuple(lines),
        live=live,
        runs=runs,
        orphans=orphans,
        cups=tuple(e for e in entries if isinstance(e, CupsSeen)),
        notes=tuple(e for e in entries if isinstance(e, Note)),
        shown=FrameSet.of(r for e in entries if isinstance(e, Shown) for r in e.ranges),
    )


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


def _runs(live: Iterable[Line]) -> tuple[tuple[Run, ...], tuple[Line, ...]]:
    """Runs by their first frame, and the lines that speak of a run that was never begun."""
    by_run: dict[int, list[Line]] = {}
    for line in live:
        run_id = getattr(line.entry, "run", None)
        if run_id is not None:
            by_run.setdefault(run_id, []).append(line)
    runs: list[Run] = []
    orphans: list[Line] = []
    for run_id, lines in by_run.items():
        run = _run(run_id, [line.entry for line in lines])
        if run.begun:
            runs.append(run)
        else:
            orphans.extend(line for line in lines if not isinstance(line.entry, Note))
    runs.sort(key=lambda run: (min(e.begins.frame for e in run.begun), run.id))
    return tuple(runs), tuple(orphans)


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
    )


def _fumble_order(fumble: Fumble) -> tuple[int, str, str, str]:
    return fumble.at.frame, fumble.fumble, fumble.stack, fumble.phase


def _frame(spot: Spot) -> int:
    return spot.frame
