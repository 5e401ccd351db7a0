"""Exact numbers as files write them: a whole number, a decimal or a fraction, none of them long."""

import re
from fractions import Fraction

_SHORT = re.compile(r"[-+]?[0-9]{0,19}([./][0-9]{0,19})?([eE][-+]?[0-9]{1,2})?")
"""Parts of 19 digits hold all that containers and leagues write, and cost nothing to work with."""


def exact(text: str) -> Fraction:
    """The number that ``12``, ``0.001``, ``1e-3`` or ``1/30000`` says.

    Raises ValueError for what is written otherwise, is longer, or divides by 0.
    """
    try:
        if _SHORT.fullmatch(text):
            return Fraction(text)
    except (ValueError, ZeroDivisionError):
        pass
    raise ValueError(f'"{text[:40]}" is not a number such as 12, 0.001 or 1/30000')


def micros(time: str) -> int:
    """A time in seconds, as a claims file or a display writes it, in whole microseconds."""
    whole, _, rest = time.partition(".")
    return int(whole) * 1_000_000 + int(rest[:6].ljust(6, "0"))
