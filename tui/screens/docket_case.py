"""A claim as it is opened from the docket, and given back to it."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Protocol

from sessions.claims import ListedClaim
from sessions.errors import FramecallError
from tui.screens.bench import BenchScreen

Tell = Callable[[str], None]
"""Told in words how far the opening has come."""


class Abandoned(FramecallError):
    """The program ends before what was begun is done."""


@dataclass(frozen=True)
class OpenCase:
    """A claim's footage and session, open: makes the bench, and closes both with a last word."""

    bench: Callable[[], BenchScreen]
    close: Callable[[], str]


class OpensCases(Protocol):
    """Opens the footage and the session of a claim; called from a thread of its own."""

    def __call__(self, claim: ListedClaim, tell: Tell) -> OpenCase:
        """Raises FramecallError where they cannot be opened."""
        ...
