"""What truly happens in a clip, as data: written beside it as JSON, for tests and for learning.

Frames are counted from 0. Hands are those of the picture. A moment that has hands is told for each
of them as ``id:left`` and ``id:right``; a moment that never happens is left out.
"""

from fractions import Fraction
from typing import Literal

from pydantic import field_validator

from sessions.frozen import Frozen
from tui.demo.layout import LEAGUE
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
