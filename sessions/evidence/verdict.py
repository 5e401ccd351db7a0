"""Three-valued verdicts, combined by strong Kleene logic.

Source: S. C. Kleene, Introduction to Metamathematics (1952), section 64, the strong tables.
"""

from collections.abc import Iterable
from enum import StrEnum


class Verdict(StrEnum):
    """What the picture says of a statement; the middle value is doubt, not a guess."""

    REFUTED = "refuted"
    UNPROVEN = "unproven"
    PROVEN = "proven"

    @property
    def _rank(self) -> int:
        return (Verdict.REFUTED, Verdict.UNPROVEN, Verdict.PROVEN).index(self)

    def __invert__(self) -> "Verdict":
        return {
            Verdict.REFUTED: Verdict.PROVEN,
            Verdict.UNPROVEN: Verdict.UNPROVEN,
            Verdict.PROVEN: Verdict.REFUTED,
        }[self]

    def __and__(self, other: "Verdict") -> "Verdict":
        return min(self, other, key=lambda v: v._rank)

    def __or__(self, other: "Verdict") -> "Verdict":
        return max(self, other, key=lambda v: v._rank)


def all_of(verdicts: Iterable[Verdict]) -> Verdict:
    """Strong Kleene conjunction; proven when there is nothing to refute."""
    result = Verdict.PROVEN
    for verdict in verdicts:
        result &= verdict
    return result


def any_of(verdicts: Iterable[Verdict]) -> Verdict:
    """Strong Kleene disjunction; refuted when there is nothing to prove."""
    result = Verdict.REFUTED
    for verdict in verdicts:
        result |= verdict
    return result
