"""Counts and lists in words: one of a thing takes the singular."""

from collections.abc import Sequence


def counted(count: int, noun: str) -> str:
    """A count with its noun, which takes an ``s`` but for one: ``1 frame``, ``0 frames``."""
    return f"{count} {nouns(count, noun)}"


def nouns(count: int, noun: str) -> str:
    """The noun alone, as ``counted`` has it."""
    return noun if count == 1 else f"{noun}s"


def are(count: int) -> str:
    """``is`` for one, ``are`` for all others."""
    return "is" if count == 1 else "are"


def were(count: int) -> str:
    """``was`` for one, ``were`` for all others."""
    return "was" if count == 1 else "were"


def joined(names: Sequence[str]) -> str:
    """Names as a list in words: ``R1, R2 and R3``."""
    parts = [", ".join(names[:-1]), *names[-1:]]
    return " and ".join(part for part in parts if part)
