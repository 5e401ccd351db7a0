"""Scores: what a clip of invented footage shows, as data files beside this module."""

import tomllib
from fractions import Fraction
from functools import cache
from importlib import resources
from typing import Annotated, Literal, Self

from pydantic import Field, field_validator, model_validator

from sessions.ruling.ruling import Standing
from sessions.validation import Frozen

Fault = Literal[
    "none",
    "contact",
    "close contact",
    "wrist",
    "early rise",
    "held single",
    "held cup",
    "not let go",
    "one hand",
    "two stacks",
    "two stacks, cured",
    "starting over",
]
"""What goes wrong in a run; ``frames`` of the run says by how many frames, where that matters."""

CupNumber = Annotated[int, Field(ge=1, le=12)]


class RunScore(Frozen):
    """One timed run; phases are parts of a frame by which start and stop leave its middle."""

    sort: Literal["attempt", "warm-up"] = "attempt"
    slowness: str = "1"
    fault: Fault = "none"
    frames: int = Field(default=0, ge=0, le=30)
    start_phase: str = "0"
    stop_phase: str = "0"

    @field_validator("slowness", "start_phase", "stop_phase")
    @classmethod
    def _is_fraction(cls, value: str) -> str:
        Fraction(value)
        return value

    @model_validator(mode="after")
    def _phases_stay_inside_their_frame(self) -> Self:
        if any(abs(Fraction(p)) >= Fraction(3, 8) for p in (self.start_phase, self.stop_phase)):
            raise ValueError("a phase must be less than 3/8 of a frame")
        return self


class Score(Frozen):
    """One clip: an invented claim, the runs that are shown, and the right ruling.

    ``outcome`` is the ruling of the claimed run, and ``rule`` the one that it turns on, if any.
    ``claimed_run`` counts the runs on the tape from 1. Cups are numbered by their first place:
    columns from left to right, in each from the table up. ``no_mark`` cups have no maker's mark,
    ``hidden`` ones have it on the side away from the camera, ``turned`` ones are turned away
    after the first run.
    """

    name: str = Field(pattern=r"^[a-z0-9-]+$")
    title: str
    event: Literal["3-3-3", "3-6-3", "cycle"]
    competitor: str = Field(pattern=r"^LQ-\d{3}$")
    claimed: str = Field(pattern=r"^\d{1,2}\.\d{3}$")
    claimed_run: int = Field(ge=1)
    expected: str
    outcome: Standing
    rule: str | None = None
    mirror: bool = False
    no_mark: tuple[CupNumber, ...] = ()
    hidden: tuple[CupNumber, ...] = ()
    turned: tuple[CupNumber, ...] = ()
    runs: tuple[RunScore, ...] = Field(min_length=1)

    @model_validator(mode="after")
    def _the_claimed_run_is_on_the_tape(self) -> Self:
        if self.claimed_run > len(self.runs):
            raise ValueError(f"run {self.claimed_run} is claimed, but there are {len(self.runs)}")
        return self


FIRST = "clean-3-3-3"
"""The clip that is opened where none is named: it is drawn soonest, and shows a whole review."""


@cache
def scores() -> dict[str, Score]:
    """All scores by name, in the order of their names."""
    folder = resources.files("tui.demo").joinpath("scores")
    files = sorted((f for f in folder.iterdir() if f.name.endswith(".toml")), key=lambda f: f.name)
    listed = [Score.model_validate(tomllib.loads(f.read_text(encoding="utf-8"))) for f in files]
    return {score.name: score for score in listed}
