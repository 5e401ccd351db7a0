"""The ladder of checkpoints, generated from an event's formations by a handful of general rules.

Every checkpoint is one statement: the moment ``met`` came before the moment ``due``. One frame
that shows ``met`` done and ``due`` not yet proves it; the reverse refutes it.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from enum import StrEnum
from functools import cached_property, lru_cache
from types import MappingProxyType
from typing import Literal

from sessions.rules.events import EventDefinition, Formation, Hand
from sessions.rules.moments import CLOCK, Moment, moment
from sessions.rules.rulebook import JudgedBy, rules


class Kind(StrEnum):
    """Kinds of checkpoints on the ladder; each kind has one key."""

    HANDS_OFF = "hands_off"
    HANDS_ON = "hands_on"
    FLAT = "flat"
    GRIP = "grip"
    STILL = "still"
    LET_GO = "let_go"
    TWO_HANDS = "two_hands"
    ORDER = "order"
    COLUMN = "column"
    SINGLES = "singles"
    FORMATION = "formation"
    FREE = "free"
    EXACT = "exact"
    REPAIRED = "repaired"
    ONE_STACK = "one_stack"
    CURED = "cured"


MARKER_KINDS = frozenset({Kind.HANDS_OFF, Kind.HANDS_ON})
"""The checkpoints that sight one moment, and judge nothing by themselves."""


@dataclass(frozen=True, slots=True)
class Statement:
    """One checkpoint: ``met`` must come before ``due`` (ids of moments).

    ``each``: each hand's ``met`` must come before the same hand's ``due``. Else one instant of each
    moment decides; ``met_by_hand`` and ``due_by_hand`` say whether a hand's tag then speaks of that
    hand's own instant. ``cure`` names the checkpoint that, when proven, makes a refuted one not
    count; ``cures`` is its other end, and what it cures must have come before it: the moments
    ``since``. ``follows`` names a checkpoint that must be refuted before this one is asked for.
    """

    id: str
    kind: Kind
    rule: str
    title: str
    met: str
    due: str
    each: bool = False
    met_by_hand: bool = False
    due_by_hand: bool = False
    cure: str | None = None
    cures: str | None = None
    since: tuple[str, ...] = ()
    follows: str | None = None

    @property
    def by_hand(self) -> bool:
        """Whether either hand can be tagged by itself."""
        return self.met_by_hand or self.due_by_hand


@dataclass(frozen=True, slots=True)
class Marker:
    """A moment to sight for the clock's sake."""

    id: str
    kind: Kind
    title: str


Checkpoint = Statement | Marker


@dataclass(frozen=True)
class Ladder:
    """The checkpoints of a run in the order in which they fall due, and their moments."""

    checkpoints: tuple[Checkpoint, ...]
    moments: MappingProxyType[str, Moment]

    @cached_property
    def statements(self) -> tuple[Statement, ...]:
        """The checkpoints that state an order, without the markers."""
        return tuple(
            checkpoint for checkpoint in self.checkpoints if isinstance(checkpoint, Statement)
        )

    @cached_property
    def _by_id(self) -> dict[str, Checkpoint]:
        return {checkpoint.id: checkpoint for checkpoint in self.checkpoints}

    def checkpoint(self, checkpoint_id: str) -> Checkpoint | None:
        """The checkpoint with this id, if the ladder has it."""
        return self._by_id.get(checkpoint_id)

    def statement(self, checkpoint_id: str | None) -> Statement | None:
        """The checkpoint with this id, if the ladder has it and it states an order."""
        found = self._by_id.get(checkpoint_id or "")
        return found if isinstance(found, Statement) else None


@dataclass(frozen=True, slots=True)
class Stack:
    """One stack of an event that can be fumbled: its id and the words for it."""

    id: str
    words: str


def deciding_hand(rule: str, side: Literal["met", "due"]) -> Hand:
    """Which hand decides a moment of a rule's checkpoint when it is spoken of without a hand.

    Where each hand is judged, all is well once the last hand has done what it must, and as long as
    the first has not done what it must not.
    """
    judged = rules()[rule].hands
    if judged is None:
        raise ValueError(f"the rule {rule} does not say how it judges two hands")
    if judged is JudgedBy.EACH:
        return Hand.LAST if side == "met" else Hand.FIRST
    return Hand(judged.value)


def state(
    moments: Mapping[str, Moment], statement: Statement, *, hand_by_hand: bool = True
) -> Statement:
    """A statement with what its rule and its moments say of hands.

    Without ``hand_by_hand`` it is judged by one instant though its rule would judge each hand.
    """
    each = hand_by_hand and rules()[statement.rule].hands is JudgedBy.EACH

    def by_hand(moment_id: str) -> bool:
        return moments[moment_id].hands is not None and (each or moment_id not in CLOCK)

    return replace(
        statement,
        each=each,
        met_by_hand=by_hand(statement.met),
        due_by_hand=by_hand(statement.due),
    )


class _Builder:
    def __init__(self, event: EventDefinition) -> None:
        self.event = event
        self.rows = event.rows
        self.moments: dict[str, Moment] = {}
        self.stacks: list[Stack] = []

    def moment(self, moment_id: str, kind: str, hands: Hand | None = None, **slots: str) -> str:
        if moment_id not in self.moments:
            self.moments[moment_id] = moment(moment_id, kind, hands, **slots)
        return moment_id

    def met(self, rule: str, moment_id: str, kind: str, **slots: str) -> str:
        """A moment of two hands that a rule wants to come first."""
        return self.moment(moment_id, kind, deciding_hand(rule, "met"), **slots)

    def due(self, rule: str, moment_id: str, kind: str, **slots: str) -> str:
        """A moment of two hands that a rule does not want to come first."""
        return self.moment(moment_id, kind, deciding_hand(rule, "due"), **slots)

    def statement(
        self,
        name: str,
        kind: Kind,
        rule: str,
        title: str,
        met: str,
        due: str,
        *,
        hand_by_hand: bool = True,
    ) -> Statement:
        found = Statement(name, kind, rule, title, met, due)
        return state(self.moments, found, hand_by_hand=hand_by_hand)

    def ladder(self) -> Ladder:
        self.moment("start", "start", self.event.clock.starts)
        self.moment("stop", "stop", self.event.clock.stops)
        checkpoints = tuple(self._checkpoints())
        return Ladder(checkpoints, MappingProxyType(self.moments))

    def _checkpoints(self) -> Iterator[Checkpoint]:
        yield from self._at_the_start()
        for number, row in enumerate(self.rows, 1):
            yield from self._into(number, row)
            yield from self._up(number, row)
            yield from self._down(number, row)
            yield self._completed(number, row)
        yield from self._at_the_stop()

    def _at_the_start(self) -> Iterator[Checkpoint]:
        """Where the first hand starts the clock, each hand must leave the pad before it touches.

        Where the last hand starts it, none may touch a cup before that.
        """
        clock = self.event.clock
        yield Marker("start", Kind.HANDS_OFF, f"Hands off ({clock.starts})")
        each = clock.starts is Hand.FIRST
        for rule, kind, title, touch in (
            ("start.flat", Kind.FLAT, "Hands flat at start", "start.wrist"),
            ("start.grip", Kind.GRIP, "No cup held at start", "start.grip"),
            ("start.still", Kind.STILL, "No cup moves at start", "start.move"),
        ):
            due = self.due(rule, touch, touch)
            yield self.statement(rule, kind, rule, title, "start", due, hand_by_hand=each)

    def _into(self, number: int, row: Formation) -> Iterator[Checkpoint]:
        """Entering a formation: singles set down, or the column closed before the first stack."""
        first = self._rise(number, row.pyramids[0])
        if row.has_singles:
            rule = "change.singles"
            met = self.met(rule, f"f{number}.singles.let_go", "singles.let_go", row=row.name)
            self.stacks.append(Stack(f"f{number}.singles", f"singles of {row.name}"))
            size = row.stacks[row.pyramids[0] - 1]
            title = f"Singles before the {size}"
            yield self.statement(f"f{number}.singles", Kind.SINGLES, rule, title, met, first)
        elif number > 1:
            before = self.rows[number - 2]
            met = self.moment(f"f{number - 1}.column", "column", row=before.name)
            title = f"Column before {row.name}"
            yield self.statement(
                f"f{number}.column", Kind.COLUMN, "change.column", title, met, first
            )

    def _up(self, number: int, row: Formation) -> Iterator[Checkpoint]:
        """Let go between each two stacks built, and between the last and the take-down."""
        pyramids = row.pyramids
        for position, following in zip(pyramids, (*pyramids[1:], None), strict=True):
            name = self._stack(row, position)
            stack = f"f{number}.s{position}"
            if following is None:
                due, rule = self._lower(number, 1), "down.let-go"
                title = f"Let go: {name}, before the take-down"
            else:
                due, rule = self._rise(number, following), "build.let-go"
                title = f"Let go: {name}"
            met = self.met(rule, f"{stack}.let_go", "let_go", stack=name)
            self.stacks.append(Stack(stack, name))
            yield self.statement(f"{stack}.let-go", Kind.LET_GO, rule, title, met, due)

    def _down(self, number: int, row: Formation) -> Iterator[Checkpoint]:
        """Two hands to begin every take-down but the formation's last; in the order of building."""
        for place in range(1, len(row.pyramids)):
            rule, nth = "down.two-hands", _ORDINALS[place - 1]
            name = f"f{number}.d{place}"
            met = self.met(rule, f"{name}.two_hands", "two_hands", nth=nth, row=row.name)
            due = self._lower(number, place)
            title = f"Two hands: {nth} of {row.name}"
            yield self.statement(f"{name}.two-hands", Kind.TWO_HANDS, rule, title, met, due)
        if len(row.pyramids) > 1 and self.event.order.take_down == "as built":
            met = self.moment(f"f{number}.down.place", "down.place", row=row.name)
            due = self.moment(f"f{number}.down.skip", "down.skip", row=row.name)
            title = f"{row.name} down in order"
            yield self.statement(f"f{number}.order", Kind.ORDER, "down.order", title, met, due)

    def _completed(self, number: int, row: Formation) -> Checkpoint:
        """Each formation is done before it is passed, so that several can be left out."""
        last = number == len(self.rows)
        into = f" into closed columns {self.event.closing}" if last else ""
        met = self.moment(f"f{number}.done", "done", row=row.name, into=into)
        due = "stop" if last else self.moment(f"f{number}.passed", "passed", row=row.name)
        title = f"{row.name} complete"
        return self.statement(
            f"f{number}.completed", Kind.FORMATION, "sequence.complete", title, met, due
        )

    def _at_the_stop(self) -> Iterator[Checkpoint]:
        """Where the last hand stops the clock, each hand must be clear before it comes to the pad.

        Where the first hand stops it, both must be clear before that.
        """
        clock = self.event.clock
        clear = self.met("stop.free", "stop.clear", "stop.clear")
        palm = self.met("stop.flat", "stop.flat", "stop.flat")
        wrist = self.due("stop.flat", "stop.wrist", "stop.wrist")
        extra = self.moment("extra", "extra")
        each = clock.stops is Hand.LAST
        title = "Cups free before stop"
        yield self.statement(
            "stop.free", Kind.FREE, "stop.free", title, clear, "stop", hand_by_hand=each
        )
        yield Marker("stop", Kind.HANDS_ON, f"Hands on ({clock.stops})")
        yield self.statement("stop.flat", Kind.FLAT, "stop.flat", "Hands flat at stop", palm, wrist)
        yield self.statement("exact", Kind.EXACT, "sequence.exact", "Nothing added", "stop", extra)

    def _rise(self, number: int, position: int) -> str:
        name = self._stack(self.rows[number - 1], position)
        return self.moment(f"f{number}.s{position}.rise", "rise", stack=name)

    def _lower(self, number: int, place: int) -> str:
        """The beginning of a take-down, by its place in the order: from either side."""
        nth, row = _ORDINALS[place - 1], self.rows[number - 1].name
        return self.moment(f"f{number}.d{place}.begin", "begin", nth=nth, row=row)

    @staticmethod
    def _stack(row: Formation, position: int) -> str:
        """Words for a stack: its size, and which of its like it is where there are several."""
        size = row.stacks[position - 1]
        alike = [p for p in row.pyramids if row.stacks[p - 1] == size]
        if len(alike) == 1:
            return f"the {size}"
        return f"{_ORDINALS[alike.index(position)]} {size}"


_ORDINALS = ("1st", "2nd", "3rd", "4th", "5th", "6th", "7th", "8th", "9th")


@lru_cache(maxsize=64)
def build_ladder(event: EventDefinition) -> Ladder:
    """The ladder of an event, before any fumble adds to it."""
    return _Builder(event).ladder()


@lru_cache(maxsize=64)
def stacks_of(event: EventDefinition) -> tuple[Stack, ...]:
    """The stacks of an event that can be fumbled, in the order of building."""
    builder = _Builder(event)
    builder.ladder()
    return tuple(builder.stacks)
