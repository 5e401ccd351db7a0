"""Random runs by two hands, and tags that are true of them; nothing here knows of relations.

A hand does one thing at a time: it touches a cup, lifts it, sets it down and lets go of it. A stack
is built or taken down by a few such moves; each rule of the trade is kept or broken at will. Times
are in frames; common practice, no source.
"""

from collections.abc import Iterator, Mapping, Sequence
from math import ceil
from random import Random
from typing import Literal, NamedTuple

from sessions.record.entries import Entry, Fumble, Look, RunBegun, RunEnded, Sighted
from sessions.rules.events import EventDefinition
from sessions.rules.moments import Side
from tests.sessions.ruling.event_reading import Check, built, deciding, rows_of, steps
from tests.sessions.samples import spot

HANDS: tuple[Side, Side] = ("left", "right")
Saw = Literal["proven", "refuted", "unproven"]


class Move(NamedTuple):
    """One cup moved by one hand, by the frames in which each part of it happens."""

    hand: Side
    touch: float
    lift: float
    place: float
    release: float


class Performance:
    """One run: when each moment happened, of each hand where two take part, and what fell."""

    def __init__(self, rng: Random, event: EventDefinition, faults: float) -> None:
        self.rng, self.event, self.faults = rng, event, faults
        self.at: dict[str, float] = {}
        self.by_hand: dict[str, dict[Side, float]] = {}
        self.falls: list[tuple[str, str, float]] = []
        self.moves: list[Move] = []
        self.free: dict[Side, float] = {}
        self.hooked: dict[Side, float] = {}
        self.put_right_late: list[str] = []
        self._perform()
        times = [*self.at.values(), *(t for hands in self.by_hand.values() for t in hands.values())]
        self.end = ceil(max(times)) + 5

    # -- moves

    def _breaks(self) -> bool:
        return self.rng.random() < self.faults

    def _soon(self, most: float = 4) -> float:
        return self.rng.uniform(0.1, most)

    def _move(self, hand: Side, lift_from: float = 0) -> Move:
        touch = self.free[hand] + self._soon(2)
        lift = max(touch, lift_from) + self._soon(2)
        place = lift + self._soon()
        move = Move(hand, touch, lift, place, place + self._soon(1))
        self.free[hand] = move.release
        self.moves.append(move)
        return move

    def _work(self, cups: int, lift_from: float = 0, hands: Sequence[Side] = HANDS) -> list[Move]:
        """Cups moved one after another, by the hands in turn."""
        order = list(hands)
        self.rng.shuffle(order)
        moves: list[Move] = []
        for number in range(cups):
            moves.append(self._move(order[number % len(order)], lift_from))
            lift_from = moves[-1].lift
        return moves

    # -- a run

    def _perform(self) -> None:
        self._go()
        rows = list(enumerate(rows_of(self.event), 1))
        done = [number for number, _ in rows if not self._breaks()]
        if self._breaks():  # given up after some formation
            done = done[: self.rng.randint(0, len(done))]
        self.cups_from, self.closed = 0.0, 0.0
        for number, row in rows:
            if number in done:
                self._formation(number, row)
        if self._breaks():
            self.at["extra"] = self._work(2)[0].lift
        self._stop()
        self._passed(len(rows))

    def _go(self) -> None:
        off = {hand: 20 + self._soon(4) for hand in HANDS}
        self.by_hand["start"] = off
        self.free = dict(off)
        if self._breaks():
            self.by_hand["start.wrist"] = {"left": self.rng.uniform(2, 30)}
        if self._breaks():
            self.hooked = {"right": off["right"] - self._soon(8)}
        if self.event.clock.starts.value == "last hand" and self._breaks():
            off["left"] += self._soon(30)
            self.free["left"] = off["left"]

    def _formation(self, number: int, row: Sequence[int]) -> None:
        f, stacks = f"f{number}", built(row)
        ready = self.closed if not self._breaks() else self.cups_from
        if 1 in row:
            hands = HANDS if self.rng.random() < 0.5 else (min(HANDS, key=self.free.__getitem__),)
            singles = self._work(2, self.cups_from, hands)
            self._release(f"{f}.singles.let_go", singles)
            if not self._breaks():
                ready = max(ready, *(move.release for move in singles))
        onward = self._build(f, row, stacks, ready)
        self._take_down(f, stacks, onward)
        self.cups_from = 0.0 if 1 in row else self.at[f"{f}.d1.begin"]

    def _build(self, f: str, row: Sequence[int], stacks: Sequence[int], ready: float) -> float:
        for place in stacks:
            moves = self._work({3: 2, 6: 3, 10: 5, 15: 7}[row[place - 1]], ready)
            self.at[f"{f}.s{place}.rise"] = moves[0].lift
            held = self._breaks()
            self._release(f"{f}.s{place}.let_go", moves, held=held)
            ready = min(m.release for m in moves) if held else max(m.release for m in moves)
            ready = max(ready, moves[0].lift)
            if self._breaks():
                ready = max(ready, self._fall_up())
        return ready

    def _release(self, moment: str, moves: Sequence[Move], *, held: bool = False) -> None:
        """When each hand was clear; a hand that did not take part was so all the time."""
        clear = {
            hand: max((m.release for m in moves if m.hand == hand), default=moves[0].touch - 1)
            for hand in HANDS
        }
        if held:
            hand = self.rng.choice(HANDS)
            clear[hand] = max(clear[hand], moves[0].lift) + self._soon(20)
            self.free[hand] = max(self.free[hand], clear[hand])
        self.by_hand[moment] = clear

    def _take_down(self, f: str, stacks: Sequence[int], onward: float) -> None:
        in_order, placed = list(stacks), []
        if len(stacks) > 1 and self._breaks():
            in_order.reverse()
        for taken in range(1, len(stacks) + 1):
            one_hand = taken == len(stacks) or self._breaks()
            if one_hand:
                moves = self._work(2, onward, (self.rng.choice(HANDS),))
            else:
                on = {hand: self.free[hand] + self._soon(2) for hand in HANDS}
                self.free = dict(on)
                self.by_hand[f"{f}.d{taken}.two_hands"] = on
                moves = self._work(2, max(onward, *on.values()))
            begin = moves[0].lift
            self.at[f"{f}.d{taken}.begin"] = begin
            onward = max(onward, begin)
            placed += [move.place for move in moves]
            if in_order != list(stacks) and f"{f}.down.skip" not in self.at:
                self.at[f"{f}.down.skip"] = begin
            if taken == len(stacks):
                if in_order == list(stacks) and len(stacks) > 1:
                    self.at[f"{f}.down.place"] = self.rng.uniform(onward, begin)
                self.at[f"{f}.column"] = max(move.place for move in moves)
            if self._breaks():
                self._fall_down(begin)
        self.at[f"{f}.done"] = max(placed)
        self.closed = self.at[f"{f}.column"]

    def _fall_up(self) -> float:
        """A stack that stands falls and is put right, or not; from when the stacking goes on."""
        x, fell = f"x{len(self.falls) + 1}", max(self.free.values())
        self.falls.append((x, "up", fell))
        if self._breaks():
            self.put_right_late.append(x)
            return fell
        move = self._move(self.rng.choice(HANDS), fell + 0.1)
        self.at[f"{x}.repaired"] = move.place
        self._release(f"{x}.let_go", [move])
        if self._breaks():
            self.by_hand[f"{x}.other_stack"] = {"left": self.rng.uniform(fell, move.place)}
            if self.rng.random() < 0.5:
                self.at[f"{x}.cured"] = max(again.place for again in self._work(2))
        return move.release

    def _fall_down(self, begin: float) -> None:
        x = f"x{len(self.falls) + 1}"
        fell = begin + self._soon()
        self.falls.append((x, "down", fell))
        if not self._breaks():
            self.at[f"{x}.closed"] = self._move(self.rng.choice(HANDS), fell).place

    def _stop(self) -> None:
        for x in self.put_right_late:
            if self.rng.random() < 0.7:
                move = self._move(self.rng.choice(HANDS))
                self.at[f"{x}.repaired"] = move.place
                self._release(f"{x}.let_go", [move])
        for moment, part in (("start.grip", "touch"), ("start.move", "lift")):
            touched = {
                hand: [getattr(move, part) for move in self.moves if move.hand == hand]
                for hand in HANDS
            }
            if "right" in self.hooked:
                touched["right"].append(self.hooked["right"] + (part == "lift"))
            self.by_hand[moment] = {hand: min(told) for hand, told in touched.items() if told}
        for x, phase, fell in self.falls:
            onward = [t for m, t in self.at.items() if m.endswith((".rise", ".begin")) and t > fell]
            if phase == "up" and onward:
                self.at[f"{x}.onward"] = min(onward)
        clear = {
            hand: max(
                [self.by_hand["start"][hand], *(m.release for m in self.moves if m.hand == hand)]
            )
            for hand in HANDS
        }
        on = {hand: max(self.free[hand], clear[hand]) + self._soon() for hand in HANDS}
        if self.event.clock.stops.value == "first hand" or self.rng.random() < 0.3:
            latest = max(self.by_hand["start"].values())
            on = {hand: max(time, latest + 0.5) for hand, time in on.items()}
        self.by_hand |= {"stop": on, "stop.clear": clear, "stop.flat": dict(on)}
        if self._breaks():
            hand = self.rng.choice(HANDS)
            clear[hand] = on[hand] + self._soon(9)
        if self._breaks():
            hand = self.rng.choice(HANDS)
            self.by_hand["stop.wrist"] = {hand: on[hand]}
            self.by_hand["stop.flat"][hand] = on[hand] + self._soon(9)

    def _passed(self, rows: int) -> None:
        """A formation is passed as a later one is done, or begun in its place, or at the stop."""
        stop = self.instant("stop")
        assert stop is not None
        for number in range(1, rows):
            later = [self.at.get(f"f{n}.done", stop) for n in range(number + 1, rows + 1)]
            if f"f{number}.done" not in self.at:
                later += [
                    time
                    for moment, time in self.at.items()
                    if moment[0] == "f" and moment.endswith(".rise") and int(moment[1]) > number
                ]
            self.at[f"f{number}.passed"] = min([stop, *later])

    # -- what is so

    def instant(self, moment: str, whose: str | None = None) -> float | None:
        """When it happened: a hand's, the first or the last of both; nothing where it never did."""
        if not self.by_hand.get(moment):
            return self.at.get(moment)
        hands = self.by_hand[moment]
        if whose in HANDS:
            return next((time for hand, time in hands.items() if hand == whose), None)
        if (whose or deciding(self.event, moment)) == "first":
            return min(hands.values())
        return max(hands.values()) if len(hands) == len(HANDS) else None


class Tagged(NamedTuple):
    """Entries that are true of a performance, and what each checkpoint that they tag must be."""

    entries: tuple[Entry, ...]
    frames: int
    outcomes: Mapping[str, Saw]


def tagged(rng: Random, event: EventDefinition, faults: float) -> Tagged:
    """A random run, tagged without a slip; some checkpoints are left out."""
    done = Performance(rng, event, faults)
    return _Tagger(rng, done).tagged()


class _Tagger:
    def __init__(self, rng: Random, done: Performance) -> None:
        self.rng, self.done, self.event = rng, done, done.event
        self.outcomes: dict[str, Saw] = {}
        self.stacks = [f"f1.s{built(rows_of(self.event)[0])[0]}"]

    def tagged(self) -> Tagged:
        entries: list[Entry] = [RunBegun(run=1, begins=spot(0))]
        fumbles = list(self._fumbles())
        entries += fumbles
        for step in steps(self.event, fumbles):
            if isinstance(step, str):
                entries += self._sighted(step)
            elif step.cures is None and step.follows is None and self.rng.random() < 0.9:
                entries += self._looks(step)
        for moment in (*self.done.at, *self.done.by_hand):
            if self.rng.random() < 0.3:
                entries += self._sighted(moment)
        entries.append(RunEnded(run=1, ends=spot(self.done.end)))
        return Tagged(tuple(entries), self.done.end + 1, self.outcomes)

    def _fumbles(self) -> Iterator[Fumble]:
        for name, phase, fell in self.done.falls:
            fields = {"run": 1, "fumble": name, "stack": self.stacks[0], "phase": phase}
            yield Fumble.model_validate(fields | {"at": spot(int(fell))})

    def _sighted(self, moment: str) -> Iterator[Sighted]:
        """A moment that happened, as seen whole or of each hand, sometimes in a wider bracket."""
        hands: list[Side | None] = [None]
        if moment in self.done.by_hand and self.rng.random() < 0.5:
            hands = list(HANDS)
        known = {m for s in steps(self.event) if isinstance(s, Check) for m in (s.met, s.due)}
        known |= {m for m in self.done.at if m.endswith(".rise")}
        for hand in hands:
            time = self.done.instant(moment, hand)
            if time is None or moment not in known:
                continue
            wide = self.rng.choice([0, 0, 1, 3])
            after, by = max(0, ceil(time) - 1 - wide), min(self.done.end, ceil(time) + wide)
            yield Sighted(run=1, moment=moment, hand=hand, after=spot(after), by=spot(by))

    def _looks(self, check: Check) -> Iterator[Look]:
        """One look at both hands, where one frame tells; else a look at each."""
        if not check.each:
            yield from self._look(check, None, None)
            return
        both = list(self._look(check, "last", "first"))
        if both and both[0].saw == "proven":
            yield from both
            return
        saws = []
        for hand in HANDS:
            for look in self._look(check, hand, hand):
                saws.append(look.saw)
                yield look.model_copy(update={"hand": hand})
        self.outcomes.pop(check.id, None)
        if "refuted" in saws:
            self.outcomes[check.id] = "refuted"

    def _look(self, check: Check, met_of: str | None, due_of: str | None) -> Iterator[Look]:
        met, due = self.done.instant(check.met, met_of), self.done.instant(check.due, due_of)
        end = self.done.end
        if met is None and due is None:
            return
        met_by = end + 1 if met is None else ceil(met)
        due_by = end + 1 if due is None else ceil(due)
        saw: Saw
        if met_by < due_by:
            saw, first, last = "proven", met_by, due_by - 1
        elif due_by < met_by:
            saw, first, last = "refuted", due_by, met_by - 1
        else:
            wide = self.rng.choice([0, 0, 2])
            by = min(end, met_by + wide)
            after = spot(max(0, met_by - 1 - wide))
            yield Look(run=1, checkpoint=check.id, saw="unproven", after=after, by=spot(by))
            return
        self.outcomes[check.id] = saw
        by = self.rng.choice([first, min(last, end), self.rng.randint(first, min(last, end))])
        yield Look(run=1, checkpoint=check.id, saw=saw, by=spot(by))
