"""Moments: the instants of a run that checkpoints compare, each with the words for it."""

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib import resources
from types import MappingProxyType
from typing import Literal

from sessions.rules.events import Hand
from sessions.validation import Frozen

Side = Literal["left", "right"]
SIDES: tuple[Side, Side] = ("left", "right")

Who = Side | Hand | None
"""One hand, or the first or the last of two; ``None`` for a moment that no hands share."""

Instant = tuple[str, Who]
"""A moment's id, and whose instant of it is meant."""

CLOCK = frozenset({"start", "stop"})
"""The moments of the clock; one hand's own instant is when it leaves the pad, or comes to it."""


class Words(Frozen):
    """An instant in words: ``happens`` names it, the others say what a frame shows of it.

    ``so`` holds of a frame from that instant on, ``not_yet`` of one before it.
    """

    happens: str
    so: str
    not_yet: str

    def filled(self, **slots: str) -> "Words":
        """The same words with what stands in braces filled in."""
        return Words(
            happens=self.happens.format_map(slots),
            so=self.so.format_map(slots),
            not_yet=self.not_yet.format_map(slots),
        )


class _Row(Words):
    id: str
    hand: Words | None = None
    both: Words | None = None


@dataclass(frozen=True, slots=True)
class Moment:
    """An instant of a run; where ``hands`` is set, either hand can be sighted alone as well.

    ``hands`` tells which of the two hands then decides the moment. ``of_hand`` are the words for
    the left and the right hand alone, ``of_both`` those of the clock's moments where a checkpoint
    judges the hands and not the clock.
    """

    id: str
    said: Words
    hands: Hand | None = None
    of_hand: tuple[Words, Words] | None = None
    of_both: Words | None = None

    @property
    def words(self) -> str:
        """The instant in words."""
        return self.said.happens

    def words_of(self, hand: Side | None = None, *, both: bool = False) -> Words:
        """The words for one hand, for both hands of the clock's moments, or for the moment."""
        if hand is not None and self.of_hand is not None:
            return self.of_hand[SIDES.index(hand)]
        return self.of_both if both and self.of_both is not None else self.said


@cache
def _rows() -> MappingProxyType[str, _Row]:
    text = resources.files("sessions.rules").joinpath("moments.toml").read_text(encoding="utf-8")
    listed = [_Row.model_validate(row) for row in tomllib.loads(text)["moment"]]
    return MappingProxyType({row.id: row for row in listed})


def moment(moment_id: str, kind: str, hands: Hand | None = None, **slots: str) -> Moment:
    """A moment of a kind, its words filled in; ``hands`` decides it where two hands take part."""
    row = _rows()[kind]
    of_hand = None
    if hands is not None and row.hand is not None:
        left, right = (row.hand.filled(hand=side, **slots) for side in SIDES)
        of_hand = left, right
    of_both = None if row.both is None else row.both.filled(**slots)
    return Moment(moment_id, Words.filled(row, **slots), hands, of_hand, of_both)
