"""The whole tape of a score: walk-up, rearranging, warm-ups and runs, with exact instants."""

from dataclasses import dataclass
from fractions import Fraction
from math import ceil

from sessions.rules.events import EventDefinition, load_event
from sessions.rules.moments import SIDES
from tui.demo.conductor import Conductor, Tempo
from tui.demo.layout import AT_REST, COLUMN_X, NEST, place
from tui.demo.moves import Instant, Move, Tracks
from tui.demo.routine import Routine, RunLog
from tui.demo.score import RunScore, Score
from tui.demo.stacks import Stack

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
        self.tower = Stack(COLUMN_X["middle"], {(0, 0): self.piles[1] + self.piles[2]})
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

    def _deal(self) -> list[Stack]:
        """Take the outer columns off the tower in which the cups come; this counts as nothing."""
        self.conductor.tempo = Tempo(Fraction(3, 2))
        columns = []
        for hand, pile in zip(SIDES, (self.piles[0], self.piles[2]), strict=True):
            stack = Stack(COLUMN_X[hand])
            stack.slots[0, 0] = self.tower.take(len(pile))
            self.conductor.carry(hand, stack.column, stack.foot, "deal", rise=120)
            columns.append(stack)
        columns.insert(1, self.tower)
        self.conductor.align(self.conductor.now + 12)
        return columns

    def _rearrange(self, columns: list[Stack], turned: tuple[int, ...]) -> None:
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

    def _run(self, columns: list[Stack], run: RunScore) -> RunLog:
        now = self.conductor.now
        tracks = self.conductor.tracks
        tracks.cards.append((now, "W" if run.sort == "warm-up" else "A"))
        tracks.resets.append(now)
        log = Routine(self.conductor, columns, self.event, run).perform()
        tracks.clocks.append((min(log.off.values()), max(log.on.values())))
        return log
