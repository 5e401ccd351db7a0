"""A score, performed: walk-up, rearranging, warm-ups and runs, with exact instants.

The formations of a run come from the event's grammar, its faults from the score.
"""

from dataclasses import dataclass, field
from fractions import Fraction
from math import ceil, floor

from sessions.rules.events import EventDefinition, Formation, load_event
from sessions.rules.moments import SIDES, Side
from tui.demo.conductor import Conductor, Instant, Move, Tempo, Tracks
from tui.demo.layout import AT_REST, COLUMN_X, NEST, Shape, place
from tui.demo.score import RunScore, Score
from tui.demo.stacks import (
    DOWN,
    PaintedStack,
    build,
    repair_beside_another,
    slide,
    start_over,
    take_down,
    top_of_ten_down,
)

HALF = Fraction(1, 2)

HOLDING = (("not let go", 1, 2), ("held single", 3, 2))
"""Faults with the formation and the stack that is begun while the left hand still holds on."""


@dataclass
class RunLog:
    """What happened in one run, with exact instants; hands are those of the picture.

    ``moves`` are the run's own, among those of the whole tape; ``stands`` are the cups of each
    stack of the first formation as it stood.
    """

    score: RunScore
    begins: Instant
    ends: Instant
    flat: dict[Side, Instant] = field(default_factory=dict)
    wrist: dict[Side, Instant] = field(default_factory=dict)
    off: dict[Side, Instant] = field(default_factory=dict)
    on: dict[Side, Instant] = field(default_factory=dict)
    drift: Instant | None = None
    restarts: list[Instant] = field(default_factory=list)
    fumbles: list[tuple[Instant, str]] = field(default_factory=list)
    moves: tuple[Move, ...] = ()


class Routine:
    """Performs one run on ``columns``, which are the closed columns from left to right."""

    def __init__(
        self,
        conductor: Conductor,
        columns: list[PaintedStack],
        event: EventDefinition,
        run: RunScore,
    ) -> None:
        self.conductor = conductor
        self.columns = columns
        self.event = event
        self.run = run
        self.log = RunLog(run, begins=conductor.now, ends=conductor.now)
        self._moves_before = len(conductor.moves)
        self._closed = conductor.now

    def perform(self) -> RunLog:
        """Perform the run from the hands on the pad until they lie on it again."""
        self.conductor.tempo = Tempo(Fraction(self.run.slowness))
        self._ready()
        self._go()
        if self.run.fault == "starting over":
            fell, again = start_over(self.conductor, self.columns)
            self.log.fumbles.append((fell, "f1.s2"))
            self.log.restarts.append(again)
        for number, row in enumerate(self.event.rows, 1):
            self._formation(number, row)
        if self.run.fault == "starting over":
            build(self.conductor, self.columns[0], "extra")
            take_down(self.conductor, self.columns[0], "extra")
        self._stop()
        self.log.moves = tuple(self.conductor.moves[self._moves_before :])
        return self.log

    def _ready(self) -> None:
        for hand in SIDES:
            wrist = self.run.fault == "wrist" and hand == "left"
            shape: Shape = "wrist" if wrist else "flat"
            contact = self.conductor.to_pad(hand, shape=shape)
            (self.log.wrist if wrist else self.log.flat)[self.conductor.side(hand)] = contact

    def _go(self) -> None:
        """Both hands come off the pad in the same instant."""
        off = floor(self.conductor.now) + 36 + HALF + Fraction(self.run.start_phase)
        self._contact_before(off)
        self.conductor.align(off)
        for hand in SIDES:
            self.conductor.off_pad(hand, off)
            self.log.off[self.conductor.side(hand)] = off

    def _contact_before(self, off: Instant) -> None:
        """A finger drags the middle column's top cup, by so many frames before the hand is off."""
        if self.run.fault == "contact":
            begin, end = off - self.run.frames, off
        elif self.run.fault == "close contact":
            begin, end = off - Fraction(1, 4), off + 1
        else:
            return
        cup = self.columns[1].column[-1]
        self.conductor.hook("left", begin, end, cup)
        self.conductor.drift(cup, begin, end, (8 * float(end - begin), 0))
        self.log.drift = begin

    def _formation(self, number: int, row: Formation) -> None:
        stacks = self._arranged(number, row)
        for position in row.pyramids:
            self._build(number, position, stacks)
        for turn, position in enumerate(row.pyramids, 1):
            self._take_down(number, turn, stacks, position)

    def _arranged(self, number: int, row: Formation) -> dict[int, PaintedStack]:
        """The stacks of a formation by position from 1, once the cups are brought together."""
        if row.has_singles:
            self._set_singles_down(number)
        elif number == 2:
            return {1: self.columns[1], 2: self.columns[2]}
        return dict(enumerate(self.columns, 1))

    def _set_singles_down(self, number: int) -> None:
        """All cups into the middle column, then its two top ones to either side, and let go."""
        left, middle, right = self.columns
        gather, part = f"f{number}.gather", f"f{number}.singles"
        slide(self.conductor, (right, (0, 0)), (middle, (0, 0)), ("right", gather), rise=110)
        released = []
        for hand, stack in zip(SIDES, (left, right), strict=True):
            stack.slots[0, 0] = middle.take(1)
            spot = stack.foot
            keep = self.run.fault == "held single" and hand == "left"
            move = self.conductor.carry(hand, stack.column, spot, part, keep=keep)
            released += [move.release] if move.release else []
        self.conductor.wait(max(released) + 1)

    def _build(self, number: int, position: int, stacks: dict[int, PaintedStack]) -> None:
        stack, part = stacks[position], f"f{number}.s{position}.up"
        if number == 2 and position == 2:
            source = (self.columns[0], (0, 0))
            slide(self.conductor, source, (stack, (0, 0)), ("left", "f2.gather"), rise=200)
        if number == 2 and position == 1:
            moves = self._build_after_column(stack, part)
        elif self.run.fault in ("two stacks", "two stacks, cured") and position == 2:
            moves = build(self.conductor, stack, part)
            cured = self.run.fault == "two stacks, cured"
            fell = repair_beside_another(self.conductor, stack, stacks[1], cured)
            self.log.fumbles.append((fell, f"f{number}.s{position}"))
        elif self.run.fault == "not let go" and (number, position) == (1, 1):
            moves = build(self.conductor, stack, part, keep_last=True)
        elif (self.run.fault, number, position) in HOLDING:
            moves = self._build_while_holding(stack, part)
        else:
            moves = build(self.conductor, stack, part)
        self.conductor.wait(max(m.release for m in moves if m.release) + 1)

    def _build_while_holding(self, stack: PaintedStack, part: str) -> list[Move]:
        """The left hand comes off what it set down only after this stack has been begun."""
        begun = build(self.conductor, stack, part, steps=slice(0, 1))
        assert begun[0].lift is not None
        self.conductor.let_go("left", begun[0].lift + self.run.frames)
        return begun + build(self.conductor, stack, part, steps=slice(1, None))

    def _build_after_column(self, stack: PaintedStack, part: str) -> list[Move]:
        """The left hand is on the next stack while the right hand closes the column before it."""
        closed = self._closed
        touched = self.conductor.touch("left", stack.column[-1], earliest=Instant(0))
        self.conductor.wait(closed + 1)
        early = closed - self.run.frames if self.run.fault == "early rise" else None
        return build(self.conductor, stack, part, flip=True, first_at=early, first_touched=touched)

    def _take_down(
        self, number: int, turn: int, stacks: dict[int, PaintedStack], position: int
    ) -> None:
        part, stack = f"f{number}.d{turn}", stacks[position]
        last = turn == len(self.event.rows[number - 1].pyramids)
        late = self.run.frames + 14 if self.run.fault == "early rise" and number == 1 else 0
        steps = None
        if stack.size == 10:
            singles = (self.columns[0], self.columns[2])
            top_of_ten_down(self.conductor, stack, singles, part)
            steps = DOWN[10]
        one_hand = self.run.fault == "one hand" and (number, turn) == (1, 1)
        moves = take_down(
            self.conductor,
            stack,
            part,
            steps=steps,
            two_hands=not last,
            second_late=self.run.frames if one_hand else None,
            linger=late * last,
        )
        self._closed = max(move.place for move in moves if move.place is not None)

    def _stop(self) -> None:
        """Clear of the cups, then both hands to the pad; the right hand comes last."""
        conductor, phase = self.conductor, Fraction(self.run.stop_phase)
        first = conductor.to_pad("left")
        on = conductor.to_pad("right", phase=phase)
        if self.run.fault == "held cup":
            cup = self.columns[1].column[-1]
            begin, end = max(first, on - 6), on + self.run.frames
            conductor.hook("left", begin, end, cup)
            conductor.drift(cup, on - 4, end, (16, 0))
        for hand, contact in zip(SIDES, (first, on), strict=True):
            self.log.on[conductor.side(hand)] = contact
        self.log.ends = max(first, on) + 40
        conductor.align(floor(self.log.ends) + HALF)


WALK = (Instant(21, 2), Instant(165, 2))
"""When the competitor walks up to the table, in frames."""


@dataclass(frozen=True)
class Performance:
    """A score, performed: what moves where and when, and the log of each run."""

    score: Score
    event: EventDefinition
    tracks: Tracks
    moves: tuple[Move, ...]
    runs: tuple[RunLog, ...]
    frames: int


def perform(score: Score) -> Performance:
    """Perform a score from the empty table to the end of the last run."""
    return _Tape(score).play()


class _Tape:
    def __init__(self, score: Score) -> None:
        self.score = score
        self.event = load_event(score.event)
        left, middle, right = self.event.rows[0].stacks
        numbers = iter(range(self.event.cups))
        self.piles = [[next(numbers) for _ in range(n)] for n in (left, middle, right)]
        self.tower = PaintedStack(COLUMN_X["middle"], {(0, 0): self.piles[1] + self.piles[2]})
        self.tower.column.extend(self.piles[0])
        foot = place(self.tower.x, (0, 0))
        homes = {cup: foot.moved(0, -NEST * h) for h, cup in enumerate(self.tower.column)}
        self.conductor = Conductor([homes[cup] for cup in sorted(homes)], score.mirror)
        for height, cup in enumerate(self.tower.column):
            self.conductor.tracks.layers[cup] = [(Instant(-1), height)]

    def play(self) -> Performance:
        self._walk_up()
        columns = self._deal()
        logs = []
        for number, run in enumerate(self.score.runs):
            if number:
                self._rearrange(columns, self.score.turned if number == 1 else ())
            logs.append(self._run(columns, run))
        return Performance(
            self.score,
            self.event,
            self.conductor.tracks,
            tuple(self.conductor.moves),
            tuple(logs),
            ceil(self.conductor.now) + 20,
        )

    def _walk_up(self) -> None:
        begin, end = WALK
        tracks = self.conductor.tracks
        tracks.competitor.go(begin, end, tracks.competitor.now._replace(x=0))
        for side in SIDES:
            tracks.hands[side].go(begin, end, AT_REST[side])
        self.conductor.align(end + 6)

    def _deal(self) -> list[PaintedStack]:
        """Take the outer columns off the tower in which the cups come; this counts as nothing."""
        self.conductor.tempo = Tempo(Fraction(3, 2))
        columns = []
        for hand, pile in zip(SIDES, (self.piles[0], self.piles[2]), strict=True):
            stack = PaintedStack(COLUMN_X[hand])
            stack.slots[0, 0] = self.tower.take(len(pile))
            self.conductor.carry(hand, stack.column, stack.foot, "deal", rise=120)
            columns.append(stack)
        columns.insert(1, self.tower)
        self.conductor.align(self.conductor.now + 12)
        return columns

    def _rearrange(self, columns: list[PaintedStack], turned: tuple[int, ...]) -> None:
        """Each column's top cup is lifted and put back; some are turned round on the way."""
        self.conductor.align(self.conductor.now + 20)
        self.conductor.tempo = Tempo(Fraction(3, 2))
        for hand, stack in zip(("left", *SIDES), columns, strict=True):
            cup = stack.take(1)
            move = self.conductor.carry(hand, cup, stack.opening((0, 0)), "rearrange", rise=70)
            stack.column.extend(cup)
            if cup[0] + 1 in turned and move.lift is not None and move.place is not None:
                self.conductor.tracks.turns.append(((move.lift + move.place) / 2, cup[0]))
        self.conductor.align(self.conductor.now + 12)

    def _run(self, columns: list[PaintedStack], run: RunScore) -> RunLog:
        now = self.conductor.now
        tracks = self.conductor.tracks
        tracks.cards.append((now, "W" if run.sort == "warm-up" else "A"))
        tracks.resets.append(now)
        log = Routine(self.conductor, columns, self.event, run).perform()
        tracks.clocks.append((min(log.off.values()), max(log.on.values())))
        return log
