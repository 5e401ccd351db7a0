"""The truth that the checker is held against: brute force over concrete instants.

An instant is a whole number of half frames: ``2 * n`` is frame n, ``2 * n - 1`` lies between frames
n - 1 and n. The bracket ``(after, by]`` is every instant above ``2 * after`` up to ``2 * by``. Two
instants in each gap are enough, because a checkpoint compares two instants, and a tie is no breach.
An end that nobody looked for reaches beyond the footage, by more than one frame on that side.

A mark speaks of one instant at a time, and of nothing else. So the assignments of instants that
agree with all marks are the product of what each moment may be, and a checkpoint need only try the
instants of its own moments.
"""

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from fractions import Fraction
from functools import lru_cache
from itertools import pairwise, product

from sessions.record.entries import Look, Sighted
from sessions.record.session import Run, Session
from sessions.rules.events import Clock, Hand, Rounding
from sessions.rules.ladder import Ladder, Statement
from sessions.rules.moments import Moment

Instants = frozenset[int]
Saying = tuple[str, str | None, int | None, int | None]
"""What one mark says of one instant: the moment, the hand, after and by in frames."""

EARLIEST = -4
BEFORE_FOOTAGE = -2
"""The instant of frame -1, the last before the footage."""


def everything(frames: int) -> Instants:
    """Every instant of a footage of so many frames, and some beyond both of its ends."""
    return frozenset(range(EARLIEST, 2 * frames + 1))


def sayings(ladder: Ladder, marks: Iterable[Look | Sighted]) -> Iterator[Saying]:
    """Every statement of the marks about a moment of the ladder."""
    statements = {checkpoint.id: checkpoint for checkpoint in ladder.statements}
    for mark in marks:
        after = -1 if mark.after is None else mark.after.frame
        by = mark.by.frame
        if isinstance(mark, Sighted):
            yield mark.moment, mark.hand, after, by
        elif mark.checkpoint in statements:
            checkpoint = statements[mark.checkpoint]
            if mark.saw == "unproven":
                yield checkpoint.met, None, after, by
                yield checkpoint.due, None, after, by
            else:
                kept = mark.saw == "proven"
                done, not_yet = (
                    (checkpoint.met, checkpoint.due) if kept else (checkpoint.due, checkpoint.met)
                )
                yield done, None, None, by
                yield not_yet, None, by, None


def allowed(said: Iterable[Saying], frames: int) -> Instants:
    """The instants that agree with all of these sayings."""
    instants = everything(frames)
    for _, _, after, by in said:
        instants &= {
            t for t in instants if (after is None or t > 2 * after) and (by is None or t <= 2 * by)
        }
    return instants


def possible(moment: Moment, said: Sequence[Saying], frames: int) -> Instants:
    """Every instant that the moment may have had: both hands tried, where it has hands."""
    own = [s for s in said if s[0] == moment.id]
    whole = allowed([s for s in own if s[1] is None], frames)
    if moment.hands is None:
        return whole
    left = allowed([s for s in own if s[1] == "left"], frames)
    right = allowed([s for s in own if s[1] == "right"], frames)
    return whole & of_hands(moment.hands, left, right)


@lru_cache(maxsize=256)
def of_hands(deciding: Hand, left: Instants, right: Instants) -> Instants:
    """The instants of the first or the last of two hands, all pairs tried."""
    decides = min if deciding is Hand.FIRST else max
    return frozenset(decides(a, b) for a, b in product(left, right))


class Truth:
    """What the marks of a run prove in a footage of so many frames."""

    def __init__(self, ladder: Ladder, marks: Iterable[Look | Sighted], frames: int) -> None:
        self.ladder = ladder
        self.frames = frames
        said = list(sayings(ladder, marks))
        self.instants: Mapping[str, Instants] = {
            moment.id: possible(moment, said, frames) for moment in ladder.moments.values()
        }

    def judged(self, cured: bool) -> list[Statement]:
        """The faults that can be cured, or all other checkpoints; a cure counts with its fault."""
        plain = (checkpoint for checkpoint in self.ladder.statements if checkpoint.cures is None)
        return [checkpoint for checkpoint in plain if (checkpoint.cure is not None) == cured]

    def contradicts_itself(self, checkpoint: Statement) -> bool:
        """Whether no instant is left for one of the checkpoint's moments."""
        return not (self.instants[checkpoint.met] and self.instants[checkpoint.due])

    def breaches(self, checkpoint: Statement) -> set[bool]:
        """Whether ``due`` came before ``met``, over all assignments; a cure is left aside."""
        found = set()
        for met, due in product(self.instants[checkpoint.met], self.instants[checkpoint.due]):
            found.add(due < met)
            if len(found) == 2:
                break
        return found

    def is_bracketed(self, checkpoint: Statement) -> bool:
        """Whether both moments were looked for from both sides."""
        return all(
            BEFORE_FOOTAGE < t <= 2 * (self.frames - 1)
            for moment in (checkpoint.met, checkpoint.due)
            for t in self.instants[moment]
        )

    def partner(self, checkpoint: Statement) -> Statement | None:
        """The cure of a fault, or the fault of a cure."""
        other = checkpoint.cure or checkpoint.cures
        return next((r for r in self.ladder.statements if r.id == other), None)

    def outcome(self, checkpoint: Statement) -> str:
        """The checkpoint over all assignments that agree with the marks."""
        partner = self.partner(checkpoint)
        if partner is not None:
            fault, cure = (checkpoint, partner) if checkpoint.cure else (partner, checkpoint)
            return self._outcome_with_cure(fault, cure)
        if self.contradicts_itself(checkpoint):
            return "conflict"
        return self._named(self.breaches(checkpoint), self.is_bracketed(checkpoint))

    def _outcome_with_cure(self, fault: Statement, cure: Statement) -> str:
        """Broken only where the fault and the missing cure both are; their moments are disjoint."""
        if self.contradicts_itself(fault) or self.contradicts_itself(cure):
            return "conflict"
        at_fault = self.breaches(fault)
        broken = {a and b for a, b in product(at_fault, self.breaches(cure))}
        looked = self.is_bracketed(cure) if at_fault == {True} else self.is_bracketed(fault)
        return self._named(broken, looked)

    @staticmethod
    def _named(broken: set[bool], looked: bool) -> str:
        if broken == {True}:
            return "refuted"
        if broken == {False}:
            return "proven"
        return "unproven" if looked else "unlooked"

    def may_be_clean(self) -> bool:
        """Whether some assignment that agrees with all marks breaks no checkpoint.

        Each cured pair asks for one of its two; every other checkpoint for its own. Starting from
        the earliest instants, each ``due`` is put off until its ``met``: the earliest clean
        assignment, if there is one.
        """
        statements = self.ladder.statements
        plain = [checkpoint for checkpoint in statements if self.partner(checkpoint) is None]
        pairs = [(r, self.partner(r)) for r in statements if r.cure is not None]
        return any(
            self._earliest_clean([*plain, *(r for r in chosen if r is not None)])
            for chosen in product(*pairs)
        )

    def _earliest_clean(self, statements: Sequence[Statement]) -> bool:
        if not all(self.instants.values()):
            return False
        now = {moment: min(instants) for moment, instants in self.instants.items()}
        while late := [r for r in statements if now[r.due] < now[r.met]]:
            checkpoint = late[0]
            later = [t for t in self.instants[checkpoint.due] if t >= now[checkpoint.met]]
            if not later:
                return False
            now[checkpoint.due] = min(later)
        return True


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
