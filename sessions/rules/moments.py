"""Moments: the instants of a run that checkpoints compare, each with the words for it."""

from dataclasses import dataclass
from typing import Literal

from sessions.rules.events import Hand

Side = Literal["left", "right"]
SIDES: tuple[Side, Side] = ("left", "right")


@dataclass(frozen=True, slots=True)
class Moment:
    """An instant of a run; where ``hands`` is set, either hand can be sighted alone as well.

    ``hands`` tells which of the two hands then decides the moment.
    """

    id: str
    words: str
    hands: Hand | None = None
