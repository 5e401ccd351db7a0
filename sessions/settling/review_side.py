"""One review's side of a run: its marks by the checkpoints and instants that they speak of."""

from collections.abc import Iterable
from functools import cached_property

from sessions.record.entries import Look
from sessions.record.session import Mark, Run
from sessions.rules.ladder import Statement
from sessions.ruling.fumbles import run_ladder
from sessions.settling.differences import Differences, Matter, Row
from sessions.settling.opinions import CLOCK, INSTANTS


class Column:
    """One review's side of a run that all have, by the checkpoints of its ladder.

    An instant of the clock on which the reviews are apart is of no checkpoint's, nor the clock's:
    it is settled by itself. Where that is being settled, ``settles`` names it.
    """

    def __init__(self, found: Differences, row: Row, number: int, settles: str = "") -> None:
        self.run: Run = row.whole[number][1]
        disputes = (d for d in found.disputes if d.run == row.number)
        self._apart = {d.subject for d in disputes if d.matter is Matter.INSTANT} - {settles}
        self.ladder = run_ladder(found.sessions[number].header.event, self.run.fumbles)

    @cached_property
    def _by_subject(self) -> dict[str, list[Statement]]:
        """The checkpoints, each with its cure."""
        found: dict[str, list[Statement]] = {}
        for checkpoint in self.ladder.statements:
            found.setdefault(checkpoint.cures or checkpoint.id, []).append(checkpoint)
        return found

    @property
    def subjects(self) -> tuple[str, ...]:
        """The checkpoints that are judged, in the order of the ladder."""
        return tuple(self._by_subject)

    def moments(self, subjects: Iterable[str]) -> set[str]:
        """The instants that these checkpoints, the clock or its start or stop rest on."""
        found: set[str] = set()
        for subject in subjects:
            if subject == CLOCK:
                found |= set(INSTANTS)
            elif subject in INSTANTS:
                found.add(subject)
            for checkpoint in self._by_subject.get(subject, ()):
                found |= {checkpoint.met, checkpoint.due}
        return found - self._apart

    def is_of(self, mark: Mark, subjects: Iterable[str], moments: Iterable[str]) -> bool:
        """Whether a mark is a look at one of the checkpoints, or sights one of the instants."""
        if isinstance(mark, Look):
            return any(
                r.id == mark.checkpoint for s in subjects for r in self._by_subject.get(s, ())
            )
        return mark.moment in moments

    def linked(self, subject: str, agreed: Iterable[str]) -> set[str]:
        """A checkpoint and the agreed ones that share instants with it, directly or by others."""
        left, group = set(agreed) - {subject}, {subject}
        while joined := {s for s in left if self.moments([s]) & self.moments(group)}:
            group |= joined
            left -= joined
        return group
