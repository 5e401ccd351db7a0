"""Sightings: video shows an instant only between two frames, so an instant is a bracket.

A sighting ``(after, by]`` says: it had not happened yet in frame ``after``; it surely had in frame
``by``. An end that nobody looked for is ``None``. Frames are counted from 0 in display order.
"""

from collections.abc import Iterable
from dataclasses import dataclass

from sessions.evidence.verdict import Verdict


@dataclass(frozen=True, slots=True)
class Sighting:
    """The bracket ``(after, by]`` of an instant, in frames; ``None`` is an end not looked for.

    Raises ValueError where ``after`` is not before ``by``.
    """

    after: int | None = None
    by: int | None = None

    def __post_init__(self) -> None:
        if self.after is not None and self.by is not None and self.after >= self.by:
            raise ValueError(f"a sighting ends ({self.by}) after it begins ({self.after})")

    @property
    def is_bounded(self) -> bool:
        """Whether somebody looked for both ends."""
        return self.after is not None and self.by is not None

    @property
    def is_unseen(self) -> bool:
        """Whether nobody looked for either end."""
        return self.after is None and self.by is None

    def meet(self, other: "Sighting") -> "Sighting | None":
        """What both sightings say together; ``None`` where they contradict each other."""
        after = _greatest([self.after, other.after])
        by = _least([self.by, other.by])
        if after is not None and by is not None and after >= by:
            return None
        return Sighting(after, by)

    def is_apart(self, other: "Sighting") -> bool:
        """Whether more lies between them than the narrower is wide: hardly both see one instant.

        So two frames sighted with a frame between them are near. A rule of this program, no source.
        """
        after = _greatest([self.after, other.after])
        by = _least([self.by, other.by])
        return (
            after is not None and by is not None and after - by > min(_width(self), _width(other))
        )

    def shifted(self, frames: int) -> "Sighting":
        """The same sighting in footage that begins ``frames`` later."""
        return Sighting(
            None if self.after is None else self.after + frames,
            None if self.by is None else self.by + frames,
        )


UNSEEN = Sighting()


def first_of(sightings: Iterable[Sighting]) -> Sighting:
    """The sighting of the earliest of several instants (at least one)."""
    brackets = list(sightings)
    unbounded = any(s.after is None for s in brackets)
    after = None if unbounded else _least([s.after for s in brackets])
    return Sighting(after, _least([s.by for s in brackets]))


def last_of(sightings: Iterable[Sighting]) -> Sighting:
    """The sighting of the latest of several instants (at least one)."""
    brackets = list(sightings)
    unbounded = any(s.by is None for s in brackets)
    by = None if unbounded else _greatest([s.by for s in brackets])
    return Sighting(_greatest([s.after for s in brackets]), by)


def precedes(met: Sighting, due: Sighting) -> Verdict:
    """Whether ``met`` came before ``due``, from the brackets alone."""
    if met.by is not None and due.after is not None and met.by <= due.after:
        return Verdict.PROVEN
    if due.by is not None and met.after is not None and due.by <= met.after:
        return Verdict.REFUTED
    return Verdict.UNPROVEN


def _width(sighting: Sighting) -> int:
    """The frames between the ends; one where an end was not looked for."""
    if sighting.after is None or sighting.by is None:
        return 1
    return sighting.by - sighting.after


def _least(ends: list[int | None]) -> int | None:
    return min((e for e in ends if e is not None), default=None)


def _greatest(ends: list[int | None]) -> int | None:
    return max((e for e in ends if e is not None), default=None)
