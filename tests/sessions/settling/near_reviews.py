"""Reviews of one claim that differ: a true review whose tags each reviewer changed a little.

Each change is one that the bench would take: tags that it contradicts are tagged anew or dropped.
"""

from collections.abc import Iterable, Sequence
from fractions import Fraction

from hypothesis import strategies as st

from sessions.record.entries import (
    CupsSeen,
    Entry,
    Fumble,
    Look,
    Reading,
    ReadingAccepted,
    RunBegun,
    RunEnded,
    Sighted,
    Spot,
    StartedOver,
)
from sessions.record.header import Header
from sessions.record.session import Mark, Run
from sessions.rules.ladder import Ladder, build_ladder, stacks_of
from sessions.ruling.brackets import brackets
from sessions.ruling.fumbles import run_ladder
from sessions.ruling.judge import rule
from sessions.ruling.order import contradictions
from tests.sessions.samples import (
    FRAME_SECONDS,
    STRIDE,
    cups_and_frames,
    faultless_run,
    header,
    invented_event,
    spot,
)
from tests.sessions.strategies import Drawn

EVENTS = (("3",), ("3-3",), ("3-3", "6"), ("1-3-1",))
LATER = 200
"""Where the second run begins: beyond the last frame of the first."""
FRAMES = 500
SHIFTS = st.integers(-14, 14)
WIDTHS = st.sampled_from([1, 1, 1, 2, 3, 6])


class Tags(Drawn):
    """The entries of a review that is being changed."""

    def ladder(self, run: int) -> Ladder:
        fumbles = [e for e in self.entries if isinstance(e, Fumble) and e.run == run]
        return run_ladder(self.header.event, fumbles)

    def marks(self, run: int) -> list[Mark]:
        return [e for e in self.entries if isinstance(e, Mark) and e.run == run]

    def but(self, gone: Iterable[Entry], *new: Entry) -> "Tags":
        left = list(gone)
        return Tags(self.header, (*(e for e in self.entries if e not in left), *new))

    def tagged(self, mark: Mark) -> "Tags":
        """With a mark, and without those that it contradicts; one of its own place it replaces."""
        kept = [mark]
        for other in self.marks(mark.run):
            fits = place_of(other) != place_of(mark) and self.can_be([*kept, other])
            kept += [other] if fits else []
        return self.but((m for m in self.marks(mark.run) if m not in kept), mark)

    def can_be(self, marks: list[Mark]) -> bool:
        """Whether marks of one run can all be true, each moment by itself and by their order."""
        falls = (e for e in self.entries if isinstance(e, Fumble) and e.run == marks[0].run)
        run = Run(marks[0].run, marks=tuple(marks), fumbles=tuple(falls))
        ladder = self.ladder(run.id)
        if brackets(ladder, marks).conflicts:
            return False
        return not contradictions(self.header.event, run, run.marks, ladder)


def place_of(mark: Mark) -> tuple[str, str | None]:
    return (mark.checkpoint, None) if isinstance(mark, Look) else (mark.moment, mark.hand)


def truth(formations: Sequence[str], runs: int) -> Tags:
    """What a reviewer who never errs finds: runs that stand, the later the faster."""
    head = header(invented_event(formations), FRAMES)
    entries = [*cups_and_frames(head), *faultless_run(head.event)]
    if runs > 1:
        entries += faultless_run(head.event, 2, LATER, faster(head))
    return Tags(head, tuple(entries))


def faster(head: Header) -> str:
    """A reading of the later run that the picture leaves possible, and less than the first's."""
    steps = [step.id for step in build_ladder(head.event).checkpoints]
    frames = STRIDE * (steps.index("stop") - steps.index("start"))
    return f"{float((frames - Fraction(1, 2)) * FRAME_SECONDS):.3f}"


def clock_mark(draw: st.DrawFn, tags: Tags, run: int) -> Sighted | None:
    """The sighting of the start or of the stop, where there is one."""
    moment = draw(st.sampled_from(["start", "stop"]))
    marks = (m for m in tags.marks(run) if isinstance(m, Sighted))
    return next((m for m in marks if m.moment == moment), None)


@st.composite
def instant(draw: st.DrawFn, tags: Tags, run: int) -> Tags:
    """The start or the stop sighted elsewhere, with all that rests on it or with none."""
    if (now := clock_mark(draw, tags, run)) is None:
        return tags
    by = max(1, now.by.frame + draw(SHIFTS))
    after = max(0, by - draw(WIDTHS))
    return tags.tagged(Sighted(run=run, moment=now.moment, after=spot(after), by=spot(by)))


@st.composite
def hand(draw: st.DrawFn, tags: Tags, run: int) -> Tags:
    if (now := clock_mark(draw, tags, run)) is None:
        return tags
    by = max(1, now.by.frame + draw(st.integers(-3, 3)))
    side = draw(st.sampled_from(["left", "right"]))
    moved = Sighted(run=run, moment=now.moment, hand=side, after=spot(by - 1), by=spot(by))
    return tags.tagged(moved)


@st.composite
def look(draw: st.DrawFn, tags: Tags, run: int) -> Tags:
    checkpoint = draw(st.sampled_from(tags.ladder(run).statements))
    now = next(
        (m for m in tags.marks(run) if isinstance(m, Look) and m.checkpoint == checkpoint.id), None
    )
    first = LATER if run > 1 else 0
    near = now.by.frame if now is not None else first + draw(st.integers(7, 100))
    by = max(first + 7, near + draw(SHIFTS))
    saw = draw(st.sampled_from(["proven", "refuted", "refuted", "unproven"]))
    after = spot(by - draw(WIDTHS)) if saw == "unproven" else None
    return tags.tagged(Look(run=run, checkpoint=checkpoint.id, saw=saw, after=after, by=spot(by)))


@st.composite
def late(draw: st.DrawFn, tags: Tags, run: int) -> Tags:
    """All that is said of a run after its beginning, so many frames earlier or later."""
    frames = draw(st.integers(-3, 40))
    said = [e for e in tags.entries if getattr(e, "run", None) == run]
    moving = [e for e in said if not isinstance(e, RunBegun)]

    def moved(entry: Entry) -> Entry:
        ends = ((name, getattr(entry, name, None)) for name in ("after", "by", "at", "ends"))
        spots = {name: spot(end.frame + frames) for name, end in ends if isinstance(end, Spot)}
        return entry.model_copy(update=spots)

    return tags.but(moving, *map(moved, moving))


@st.composite
def drop(draw: st.DrawFn, tags: Tags, run: int) -> Tags:
    marks = tags.marks(run)
    return tags.but([draw(st.sampled_from(marks))]) if marks else tags


@st.composite
def reading(draw: st.DrawFn, tags: Tags, run: int) -> Tags:
    gone = [e for e in tags.entries if isinstance(e, Reading) and e.run == run]
    if not gone:
        return tags
    shown = float(gone[0].display) + draw(st.sampled_from([0.001, -0.001, 0.002, 0.3, -0.3, 9]))
    if shown < 0 or not draw(st.integers(0, 5)):
        return tags.but(gone)
    return tags.but(gone, gone[0].model_copy(update={"display": f"{shown:.3f}"}))


@st.composite
def settled(draw: st.DrawFn, tags: Tags, run: int) -> Tags:
    reason = draw(st.sampled_from(["the display was hit", "it was started late", "tested"]))
    shown = [r.display for r in tags.entries if isinstance(r, Reading) and r.run == run]
    if not shown:
        return tags
    display = draw(st.sampled_from(shown))
    return tags.but([], ReadingAccepted(run=run, display=display, reason=reason))


@st.composite
def fumble(draw: st.DrawFn, tags: Tags, run: int) -> Tags:
    if any(isinstance(e, Fumble) and e.run == run for e in tags.entries):
        return tags
    phase, at = draw(st.sampled_from(["up", "down"])), draw(st.integers(20, 60))
    at += LATER if run > 1 else 0
    stack = draw(st.sampled_from([stack.id for stack in stacks_of(tags.header.event)]))
    fallen = Fumble(run=run, fumble="x1", stack=stack, phase=phase, at=spot(at))
    return draw(look(tags.but([], fallen), run))


@st.composite
def over(draw: st.DrawFn, tags: Tags, run: int) -> Tags:
    first = LATER if run > 1 else 0
    again = StartedOver(run=run, at=spot(first + draw(st.integers(20, 60))))
    return tags.but([again], again)


@st.composite
def cup(draw: st.DrawFn, tags: Tags, run: int) -> Tags:
    cups = tuple(range(1, tags.header.event.cups + 1))
    gone = [e for e in tags.entries if isinstance(e, CupsSeen)]
    one = draw(st.sampled_from(cups))
    rest = tuple(c for c in cups if c != one)
    saw = draw(st.sampled_from(["refuted", "unproven", "unproven"]))
    new = [CupsSeen(cups=(one,), saw=saw, at=spot(3))]
    new += [CupsSeen(cups=rest, saw="proven", at=spot(0))] if rest else []
    return tags.but(gone, *new)


@st.composite
def sort(draw: st.DrawFn, tags: Tags, run: int) -> Tags:
    if draw(st.booleans()) or run == 1:
        return tags
    gone = [e for e in tags.entries if getattr(e, "run", None) == run]
    kept = [e for e in gone if isinstance(e, RunBegun | RunEnded)]
    if draw(st.booleans()):
        return tags.but(gone)
    new = [e.model_copy(update={"sort": "warm-up"}) if isinstance(e, RunBegun) else e for e in kept]
    return tags.but(gone, *new)


CHANGES = {
    "instant": instant, "hand": hand, "look": look, "drop": drop, "reading": reading,
    "settled": settled, "fumble": fumble, "over": over, "cup": cup, "sort": sort, "late": late,
}  # fmt: skip
ANY_CHANGES = (
    "instant", "instant", "look", "look", "look", "drop", "drop", "hand", "reading", "settled",
    "fumble", "over", "cup", "sort",
)  # fmt: skip
APART_CHANGES = ("late", "late", "instant", "look", "look", "drop", "fumble", "reading")
CLOCK_CHANGES = ("instant", "instant", "instant", "reading", "settled", "drop", "hand", "look")


@st.composite
def change(draw: st.DrawFn, tags: Tags, kinds: Sequence[str]) -> Tags:
    run = draw(st.sampled_from(sorted({e.run for e in tags.entries if isinstance(e, RunBegun)})))
    return draw(CHANGES[draw(st.sampled_from(kinds))](tags, run))


@st.composite
def near_reviews(
    draw: st.DrawFn, kinds: Sequence[str] = ANY_CHANGES, most: int = 3
) -> tuple[Tags, ...]:
    """Two reviews or three of the same footage, each of which changed a few tags.

    Each leaves nothing open that could change its best time, as a finished one must.
    """
    true = truth(draw(st.sampled_from(EVENTS)), draw(st.integers(1, 2)))
    return tuple(
        draw(near(true, kinds, f"R{number}")) for number in range(1, draw(st.integers(2, most)) + 1)
    )


@st.composite
def near(draw: st.DrawFn, true: Tags, kinds: Sequence[str], reviewer: str) -> Tags:
    tags = Tags(true.header.model_copy(update={"reviewer": reviewer}), true.entries)
    for _ in range(draw(st.integers(0, 4))):
        changed = draw(change(tags, kinds))
        runs = {e.run for e in changed.entries if isinstance(e, RunBegun)}
        fits = all(changed.can_be(changed.marks(run)) for run in runs if changed.marks(run))
        tags = changed if fits and rule(changed.session).made else tags
    return tags
