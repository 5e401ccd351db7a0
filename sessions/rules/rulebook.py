"""The rules of the trade as data: each with an id, what refutes it and what would be right."""

import tomllib
from enum import StrEnum
from functools import cache
from importlib import resources
from types import MappingProxyType
from typing import Annotated

from pydantic import Field

from sessions.validation import Frozen

PICTURE = "clock.picture"
"""The one rule that judges clock and footage, so that no competitor breaks it."""


OTHER = "other"
"""The rule of a fault that neither a checkpoint asks for nor the event file lists."""

_Sentence = Annotated[str, Field(min_length=1, max_length=300)]


class JudgedBy(StrEnum):
    """How a checkpoint of two hands is judged: each hand by itself, or by one that decides."""

    EACH = "each hand"
    FIRST = "first hand"
    LAST = "last hand"


class Rule(Frozen):
    """One rule; ``kind`` names the kind of checkpoint that judges it, where one does.

    ``hands`` says how the two hands are judged, where both take part.
    """

    id: str = Field(min_length=1, max_length=40, pattern=r"^[\w.-]+$")
    title: _Sentence
    refuted: _Sentence
    right: _Sentence
    kind: str | None = None
    hands: JudgedBy | None = None
    source: str = "common practice, no source"


@cache
def rules() -> MappingProxyType[str, Rule]:
    """All rules by id, in the order in which an attempt meets them."""
    text = resources.files("sessions.rules").joinpath("rulebook.toml").read_text(encoding="utf-8")
    listed = [Rule.model_validate(row) for row in tomllib.loads(text)["rule"]]
    return MappingProxyType({rule.id: rule for rule in listed})
