"""The ladder of checkpoints, generated from an event's formations by a handful of general rules.

Every checkpoint is one statement: the moment ``met`` came before the moment ``due``. One frame
that shows ``met`` done and ``due`` not yet proves it; the reverse refutes it.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum
from functools import lru_cache
from types import MappingProxyType

from sessions.rules.events import EventDefinition, Formation, Hand
from sessions.rules.moments import Moment


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

    ``cure`` names the checkpoint that, when proven, makes a refuted one not count;
    ``cures`` is its other end.
    """

    id: str
    kind: Kind
    rule: str
    title: str
    met: str
    due: str
    cure: str | None = None
    cures: str | None = None


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

    @property
    def statements(self) -> tuple[Statement, ...]:
        """The checkpoints alone."""
        return tuple(
            checkpoint for checkpoint in self.checkpoints if isinstance(checkpoint, Statement)
        )

    def checkpoint(self, checkpoint_id: str) -> Checkpoint | None:
        """The checkpoint with this id, if the ladder has it."""
        return next(
            (checkpoint for checkpoint in self.checkpoints if checkpoint.id == checkpoint_id), None
        )


@dataclass(frozen=True, slots=True)
class Stack:
    """One stack of an event that can be fumbled: its id and the words for it."""

    id: str
    words: str


class _Builder:
    def __init__(self, event: EventDefinition) -> None:
        self.event = event
        self.rows = event.rows
        self.moments: dict[str, Moment] = {}
        self.stacks: list[Stack] = []

    def moment(self, moment_id: str, words: str, hands: Hand | None = None) -> str:
        self.moments.setdefault(moment_id, Moment(moment_id, words, hands))
        return moment_id

    def ladder(self) -> Ladder:
        self.start = self.moment("start", "the clock starts", self.event.clock.starts)
        self.stop = self.moment("stop", "the clock stops", self.event.clock.stops)
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
        off = f"Hands off ({self.event.clock.starts})"
        yield Marker("start", Kind.HANDS_OFF, off)
        wrist = self.moment("start.wrist", "a wrist, not a flat hand, is on the pad", Hand.FIRST)
        grip = self.moment("start.grip", "a finger is on a cup", Hand.FIRST)
        move = self.moment("start.move", "a cup moves")
        yield Statement(
            "start.flat", Kind.FLAT, "start.flat", "Hands flat at start", "start", wrist
        )
        yield Statement(
            "start.grip", Kind.GRIP, "start.grip", "No cup held at start", "start", grip
        )
        yield Statement(
            "start.still", Kind.STILL, "start.still", "No cup moves at start", "start", move
        )

    def _into(self, number: int, row: Formation) -> Iterator[Checkpoint]:
        """Entering a formation: singles set down, or the column closed before the first stack."""
        first = self._rise(number, row.pyramids[0])
        if row.has_singles:
            words = f"both hands are off the single cups of {row.name}"
            met = self.moment(f"f{number}.singles.let_go", words, Hand.LAST)
            self.stacks.append(Stack(f"f{number}.singles", f"singles of {row.name}"))
            size = row.stacks[row.pyramids[0] - 1]
            title = f"Singles before the {size}"
            yield Statement(f"f{number}.singles", Kind.SINGLES, "change.singles", title, met, first)
        elif number > 1:
            before = self.rows[number - 2]
            words = f"the last stack of {before.name} is a closed column"
            met = self.moment(f"f{number - 1}.column", words)
            title = f"Column before {row.name}"
            yield Statement(f"f{number}.column", Kind.COLUMN, "change.column", title, met, first)

    def _up(self, number: int, row: Formation) -> Iterator[Checkpoint]:
        """Let go between each two stacks built, and between the last and the take-down."""
        pyramids = row.pyramids
        for position, following in zip(pyramids, (*pyramids[1:], None), strict=True):
            name = self._stack(row, position)
            stack = f"f{number}.s{position}"
            met = self.moment(f"{stack}.let_go", f"both hands are clear of {name}", Hand.LAST)
            if following is None:
                due, rule = self._lower(number, 1), "down.let-go"
                title = f"Let go: {name}, before the take-down"
            else:
                due, rule = self._rise(number, following), "build.let-go"
                title = f"Let go: {name}"
            self.stacks.append(Stack(stack, name))
            yield Statement(f"{stack}.let-go", Kind.LET_GO, rule, title, met, due)

    def _down(self, number: int, row: Formation) -> Iterator[Checkpoint]:
        """Two hands to begin every take-down but the formation's last; in the order of building."""
        for place in range(1, len(row.pyramids)):
            words = f"both hands are on the {_ORDINALS[place - 1]} stack of {row.name} to take down"
            met = self.moment(f"f{number}.d{place}.two_hands", words, Hand.LAST)
            due = self._lower(number, place)
            title = f"Two hands: {_ORDINALS[place - 1]} of {row.name}"
            yield Statement(
                f"f{number}.d{place}.two-hands", Kind.TWO_HANDS, "down.two-hands", title, met, due
            )
        if len(row.pyramids) > 1 and self.event.order.take_down == "as built":
            met = self.moment(
                f"f{number}.down.place",
                f"{row.name} reached its last take-down in the order of building",
            )
            due = self.moment(
                f"f{number}.down.skip", f"a stack of {row.name} is taken down out of order"
            )
            title = f"{row.name} down in order"
            yield Statement(f"f{number}.order", Kind.ORDER, "down.order", title, met, due)

    def _completed(self, number: int, row: Formation) -> Checkpoint:
        met = self._done(number)
        due = "stop" if number == len(self.rows) else self._done(number + 1)
        title = f"{row.name} complete"
        return Statement(
            f"f{number}.completed", Kind.FORMATION, "sequence.complete", title, met, due
        )

    def _at_the_stop(self) -> Iterator[Checkpoint]:
        clear = self.moment("stop.clear", "fingers and thumbs are clear of the cups", Hand.LAST)
        palm = self.moment("stop.flat", "the flat hands are on the pad", Hand.LAST)
        wrist = self.moment("stop.wrist", "a wrist is on the pad", Hand.FIRST)
        extra = self.moment("extra", "stacking beyond the event begins")
        yield Statement("stop.free", Kind.FREE, "stop.free", "Cups free before stop", clear, "stop")
        on = f"Hands on ({self.event.clock.stops})"
        yield Marker("stop", Kind.HANDS_ON, on)
        yield Statement("stop.flat", Kind.FLAT, "stop.flat", "Hands flat at stop", palm, wrist)
        yield Statement("exact", Kind.EXACT, "sequence.exact", "Nothing added", "stop", extra)

    def _rise(self, number: int, position: int) -> str:
        name = self._stack(self.rows[number - 1], position)
        return self.moment(f"f{number}.s{position}.rise", f"{name} rises")

    def _lower(self, number: int, place: int) -> str:
        """The beginning of a take-down, by its place in the order: from either side."""
        words = f"the {_ORDINALS[place - 1]} take-down of {self.rows[number - 1].name} begins"
        return self.moment(f"f{number}.d{place}.begin", words)

    def _done(self, number: int) -> str:
        row = self.rows[number - 1]
        last = number == len(self.rows)
        into = f" into closed columns {self.event.closing}" if last else ""
        return self.moment(f"f{number}.done", f"{row.name} is up and down again{into}")

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
