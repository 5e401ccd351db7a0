"""Random sessions on small grids of frames, for laws that hold of every session.

Half of the runs start from a faultless one, whose steps are then overlaid; the others are a heap of
marks on a few checkpoints. Both contradict themselves now and then.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from types import MappingProxyType

from hypothesis import strategies as st

from sessions.record.entries import (
    AttemptsBefore,
    CupsSeen,
    Entry,
    Fumble,
    Look,
    NotShown,
    OtherFault,
    Reading,
    ReadingAccepted,
    RunBegun,
    RunEnded,
    Shown,
    Sighted,
    StartedOver,
)
from sessions.record.header import Header
from sessions.record.session import Session
from sessions.rules.events import EventDefinition, Hand, load_event
from sessions.rules.ladder import Ladder, Marker, build_ladder, stacks_of
from sessions.ruling.fumbles import run_ladder
from tests.sessions.samples import display_after, header, invented_event, session_of, spot

SIDES = (None, None, "left", "right")
SORTS = st.sampled_from(["attempt", "attempt", "attempt", "attempt", "warm-up", "rearranging"])
MOST_FUMBLES = 2
HEAP = 8
"""Frames that a heap of marks is spread over."""
SAWS = ("proven", "proven", "refuted", "unproven")
ROWS = (
    ("3-3",),
    ("3-3", "6"),
    ("6", "1-1-1-3"),
    ("3",),
    ("3-3-3", "3-6"),
    ("1-3-1", "3-1-1", "1-1-3"),
    ("1-10-1", "6-6", "3-6-3"),
    ("15", "6-6-3", "3-1-10-1"),
)


@dataclass(frozen=True)
class Drawn:
    """A header and the entries of a session, before they are made into lines."""

    header: Header
    entries: tuple[Entry, ...]

    @property
    def session(self) -> Session:
        return session_of(self.header, self.entries)

    def with_entries(self, entries: Sequence[Entry]) -> "Drawn":
        return Drawn(self.header, tuple(entries))


@st.composite
def invented_events(draw: st.DrawFn) -> EventDefinition:
    rows = draw(st.sampled_from(ROWS))
    hands = st.sampled_from(Hand)
    clock = {"starts": draw(hands), "stops": draw(hands)}
    take_down = draw(st.sampled_from(["as built", "any"]))
    attempts = draw(st.integers(1, 4))
    return invented_event(rows, attempts, clock=clock, order={"take_down": take_down})


def events() -> st.SearchStrategy[EventDefinition]:
    """The events that come with the program, and invented ones."""
    known = st.sampled_from(["3-3-3", "3-6-3", "cycle"]).map(load_event)
    return st.one_of(invented_events(), invented_events(), known)


@st.composite
def marks_on(draw: st.DrawFn, ladder: Ladder, first: int, run: int) -> Look | Sighted:
    """Any mark on one of the ladder's steps or moments, in a few frames from the first."""
    by = first + draw(st.integers(0, HEAP - 1))
    width = draw(st.integers(1, 3))
    after = spot(by - width) if by >= width else None
    hand = draw(st.sampled_from(SIDES))
    if draw(st.booleans()):
        checkpoint = draw(st.sampled_from(ladder.statements))
        saw = draw(st.sampled_from(SAWS))
        within = after if saw == "unproven" else None
        return Look(
            run=run, checkpoint=checkpoint.id, saw=saw, after=within, by=spot(by), hand=hand
        )
    moment = draw(st.sampled_from(sorted(ladder.moments.values(), key=lambda m: m.id)))
    side = hand if moment.hands is not None else None
    return Sighted(run=run, moment=moment.id, hand=side, after=after, by=spot(by))


def tight_marks(ladder: Ladder, run: int, first: int = 0) -> list[Look | Sighted]:
    """A faultless run in as few frames as may be: a step a frame, from the second frame on."""
    marks: list[Look | Sighted] = []
    for place, step in enumerate(ladder.checkpoints, first + 1):
        if isinstance(step, Marker):
            before = spot(place - 1)
            marks.append(Sighted(run=run, moment=step.id, after=before, by=spot(place)))
        else:
            marks.append(Look(run=run, checkpoint=step.id, saw="proven", by=spot(place)))
    return marks


@st.composite
def fumbles(
    draw: st.DrawFn, event: EventDefinition, run: int, frames: int, first: int = 0
) -> list[Fumble]:
    stacks = [stack.id for stack in stacks_of(event)]
    return [
        Fumble(
            run=run,
            fumble=f"x{number}",
            stack=draw(st.sampled_from(stacks)),
            phase=draw(st.sampled_from(["up", "down"])),
            at=spot(first + draw(st.integers(0, frames - 1))),
        )
        for number in range(1, draw(st.sampled_from([0, 0, 1, 1, MOST_FUMBLES])) + 1)
    ]


@st.composite
def marks_of(
    draw: st.DrawFn, ladder: Ladder, run: int, frames: int, first: int = 0
) -> list[Look | Sighted]:
    """A faultless run, or one with a few steps taken out and a few laid over, or a heap."""
    make = draw(st.sampled_from(["faultless", "overlaid", "overlaid", "heap"]))
    if make == "heap":
        begins = first + draw(st.integers(0, frames - HEAP))
        return draw(st.lists(marks_on(ladder, begins, run), max_size=12))
    marks = tight_marks(ladder, run, first)
    if make == "faultless":
        return marks
    lacking = draw(st.sets(st.integers(0, len(marks) - 1), max_size=3))
    kept = [mark for place, mark in enumerate(marks) if place not in lacking]
    begins = first + draw(st.integers(0, frames - HEAP))
    return kept + draw(st.lists(marks_on(ladder, begins, run), max_size=3))


@st.composite
def runs(
    draw: st.DrawFn, event: EventDefinition, run: int, frames: int, first: int = 0
) -> list[Entry]:
    """The entries of one run in so many frames from the first, most often begun and ended once.

    Now and then it begins later or ends earlier than what is tagged of it, or its display is read
    too early.
    """
    fallen = draw(fumbles(event, run, frames, first))
    ladder = run_ladder(event, fallen)
    begins = draw(st.sampled_from([0, 0, 0, 0, 0, 1, frames // 2]))
    last = frames - 1
    entries: list[Entry] = [
        RunBegun(run=run, begins=spot(first + begins), sort=draw(SORTS)),
        *fallen,
    ]
    entries += draw(marks_of(ladder, run, frames, first))
    true = display_after(len(ladder.checkpoints) - 4)
    for display in draw(st.sampled_from([[true]] * 4 + [[], ["0.300"], [true, "0.300"]])):
        at = draw(st.sampled_from([last] * 6 + [last // 2]))
        entries.append(Reading(run=run, display=display, at=spot(first + at)))
    for frame in draw(st.sampled_from([[]] * 3 + [[1], [1, 2], [0, 1], [1, 1]])):
        entries.append(StartedOver(run=run, at=spot(first + frame)))
    for ends in draw(
        st.sampled_from([[last]] * 6 + [[], [last, last], [last, last - 1], [begins]])
    ):
        entries.append(RunEnded(run=run, ends=spot(first + ends)))
    if not draw(st.integers(0, 3)):
        display = draw(st.sampled_from([true, "0.300", "0.3"]))
        entries.append(ReadingAccepted(run=run, display=display, reason="the clock was tested"))
    return entries


@st.composite
def showing(draw: st.DrawFn, frames: int) -> Shown:
    """Every frame, or a few, or all but a hole of some frames: 7 are just too many to miss."""
    match draw(st.sampled_from(["all", "all", "few", "hole"])):
        case "few":
            return Shown(ranges=((0, 3),))
        case "hole":
            hole = draw(st.integers(1, frames - 2))
            last = min(hole + draw(st.integers(4, 9)), frames - 1)
            return Shown(ranges=((0, hole), (last, frames - 1)))
    return Shown(ranges=((0, frames - 1),))


@st.composite
def awkward(draw: st.DrawFn, event: EventDefinition, frames: int, runs: int) -> list[Entry]:
    """Now and then attempts before the footage, another fault, and what is not shown."""
    found: list[Entry] = []
    for attempts in draw(st.sampled_from([[]] * 6 + [[1], [3], [1, 1], [1, 2]])):
        found.append(AttemptsBefore(attempts=attempts, source="an earlier tape"))
    for rule in draw(st.sampled_from([[]] * 4 + [["other"], ["nobody.knows", *own_rules(event)]])):
        at = draw(st.integers(1, frames - 1))
        saw = draw(st.sampled_from(["refuted", "unproven"]))
        run = draw(st.integers(1, runs))
        fault = {"run": run, "rule": rule, "saw": saw, "reason": "seen"}
        found.append(OtherFault.model_validate(fault | {"by": spot(at), "after": spot(at - 1)}))
    if not draw(st.integers(0, 4)):
        what = draw(st.sampled_from(["start", "stop", "display", "table", "mark"]))
        of = draw(st.sampled_from([None, *range(1, runs + 1)]))
        lack = {"run": of, "what": what, "reason": "a head is before it"}
        found.append(NotShown.model_validate(lack | {"first": spot(0), "last": spot(frames - 1)}))
    return found


def own_rules(event: EventDefinition) -> list[str]:
    return [rule.id for rule in event.rules]


@st.composite
def equipment(draw: st.DrawFn, head: Header) -> list[Entry]:
    """Most often every mark seen and every frame shown."""
    cups, frames = head.event.cups, head.footage.frames
    numbers = tuple(range(1, cups + 1))
    saw = st.sampled_from(["proven", "refuted", "refuted", "unproven"])
    entries: list[Entry] = [
        CupsSeen(cups=numbers, saw="proven", at=spot(0))
        if draw(st.integers(0, 5))
        else CupsSeen(cups=numbers[1:] or numbers, saw=draw(saw), at=spot(0)),
        draw(showing(frames)),
    ]
    if not draw(st.integers(0, 5)):
        entries.append(CupsSeen(cups=(draw(st.sampled_from(numbers)),), saw=draw(saw), at=spot(1)))
    return entries


@st.composite
def drawn_sessions(
    draw: st.DrawFn, most_runs: int = 3, claimed: bool = True, orphans: bool = True
) -> Drawn:
    """A whole session on a small grid: runs, cups, frames shown, now and then a stray entry.

    The runs follow one another; now and then they all lie in the same frames.
    """
    event = draw(events())
    frames = len(build_ladder(event).checkpoints) + 10 * (1 + MOST_FUMBLES)
    claim = draw(st.sampled_from([None, "0.300", "0.367"])) if claimed else None
    count = draw(st.integers(1, most_runs))
    apart = frames if draw(st.integers(0, 5)) else 0
    head = header(event, frames + (count - 1) * apart, claim)
    entries: list[Entry] = draw(equipment(head))
    for run in range(1, count + 1):
        entries += draw(runs(event, run, frames, (run - 1) * apart))
    entries += draw(awkward(event, head.footage.frames, count))
    if orphans and not draw(st.integers(0, 5)):
        stray = draw(st.sampled_from(["start.flat", "nowhere", "stop"]))
        entries.append(
            Look(run=draw(st.integers(1, 4)), checkpoint=stray, saw="proven", by=spot(1))
        )
    return Drawn(head, tuple(entries))


TOUCHED = ("x1.one-stack", "x1.cured", "x1.one-stack-2", "x1.cured-2")


@st.composite
def cured_sessions(draw: st.DrawFn) -> Drawn:
    """One run with a fumble in the up phase, and marks on its touches and their cures alone."""
    head = header(invented_event(("3-3",)), HEAP)
    fumble = Fumble(run=1, fumble="x1", stack="f1.s1", phase="up", at=spot(0))
    ladder = run_ladder(head.event, [fumble])
    statements = tuple(r for r in ladder.statements if r.id in TOUCHED)
    moments = {
        m: ladder.moments[m] for checkpoint in statements for m in (checkpoint.met, checkpoint.due)
    }
    few = Ladder(statements, MappingProxyType(moments))
    marks = draw(st.lists(marks_on(few, 0, 1), max_size=7))
    return Drawn(head, (RunBegun(run=1, begins=spot(0)), fumble, *marks))
