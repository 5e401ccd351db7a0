"""What truly happens in a clip, told from the moves of its performance, and kept beside the clip.

Frames are counted from 0. Hands are those of the picture. A moment that both hands take part in is
told for each of them, as ``id:left`` and ``id:right``; a moment that never happens is left out.
"""

from collections.abc import Iterable, Iterator
from fractions import Fraction
from math import ceil
from typing import Literal

import numpy as np
import numpy.typing as npt
from pydantic import field_validator

from sessions.rules.events import EventDefinition
from sessions.rules.moments import SIDES, Side
from sessions.validation import Frozen
from tui.demo.conductor import Instant, Move, bracket
from tui.demo.layout import CUP_HEIGHT, CUP_WIDTH, GROW, HEIGHT, LEAGUE, RATE, WIDTH
from tui.demo.performance import Performance, RunLog
from tui.demo.sampling import Faces, Floats, Ints, Samples, milliseconds
from tui.demo.score import Score


class TrueMoment(Frozen):
    """An instant in seconds as a fraction; not yet in frame ``after``, shown first in ``by``."""

    seconds: str
    after: int
    by: int

    @field_validator("seconds")
    @classmethod
    def _is_fraction(cls, value: str) -> str:
        Fraction(value)
        return value


class TrueFumble(Frozen):
    """A cup falls from a stack, named as on the ladder, at a moment; ``id`` names the fumble."""

    id: str
    stack: str
    at: TrueMoment


class TrueRun(Frozen):
    """One run: ``attempt`` is its number, None for a warm-up; ``display`` is read after the stop.

    ``begins`` and ``ends`` are frames between which all of it happens.
    """

    run: int
    sort: Literal["attempt", "warm-up"]
    attempt: int | None
    fault: str
    begins: int
    ends: int
    display: str
    moments: dict[str, TrueMoment]
    fumbles: tuple[TrueFumble, ...] = ()
    started_over: tuple[TrueMoment, ...] = ()


class Truth(Frozen):
    """A clip: its score, its runs, and for each cup the frames that show its maker's mark whole.

    Cups are numbered by their first place, as in the score.
    """

    format: Literal["framecall-truth"] = "framecall-truth"
    version: Literal[1] = 1
    invented: Literal[True] = True
    league: str = LEAGUE
    clip: str
    frames: int
    rate: int
    size: tuple[int, int]
    score: Score
    runs: tuple[TrueRun, ...]
    marks: dict[int, tuple[tuple[int, int], ...]]


Bools = npt.NDArray[np.bool_]

_MARK = (-11 * GROW, -44 * GROW, 15 * GROW, -18 * GROW)
_CUP = (-CUP_WIDTH / 2 - 2, -CUP_HEIGHT - 2, CUP_WIDTH / 2 + 2, 2.0)
_HAND = (-54 * GROW, -46 * GROW, 54 * GROW, 80 * GROW)
"""Boxes about the place of a mark's cup, of a cup and of a hand: left, top, right, bottom."""


def mark_frames(performance: Performance) -> dict[int, tuple[tuple[int, int], ...]]:
    """For each cup, numbered from 1, the inclusive ranges of frames that show its mark whole."""
    samples = Samples(performance, 1.0)
    faces = Faces(performance)
    facing = [faces.marked(frame) for frame in range(performance.frames)]
    found = {}
    for cup in range(samples.cups.shape[2]):
        seen = ~_hidden(samples, cup) & np.array([cup in marked for marked in facing])
        found[cup + 1] = _ranges(seen)
    return found


def _hidden(samples: Samples, cup: int) -> Bools:
    places, layers = samples.cups[:, -1], samples.layers[:, -1]
    hidden: Bools = (samples.cups[:, :, cup] != places[:, None, cup]).any(axis=(1, 2))
    mark = places[:, cup]
    for other in range(places.shape[1]):
        over = layers[:, other] > layers[:, cup]
        hidden |= over & _covers(mark, places[:, other], _CUP)
    for hand in range(2):
        hidden |= _covers(mark, samples.hands[:, -1, hand], _HAND)
    return hidden


def _covers(mark: Ints, thing: Ints, box: tuple[float, float, float, float]) -> Bools:
    """Whether the box of a thing shares pixels with the mark of a cup, frame by frame."""
    apart: Floats = (thing - mark).astype(np.float64)
    across = (apart[:, 0] + box[0] < _MARK[2]) & (apart[:, 0] + box[2] > _MARK[0])
    upright = (apart[:, 1] + box[1] < _MARK[3]) & (apart[:, 1] + box[3] > _MARK[1])
    covered: Bools = across & upright
    return covered


def _ranges(seen: Bools) -> tuple[tuple[int, int], ...]:
    edges = np.flatnonzero(np.diff(np.concatenate([[False], seen, [False]]).astype(np.int8)))
    return tuple((int(a), int(b) - 1) for a, b in edges.reshape(-1, 2))


Moments = Iterator[tuple[str, Instant]]


def witness(performance: Performance, scale: float = 1.0) -> Truth:
    """Tell all that truly happens in a performance that is filmed at a scale."""
    numbers = _attempt_numbers(performance.runs)
    return Truth(
        clip=f"{performance.score.name}.mp4",
        frames=performance.frames,
        rate=RATE,
        size=(round(WIDTH * scale), round(HEIGHT * scale)),
        score=performance.score,
        runs=tuple(
            _run(performance.event, log, number, attempt)
            for number, (log, attempt) in enumerate(zip(performance.runs, numbers, strict=True), 1)
        ),
        marks=mark_frames(performance),
    )


def true_moment(instant: Instant) -> TrueMoment:
    """An instant in frames, as seconds and as the frames that bracket it."""
    frames = bracket(instant)
    assert frames.after is not None
    assert frames.by is not None
    return TrueMoment(seconds=str(instant / RATE), after=frames.after, by=frames.by)


def _attempt_numbers(logs: Iterable[RunLog]) -> list[int | None]:
    numbers: list[int | None] = []
    following = 1
    for log in logs:
        counts = log.score.sort == "attempt"
        numbers.append(following if counts else None)
        following += counts * (1 + len(log.restarts))
    return numbers


def _run(event: EventDefinition, log: RunLog, number: int, attempt: int | None) -> TrueRun:
    shown = milliseconds(min(log.off.values()), max(log.on.values()))
    return TrueRun(
        run=number,
        sort=log.score.sort,
        attempt=attempt,
        fault=log.score.fault,
        begins=ceil(log.begins),
        ends=ceil(log.ends),
        display=f"{shown // 1000}.{shown % 1000:03d}",
        moments={name: true_moment(instant) for name, instant in moments(event, log)},
        fumbles=tuple(
            TrueFumble(id=f"x{i}", stack=stack, at=true_moment(at))
            for i, (at, stack) in enumerate(log.fumbles, 1)
        ),
        started_over=tuple(true_moment(at) for at in log.restarts),
    )


def moments(event: EventDefinition, log: RunLog) -> Moments:
    """Every moment of a run that happens, with its exact instant in frames."""
    yield from _ends(log)
    for number, row in enumerate(event.rows, 1):
        for position in row.pyramids:
            yield from _up(log, f"f{number}.s{position}")
        for turn in range(1, len(row.pyramids) + 1):
            yield from _down(log, f"f{number}.d{turn}")
        last = _of(log, f"f{number}.d{len(row.pyramids)}")
        yield f"f{number}.down.place", _first_lift(last)
        yield f"f{number}.column", _last_place(last)
        yield f"f{number}.done", _last_place(last)
        yield from _clear(f"f{number}.singles.let_go", _of(log, f"f{number}.singles"))
    yield from _repair(log)
    if extra := _of(log, "extra"):
        yield "extra", _first_lift(extra)


def _ends(log: RunLog) -> Moments:
    yield from ((f"start:{side}", at) for side, at in log.off.items())
    yield from ((f"start.flat:{side}", at) for side, at in log.flat.items())
    yield from ((f"start.wrist:{side}", at) for side, at in log.wrist.items())
    for side in SIDES:
        touches = [move.touch for move in log.moves if move.hand == side]
        yield f"start.grip:{side}", min(touches)
    lift = _first_lift(log.moves)
    yield "start.move", lift if log.drift is None else min(lift, log.drift)
    yield from _clear("stop.clear", log.moves)
    yield from ((f"stop:{side}", at) for side, at in log.on.items())
    yield from ((f"stop.flat:{side}", at) for side, at in log.on.items())


def _up(log: RunLog, stack: str) -> Moments:
    moves = _of(log, f"{stack}.up")
    yield f"{stack}.rise", _first_lift(moves)
    repairs = [fumble for fumble in log.fumbles if fumble[1] == stack]
    yield from _clear(f"{stack}.let_go", [*moves, *(_of(log, "x1") if repairs else [])])


def _down(log: RunLog, turn: str) -> Moments:
    moves = _of(log, turn)
    yield f"{turn}.begin", _first_lift(moves)
    for side in SIDES:
        touches = [move.touch for move in moves if move.hand == side]
        yield f"{turn}.two_hands:{side}", min(touches)


def _repair(log: RunLog) -> Moments:
    """The moments that a fumble adds; where the event is started over, the rebuilding repairs."""
    for number, (_, stack) in enumerate(log.fumbles, 1):
        name = f"x{number}"
        repair, cure = _of(log, f"{name}.repair"), _of(log, f"{name}.cure.up")
        yield f"{name}.repaired", _last_place(repair or _of(log, f"{stack}.up"))
        yield from _clear(f"{name}.let_go", cure or repair or _of(log, f"{stack}.up"))
        for rest in _of(log, f"{name}.rest"):
            yield f"{name}.other_stack:{rest.hand}", rest.touch
        if cure:
            yield f"{name}.cured", _last_place(cure)


def _of(log: RunLog, part: str) -> list[Move]:
    """The moves of a part, or of all parts of it."""
    return [m for m in log.moves if m.part == part or m.part.startswith(f"{part}.")]


def _clear(name: str, moves: Iterable[Move]) -> Moments:
    """When the hands are clear for the last time of what they touched in these moves.

    Where one hand alone touched it, the moment is told without a hand.
    """
    released: dict[Side, Instant] = {}
    for move in moves:
        if move.release is not None:
            released[move.hand] = max(released.get(move.hand, move.release), move.release)
    if len(released) == 1:
        yield name, released.popitem()[1]
    yield from ((f"{name}:{side}", at) for side, at in released.items())


def _first_lift(moves: Iterable[Move]) -> Instant:
    return min(move.lift for move in moves if move.lift is not None)


def _last_place(moves: Iterable[Move]) -> Instant:
    return max(move.place for move in moves if move.place is not None)
