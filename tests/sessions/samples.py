"""Sessions to test with: an invented footage, runs without a fault, and entries made into lines."""

from collections.abc import Iterable, Iterator, Sequence
from datetime import UTC, datetime
from fractions import Fraction

from sessions.record.entries import (
    CupsSeen,
    Entry,
    Line,
    Look,
    Reading,
    RunBegun,
    RunEnded,
    Shown,
    Sighted,
    Spot,
)
from sessions.record.header import Claim, FootageFacts, Header
from sessions.record.session import Session, fold
from sessions.rules.events import Allowance, EventDefinition, load_event
from sessions.rules.ladder import Ladder, Marker, build_ladder

WHEN = datetime(2031, 5, 4, 9, 30, 0, 250000, tzinfo=UTC)
FIRST_PTS = 3003
FRAME_PTS = 1001
TIME_BASE = Fraction(1, 30000)
FRAME_SECONDS = FRAME_PTS * TIME_BASE
STRIDE = 10
"""Frames from one step of a faultless run to the next."""


def spot(frame: int) -> Spot:
    return Spot(frame=frame, pts=FIRST_PTS + FRAME_PTS * frame)


def footage(frames: int = 1000) -> FootageFacts:
    return FootageFacts(
        name="invented.mp4",
        size_bytes=123_456,
        sha256="a1" * 32,
        frames=frames,
        time_base=str(TIME_BASE),
        first_pts=FIRST_PTS,
        nominal_rate="30000/1001",
        decoder="none",
    )


def header(
    event: EventDefinition | str = "3-3-3", frames: int = 1000, claim: str | None = None
) -> Header:
    return Header(
        made=WHEN,
        program="framecall 0",
        footage=footage(frames),
        event=load_event(event) if isinstance(event, str) else event,
        claim=Claim(time=claim),
        reviewer="reviewer-1",
    )


def invented_event(
    formations: Sequence[str], attempts: int = 3, **settings: object
) -> EventDefinition:
    """An event of these formations, which all use as many cups as the first."""
    cups = sum(int(part) for part in formations[0].split("-"))
    fields: dict[str, object] = {
        "format": "framecall-event",
        "version": 1,
        "name": "invented",
        "title": "Invented",
        "cups": cups,
        "formations": tuple(formations),
        "closing": formations[0],
        "allowance": Allowance(warm_ups=2, attempts=attempts),
    }
    return EventDefinition.model_validate(fields | settings)


def as_lines(entries: Iterable[Entry]) -> tuple[Line, ...]:
    """Entries as lines of a journal, their chain left out: the fold does not look at it."""
    return tuple(
        Line(seq=seq, at=WHEN, prev="0" * 64, entry=entry) for seq, entry in enumerate(entries, 1)
    )


def session_of(head: Header, entries: Iterable[Entry]) -> Session:
    return fold(head, as_lines(entries))


def display_after(frames: int) -> str:
    """What a true clock shows after so many frames, in seconds."""
    return f"{float(frames * FRAME_SECONDS):.3f}"


def faultless_marks(ladder: Ladder, run: int, first: int) -> Iterator[Sighted | Look]:
    """Step i (from 0) is kept at frame ``first + 10 * (i + 1)``, or sighted to be there by then."""
    for place, step in enumerate(ladder.checkpoints, 1):
        frame = first + STRIDE * place
        if isinstance(step, Marker):
            yield Sighted(run=run, moment=step.id, after=spot(frame - 1), by=spot(frame))
        else:
            yield Look(run=run, checkpoint=step.id, saw="proven", by=spot(frame))


def faultless_run(
    event: EventDefinition, run: int = 1, first: int = 0, display: str | None = None
) -> Iterator[Entry]:
    """Everything that a run from frame ``first`` needs to stand by itself."""
    ladder = build_ladder(event)
    marks = list(faultless_marks(ladder, run, first))
    frames = {m.moment: m.by.frame for m in marks if isinstance(m, Sighted)}
    shown = display or display_after(frames["stop"] - frames["start"])
    last = spot(first + STRIDE * (len(ladder.checkpoints) + 1))
    yield RunBegun(run=run, begins=spot(first))
    yield from marks
    yield Reading(run=run, display=shown, at=last)
    yield RunEnded(run=run, ends=last)


def cups_and_frames(head: Header) -> Iterator[Entry]:
    """Every cup's mark seen in frame 0, and every frame shown."""
    yield CupsSeen(cups=tuple(range(1, head.event.cups + 1)), saw="proven", at=spot(0))
    yield Shown(ranges=((0, head.footage.frames - 1),))


def standing_session(head: Header, runs: int = 1, apart: int = 300) -> list[Entry]:
    """The entries of faultless runs, ``apart`` frames from one beginning to the next."""
    entries = list(cups_and_frames(head))
    for number in range(1, runs + 1):
        entries.extend(faultless_run(head.event, number, (number - 1) * apart))
    return entries
