"""The truth that the checker is held against: brute force over concrete instants.

It has a reading of its own of what an event asks for: the checkpoints, how the two hands are judged
and the order of a run's moments are written down here once more, from the trade's common practice
(no source), and from nothing of the program but an event's settings and the entries of a session.

An instant is a whole number of half frames: ``2 * n`` is frame n, ``2 * n - 1`` lies between frames
n - 1 and n. The bracket ``(after, by]`` is every instant above ``2 * after`` up to ``2 * by``. Two
instants in each gap are enough, because a checkpoint compares two instants, and a tie is no breach.
An end that nobody looked for reaches beyond the footage, by more than one frame on that side.

A mark speaks of one moment at a time, and of nothing else. So the assignments of instants that
agree with all marks are the product of what each moment may be, and a checkpoint need only try the
instants of its own moments; where two hands take part, all pairs of theirs.
"""

import math
from collections.abc import Iterable, Iterator, Mapping
from fractions import Fraction
from functools import cached_property
from itertools import pairwise, product

import numpy as np
import numpy.typing as npt

from sessions.record.entries import Fumble, Look, Sighted
from sessions.record.session import Run, Session
from sessions.rules.events import Clock, EventDefinition, Rounding
from tests.sessions.ruling.event_reading import Check, Node, deciding, orders, steps

Instants = frozenset[int]
Pairs = tuple[tuple[int, int], ...]
"""Instants of the left and the right hand together."""

Saying = tuple[Node, int | None, int | None]
"""What one mark says of one instant: after and by in frames."""

EARLIEST = -4
BEFORE_FOOTAGE = -2
"""The instant of frame -1, the last before the footage."""

# -- what marks say


class Truth:
    """What the marks of a run prove in a footage of so many frames."""

    def __init__(
        self,
        event: EventDefinition,
        fumbles: Iterable[Fumble],
        marks: Iterable[Look | Sighted],
        frames: int,
        falls: Iterable[Fumble] = (),
    ) -> None:
        """``falls`` are the fumbles whose own frame is evidence of when they were."""
        self.event, self.frames, self.falls = event, frames, tuple(falls)
        self.fumbles, self.marks = tuple(fumbles), tuple(marks)
        self.checks = [s for s in steps(event, self.fumbles) if isinstance(s, Check)]
        self._by_id = {check.id: check for check in self.checks}
        self.moments = {"start", "stop", *(m for c in self.checks for m in (c.met, c.due))}
        self.said = [saying for mark in self.marks for saying in self.sayings(mark)]

    @classmethod
    def of(cls, event: EventDefinition, run: Run, frames: int) -> "Truth":
        """What those tags prove that are seen in their run."""
        falls = [fumble for fumble in run.fumbles if lies_in(run, fumble.at.frame)]
        return cls(event, run.fumbles, seen_in(run), frames, falls)

    def sayings(self, mark: Look | Sighted) -> Iterator[Saying]:
        """Every statement of a mark about an instant."""
        by, after = mark.by.frame, -1 if mark.after is None else mark.after.frame
        if isinstance(mark, Sighted):
            if mark.hand is None or deciding(self.event, mark.moment):
                yield (mark.moment, mark.hand or deciding(self.event, mark.moment)), after, by
            return
        check = self._by_id.get(mark.checkpoint)
        if check is None:
            return
        for moment, worst in ((check.met, "last"), (check.due, "first")):
            whose = self._whose(check, moment, mark.hand)
            each = check.each and whose not in ("left", "right")
            has_happened = (mark.saw == "proven") == (moment == check.met)
            if mark.saw == "unproven" and each:
                yield (moment, "first"), after, None
                yield (moment, "last"), None, by
            elif mark.saw == "unproven":
                yield (moment, whose), after, by
            else:
                node = moment, worst if each else whose
                yield (node, None, by) if has_happened else (node, by, None)

    def _whose(self, check: Check, moment: str, hand: str | None) -> str | None:
        """Whose instant a look is of: a hand's own, unless it is the clock that is asked for."""
        hands = deciding(self.event, moment)
        if hand is None or hands is None:
            return hands
        return hand if check.each or moment not in ("start", "stop") else hands

    # -- what each moment may be

    @cached_property
    def _tried(self) -> Mapping[str, list[int]]:
        """The instants that are tried for a moment: two in every gap between the frames told."""
        ends: dict[str, set[int]] = {moment: {-1, self.frames - 1} for moment in self.moments}
        for (moment, _), after, by in self.said:
            ends.setdefault(moment, set()).update(f for f in (after, by) if f is not None)
        beyond = {EARLIEST, EARLIEST + 1, 2 * self.frames}
        for check in self.checks:
            shared = ends[check.met] | ends[check.due]
            ends[check.met] |= shared
            ends[check.due] |= shared
        return {
            moment: sorted(beyond | {t for f in found for t in (2 * f, 2 * f + 1)})
            for moment, found in ends.items()
        }

    @cached_property
    def pairs(self) -> Mapping[str, Pairs]:
        """Both hands' instants that agree with all that is said of them; the same without hands."""
        return {moment: tuple(self._pairs(moment)) for moment in self.moments}

    def _pairs(self, moment: str) -> Iterator[tuple[int, int]]:
        tried = self._tried[moment]
        said = [(who, after, by) for (name, who), after, by in self.said if name == moment]
        if deciding(self.event, moment) is None:
            yield from ((t, t) for t in tried if all(_fits(t, a, b) for _, a, b in said))
            return
        left, right = np.array(tried)[:, None], np.array(tried)[None, :]
        at = {"left": left, "right": right}
        at |= {"first": np.minimum(left, right), "last": np.maximum(left, right)}
        fit = np.ones((len(tried), len(tried)), dtype=bool)
        for who, after, by in said:
            fit &= True if after is None else at[who or ""] > 2 * after
            fit &= True if by is None else at[who or ""] <= 2 * by
        yield from ((tried[one], tried[other]) for one, other in np.argwhere(fit))

    @cached_property
    def instants(self) -> Mapping[str, Instants]:
        """What the moment itself may be: the deciding hand's instant."""
        decide = {"first": min, "last": max, None: min}
        return {
            moment: frozenset(decide[deciding(self.event, moment)](pair) for pair in pairs)
            for moment, pairs in self.pairs.items()
        }

    # -- the checkpoints

    def judged(self, cured: bool) -> list[Check]:
        """The faults that can be cured, or all other checkpoints; a cure counts with its fault."""
        plain = (check for check in self.checks if check.cures is None and self.is_asked(check))
        return [check for check in plain if (check.cure is not None) == cured]

    def is_asked(self, check: Check) -> bool:
        """Whether the touch before it, where there must have been one, is proven to be a fault."""
        if check.follows is None:
            return True
        before = self._by_id[check.follows]
        return self.is_asked(before) and self.breaches(before) == {True}

    def contradicts_itself(self, check: Check) -> bool:
        """Whether no instant is left for one of the checkpoint's moments, or for both together."""
        return not (self.pairs[check.met] and self.pairs[check.due] and self.breaches(check))

    @cached_property
    def _breaches(self) -> dict[str, set[bool]]:
        return {}

    def breaches(self, check: Check) -> set[bool]:
        """Whether ``due`` came before ``met``, over all assignments; a cure is left aside."""
        if check.id not in self._breaches:
            self._breaches[check.id] = self._tried_out(check)
        return self._breaches[check.id]

    def _tried_out(self, check: Check) -> set[bool]:
        if not (self.pairs[check.met] and self.pairs[check.due]):
            return set()
        if not check.each:
            met, due = (_column(self.instants[m]) for m in (check.met, check.due))
            return {bool(b) for b in np.unique(due[None, :] < met[:, None])}
        met, due = (np.array(self.pairs[m]) for m in (check.met, check.due))
        broken = due[None, :, :] < met[:, None, :]
        return {
            bool(b) for b in np.unique((broken[:, :, 0] | broken[:, :, 1])[self._worlds(check)])
        }

    def _worlds(self, check: Check) -> npt.NDArray[np.bool_]:
        """Which instants of both moments agree: a fault shown of some hand is of one of them."""
        met, due = (np.array(self.pairs[m]) for m in (check.met, check.due))
        late, early = met[:, None, :], due[None, :, :]
        agree = np.ones((len(met), len(due)), dtype=bool)
        for look in self.marks:
            if isinstance(look, Look) and look.checkpoint == check.id and _names_no_hand(look):
                shown = (early <= 2 * look.by.frame) & (late > 2 * look.by.frame)
                agree &= shown[:, :, 0] | shown[:, :, 1]
        return agree

    def is_bracketed(self, check: Check) -> bool:
        """Whether all that may break the checkpoint was looked for from both sides."""
        if check.each:
            hands = [hand for hand in (0, 1) if self._may_break_by(check, hand)]
            pairs = (pair for m in (check.met, check.due) for pair in self.pairs[m])
            told = {pair[hand] for pair in pairs for hand in hands}
        else:
            told = {t for m in (check.met, check.due) for t in self.instants[m]}
        return all(BEFORE_FOOTAGE < t <= 2 * (self.frames - 1) for t in told)

    def _may_break_by(self, check: Check, hand: int) -> bool:
        agree = self._worlds(check)
        late, early = (np.array(self.pairs[m])[:, hand] for m in (check.met, check.due))
        return bool(((early[None, :] < late[:, None]) & agree).any())

    def may_break(self, check: Check, frame: int) -> bool:
        """Whether a frame may show ``due`` and ``met`` not yet, whichever hand's."""
        if not check.each:
            due_by_then = any(t <= 2 * frame for t in self.instants[check.due])
            return due_by_then and any(t > 2 * frame for t in self.instants[check.met])
        return any(
            due[hand] <= 2 * frame < met[hand]
            for met, due in product(self.pairs[check.met], self.pairs[check.due])
            for hand in (0, 1)
        )

    def outcome(self, check: Check) -> str:
        """The checkpoint over all assignments that agree with the marks."""
        partner = self._by_id.get(check.cure or check.cures or "")
        if partner is not None:
            fault, cure = (check, partner) if check.cure else (partner, check)
            return self._outcome_with_cure(fault, cure)
        if self.contradicts_itself(check):
            return "conflict"
        return self._named(self.breaches(check), self.is_bracketed(check))

    def _outcome_with_cure(self, fault: Check, cure: Check) -> str:
        """Broken only where the fault and the missing cure both are; their moments are disjoint."""
        if self.contradicts_itself(fault) or self.contradicts_itself(cure):
            return "conflict"
        at_fault = self.breaches(fault)
        if self.is_no_cure(cure):
            return self._named(at_fault, self.is_bracketed(fault))
        broken = {a and b for a, b in product(at_fault, self.breaches(cure))}
        looked = self.is_bracketed(cure) if at_fault == {True} else self.is_bracketed(fault)
        return self._named(broken, looked)

    def is_no_cure(self, cure: Check) -> bool:
        """Whether what is said to be built again cannot have been so after its touch."""
        built_again = self.instants[cure.met]
        touch, right = (self.instants[moment] for moment in cure.since)
        after_touch = any(t < c for t, c in product(touch, built_again))
        return not (after_touch and any(t <= c for t, c in product(right, built_again)))

    @staticmethod
    def _named(broken: set[bool], looked: bool) -> str:
        if broken == {True}:
            return "refuted"
        if broken == {False}:
            return "proven"
        return "unproven" if looked else "unlooked"

    # -- the order of all moments

    def in_order(self) -> set[str]:
        """The checkpoints tagged as in order, of both hands or of each, and as nothing else."""
        saw: dict[str, set[tuple[str, str | None]]] = {}
        for mark in self.marks:
            if isinstance(mark, Look) and mark.checkpoint in self._by_id:
                saw.setdefault(mark.checkpoint, set()).add((mark.saw, mark.hand))
        return {name for name, looks in saw.items() if self._is_in_order(name, looks)}

    def _is_in_order(self, name: str, looks: set[tuple[str, str | None]]) -> bool:
        check = self._by_id[name]
        hands = {hand for _, hand in looks}
        by_hand = any(
            self._whose(check, moment, "left") == "left" for moment in (check.met, check.due)
        )
        whole = None in hands or not by_hand or hands == {"left", "right"}
        return {saw for saw, _ in looks} == {"proven"} and whole

    def can_all_be(self) -> bool:
        """Whether some instants of all moments agree with the marks, the falls and the order.

        For every way of saying which hand was first, all begin at their earliest and each is put
        off until what must not be later: the earliest assignment, if there is one.
        """
        handed = sorted({m for (m, who), _, _ in self.said if who in ("left", "right")})
        ways = product(*(((m, "left", "right"), (m, "right", "left")) for m in handed))
        return any(self._earliest({m: (first, last) for m, first, last in way}) for way in ways)

    def _earliest(self, first_and_last: Mapping[str, tuple[str, str]]) -> bool:
        def node(of: Node) -> Node:
            moment, who = of
            if moment in first_and_last and who in ("first", "last"):
                return moment, first_and_last[moment][who == "last"]
            return of

        kept = self.in_order()
        known = [
            (node(o.before), node(o.after))
            for o in orders(self.event, self.fumbles)
            if o.needs is None or o.needs in kept
        ]
        everyone = {n[0] for pair in known for n in pair} | {n[0] for n, _, _ in self.said}
        known += [
            (node((m, "first")), node((m, "last"))) for m in everyone if deciding(self.event, m)
        ]
        earliest: dict[Node, int] = {}
        latest: dict[Node, int] = {}
        falls = [((f"{f.fumble}.fallen", None), f.at.frame, None) for f in self.falls]
        for of, after, by in [*self.said, *falls]:
            place = node(of)
            if after is not None:
                earliest[place] = max(earliest.get(place, EARLIEST), 2 * after + 1)
            if by is not None:
                latest[place] = min(latest.get(place, 2 * self.frames), 2 * by)
        moving = True
        while moving:
            moving = False
            for before, after_it in known:
                if earliest.get(before, EARLIEST) > earliest.get(after_it, EARLIEST):
                    earliest[after_it] = earliest[before]
                    moving = True
        return all(earliest.get(place, EARLIEST) <= end for place, end in latest.items())


def _fits(instant: int, after: int | None, by: int | None) -> bool:
    return (after is None or instant > 2 * after) and (by is None or instant <= 2 * by)


def _column(instants: Iterable[int]) -> npt.NDArray[np.int_]:
    return np.array(sorted(instants))


def _names_no_hand(look: Look) -> bool:
    return look.saw == "refuted" and look.hand is None


def attempt_numbers(runs: Iterable[Run], before: int = 0) -> dict[int, int]:
    """Each timed run takes the next number; each starting over inside it spends one more.

    ``before`` were used before the footage begins.
    """
    numbers, following = {}, before + 1
    for run in runs:
        if run.sort == "attempt":
            numbers[run.id] = following
            following += 1 + len({e.at.frame for e in run.started_over if lies_in(run, e.at.frame)})
    return numbers


def attempts_before(session: Session) -> int:
    """How many attempts were used before the footage; the most that is told."""
    return max([0, *(entry.attempts for entry in session.attempts_before)])


def lies_in(run: Run, frame: int) -> bool:
    """Whether a frame is of the run: from its first beginning to its last end, if it has one."""
    first = min(e.begins.frame for e in run.begun)
    last = max((e.ends.frame for e in run.ended), default=frame)
    return first <= frame <= last


def seen_in(run: Run) -> list[Look | Sighted]:
    """The marks that are seen in their run: the others prove nothing of it."""
    return [mark for mark in run.marks if lies_in(run, mark.by.frame)]


def may_show_the_time(run: Run, runs: Iterable[Run], stop: Instants, frame: int) -> bool:
    """Whether the display in a frame may show the time of a run.

    Its clock may have stopped by then, by some instant that the marks leave for the stop; and no
    run that begins after this one has begun.
    """
    first = min(e.begins.frame for e in run.begun)
    others = {min(e.begins.frame for e in other.begun) for other in runs}
    has_stopped = any(t <= 2 * frame for t in stop) or not stop
    return first <= frame and has_stopped and not any(first < b <= frame for b in others)


def best_time(times: Mapping[int, str], standing: Iterable[int]) -> Fraction | None:
    """The least displayed time of the runs that stand, in seconds."""
    return min((Fraction(times[run]) for run in standing), default=None)


def shows(seconds: Fraction, reading: Fraction, clock: Clock) -> bool:
    """Whether a display may read so after so many seconds."""
    steps, wanted = seconds / clock.step, reading / clock.step
    whole = math.floor(steps)
    down, up = {whole}, {math.ceil(steps)}
    nearest = {n for n in (whole, whole + 1) if abs(steps - n) <= Fraction(1, 2)}
    of = {
        Rounding.DOWN: down,
        Rounding.UP: up,
        Rounding.NEAREST: nearest,
        Rounding.UNSTATED: down | up | nearest,
    }
    return wanted in of[clock.rounding]


def is_possible(reading: str, clock: Clock, shortest: Fraction, longest: Fraction) -> bool:
    """Whether some time strictly between the bounds makes the display read so: all kinds tried.

    What the display reads changes only at multiples of half its step; so it is enough to try the
    multiples near the reading, the bounds, and a time between each two of these neighbours.
    """
    value = Fraction(reading)
    ends = sorted({value + n * clock.step / 2 for n in range(-4, 5)} | {shortest, longest})
    tried = ends + [(a + b) / 2 for a, b in pairwise(ends)]
    return any(shortest < t < longest and shows(t, value, clock) for t in tried)


def best_is_settled(
    fixed: Mapping[int, Fraction], undecided: Mapping[int, Fraction | None]
) -> bool:
    """Whether every way that the undecided runs can end leaves the same run the best.

    ``fixed`` are the times of the runs that stand; a run without a time may turn out the fastest.
    """
    bests = set()
    for ends in product((False, True), repeat=len(undecided)):
        standing = dict(fixed)
        for (run, time), stands in zip(undecided.items(), ends, strict=True):
            if stands:
                standing[run] = Fraction(0) if time is None else time
        least = min(standing.values(), default=None)
        bests.add(frozenset(run for run, time in standing.items() if time == least))
    return len(bests) == 1


def unwatched_from(shown: set[int], frames: int, frame_seconds: Fraction) -> int | None:
    """The first frame of the first stretch of over a quarter of a second that nobody saw.

    Such a stretch goes from one frame seen to the next, and begins or ends with the footage.
    """
    last_seen, left_out = 0, False
    for frame in range(frames):
        if frame not in shown:
            left_out = True
        if frame in shown or frame == frames - 1:
            if left_out and (frame - last_seen) * frame_seconds > Fraction(1, 4):
                return next(f for f in range(last_seen, frames) if f not in shown)
            last_seen, left_out = frame, False
    return None
