"""Events as data: formations, cups, allowances and the settings that leagues differ in.

The settings marked "from memory" in the event files are defaults that a league may change there.
"""

import tomllib
from enum import StrEnum
from fractions import Fraction
from importlib import resources
from pathlib import Path
from typing import Literal, Self

from pydantic import Field, ValidationError, field_validator, model_validator

from sessions.errors import EventError
from sessions.exact import exact
from sessions.rules.rulebook import OTHER, Rule, rules
from sessions.small_file import read_small
from sessions.validation import Frozen, first_problem

PYRAMIDS = (1, 3, 6, 10, 15)
"""Cups in a pyramid of 1 to 5 rows: the triangular numbers."""


class Rounding(StrEnum):
    """How a display arrives at its last digit; ``unstated`` allows for all of the others."""

    UNSTATED = "unstated"
    NEAREST = "nearest"
    DOWN = "down"
    UP = "up"


class Hand(StrEnum):
    """Which of two hands decides a moment that both take part in."""

    FIRST = "first hand"
    LAST = "last hand"


class Allowance(Frozen):
    """How many warm-ups and attempts a competitor has in the event."""

    warm_ups: int = Field(ge=0, le=99)
    attempts: int = Field(ge=1, le=99)


class Clock(Frozen):
    """Which hand starts and stops the clock, and how its display reads (resolution in seconds)."""

    starts: Hand = Hand.FIRST
    stops: Hand = Hand.LAST
    resolution: str = "0.001"
    rounding: Rounding = Rounding.UNSTATED

    @field_validator("resolution")
    @classmethod
    def _resolution_is_positive(cls, value: str) -> str:
        try:
            step = exact(value)
        except ValueError:
            raise ValueError(f'"{value}" is not a number of seconds') from None
        if step <= 0:
            raise ValueError("the resolution must be above 0 seconds")
        return value

    @property
    def step(self) -> Fraction:
        """The display's resolution in seconds."""
        return exact(self.resolution)


class Coverage(Frozen):
    """How much of the footage must be shown before it counts as watched, in seconds.

    No stretch longer than ``longest_unseen`` may be left out: no run fits into a shorter one.
    """

    longest_unseen: str = "0.25"

    @field_validator("longest_unseen")
    @classmethod
    def _is_not_negative(cls, value: str) -> str:
        try:
            stretch = exact(value)
        except ValueError:
            raise ValueError(f'"{value}" is not a number of seconds') from None
        if stretch < 0:
            raise ValueError("the longest unseen stretch cannot be below 0 seconds")
        return value

    @property
    def gap(self) -> Fraction:
        """The longest stretch in seconds that may be left out."""
        return exact(self.longest_unseen)


class Display(Frozen):
    """What becomes of a run whose display the footage does not show."""

    unreadable: Literal["not proven", "time by the picture"] = "not proven"

    @property
    def picture_carries(self) -> bool:
        """Whether the time by the picture may then carry a claim, with the doubt noted."""
        return self.unreadable == "time by the picture"


class RunOrder(Frozen):
    """Whether the take-down must follow the order in which the stacks were built.

    ``shortest_unit`` is the least time in seconds that a unit of work usually takes: a 3 is built
    in one unit, a 6 in two, a 10 in four, and a stack is taken down in one. Tags with less time
    between them are marked on the ladder, and nothing else follows from it.
    """

    take_down: Literal["as built", "any"] = "as built"
    shortest_unit: str = "0.067"

    @field_validator("shortest_unit")
    @classmethod
    def _unit_is_a_time(cls, value: str) -> str:
        if exact(value) < 0:
            raise ValueError("the shortest time of a unit of work must not be below 0 seconds")
        return value

    @property
    def unit(self) -> Fraction:
        """The least time of a unit of work, in seconds."""
        return exact(self.shortest_unit)


class Formation(Frozen):
    """A row of stacks by size in cups, such as 3-6-3."""

    stacks: tuple[int, ...] = Field(min_length=1, max_length=9)

    @classmethod
    def parse(cls, text: str) -> Self:
        """Read ``"3-6-3"``; raises ValueError where a part is no number or no pyramid."""
        parts = text.split("-")
        if not all(p.isdecimal() for p in parts):
            raise ValueError(f'"{text}" is not a formation such as 3-6-3')
        sizes = tuple(int(p) for p in parts)
        if odd := [s for s in sizes if s not in PYRAMIDS]:
            raise ValueError(f'"{text}" has a stack of {odd[0]} cups, which is no pyramid')
        return cls(stacks=sizes)

    @property
    def name(self) -> str:
        """As the trade writes it: ``3-6-3``."""
        return "-".join(str(s) for s in self.stacks)

    @property
    def cups(self) -> int:
        """Cups in the whole formation."""
        return sum(self.stacks)

    @property
    def pyramids(self) -> tuple[int, ...]:
        """Positions, from 1, of the stacks that are built up and taken down (more than one cup)."""
        return tuple(i for i, size in enumerate(self.stacks, 1) if size > 1)

    @property
    def has_singles(self) -> bool:
        """Whether cups are set down alone before the pyramid beside them is built."""
        return 1 in self.stacks


class EventDefinition(Frozen):
    """One event as its file says it; ``formations`` and ``closing`` are written like ``3-6-3``.

    ``rules`` are the league's further rules, which no checkpoint asks for.
    """

    format: Literal["framecall-event"]
    version: Literal[1]
    name: str = Field(min_length=1, max_length=40, pattern=r"^[\w.-]+$")
    title: str = Field(min_length=1, max_length=60)
    cups: int = Field(ge=1, le=99)
    formations: tuple[str, ...] = Field(min_length=1, max_length=20)
    closing: str
    allowance: Allowance
    clock: Clock = Clock()
    order: RunOrder = RunOrder()
    coverage: Coverage = Coverage()
    display: Display = Display()
    rules: tuple[Rule, ...] = Field(default=(), max_length=40)

    @field_validator("formations")
    @classmethod
    def _formations_parse(cls, value: tuple[str, ...]) -> tuple[str, ...]:
        for text in value:
            if not Formation.parse(text).pyramids:
                raise ValueError(f'"{text}" has no stack to build up')
        return value

    @field_validator("closing")
    @classmethod
    def _closing_parses(cls, value: str) -> str:
        Formation.parse(value)
        return value

    @field_validator("rules")
    @classmethod
    def _rules_are_its_own(cls, value: tuple[Rule, ...]) -> tuple[Rule, ...]:
        ids = [rule.id for rule in value]
        for rule in value:
            if rule.id in rules() or ids.count(rule.id) > 1:
                raise ValueError(f'there is a rule "{rule.id}" already; give this one another id')
            if rule.kind is not None:
                raise ValueError(f'rule "{rule.id}" has a kind of checkpoint, which asks for it')
        return value

    @model_validator(mode="after")
    def _cups_add_up(self) -> Self:
        for formation in (*self.rows, Formation.parse(self.closing)):
            if formation.cups != self.cups:
                raise ValueError(
                    f"{formation.name} uses {formation.cups} cups, but the event has {self.cups}"
                )
        return self

    @property
    def rows(self) -> tuple[Formation, ...]:
        """The formations in the order in which they are performed."""
        return tuple(Formation.parse(text) for text in self.formations)

    def rule(self, rule_id: str) -> Rule | None:
        """A rule by its id, of the trade or of this event; ``None`` where neither knows it."""
        return self.other_rule(rule_id) or rules().get(rule_id)

    def other_rule(self, rule_id: str) -> Rule | None:
        """A rule that no checkpoint asks for: one that this event lists, or another in words."""
        own = next((rule for rule in self.rules if rule.id == rule_id), None)
        return rules()[OTHER] if rule_id == OTHER else own


def event_names() -> list[str]:
    """Names of the events that come with the program."""
    return sorted(
        entry.name.removesuffix(".toml")
        for entry in resources.files("sessions.rules").joinpath("events").iterdir()
        if entry.name.endswith(".toml")
    )


LONGEST_FILE = 256_000
"""Bytes of an event file that is read."""

EVENT_CHOICE = f"{', '.join(event_names())}, or the path of an event file (.toml)"
"""What may be named as an event, in words."""


def load_event(name: str) -> EventDefinition:
    """An event by its name in any case, or by the path of a file ending in ``.toml``.

    Raises EventError with the file, the place and the remedy.
    """
    if name.endswith(".toml"):
        return _read(Path(name))
    known = {event.casefold(): event for event in event_names()}
    if name.casefold() not in known:
        raise EventError(f'There is no event "{name}"; take one of {EVENT_CHOICE}.')
    with resources.as_file(
        resources.files("sessions.rules").joinpath("events", f"{known[name.casefold()]}.toml")
    ) as path:
        return _read(path)


def _read(path: Path) -> EventDefinition:
    try:
        data = tomllib.loads(read_small(path, LONGEST_FILE).decode("utf-8-sig"))
        return EventDefinition.model_validate(data)
    except OSError as error:
        raise EventError(
            f"The event file {path} cannot be read ({error.strerror}); check its path."
        ) from None
    except UnicodeDecodeError:
        raise EventError(f"The event file {path} is not UTF-8 text; save it as UTF-8.") from None
    except ValidationError as error:
        raise EventError(
            f"The event file {path} does not hold: {first_problem(error)}; mend that entry."
        ) from None
    except (ValueError, RecursionError) as error:  # a number too long to read has no error of TOML
        raise EventError(f"The event file {path} is not TOML: {error}; mend that line.") from None
