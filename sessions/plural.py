"""Counts and lists in words: one of a thing takes the singular."""

from collections.abc import Sequence


def plural(count: int, noun: str) -> str:
    """A count with its noun, in the plural but for one: ``1 entry``, ``0 entries``."""
    return f"{count} {nouns(count, noun)}"


def nouns(count: int, noun: str) -> str:
    """The noun alone, as ``plural`` has it."""
    return noun if count == 1 else _plural(noun)


def _plural(noun: str) -> str:
    """The regular plural; ``y`` is taken to come after a consonant."""
    if noun.endswith("y"):
        return f"{noun[:-1]}ies"
    return f"{noun}es" if noun.endswith(("ch", "s", "x")) else f"{noun}s"


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
