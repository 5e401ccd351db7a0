"""A claim as it is opened from the docket, and given back to it."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Protocol

from textual.screen import Screen

from sessions.docket.claim_state import ClaimState
from sessions.docket.claims import ListedClaim
from sessions.errors import FramecallError

Tell = Callable[[str], None]
"""Told in words how far the opening has come."""


class Abandoned(FramecallError):
    """The program ends before what was begun is done."""


@dataclass(frozen=True)
class OpenCase:
    """A claim's footage and session, open: makes the screen, and closes both with a last word."""

    screen: Callable[[], Screen[None]]
    close: Callable[[], str]


@dataclass(frozen=True)
class SameFootage:
    """The footage of ``claim`` was reviewed already, for ``reviewed_for``: ask what to do."""

    claim: ListedClaim
    reviewed_for: str


class DocketDeeds(Protocol):
    """What is done for a docket, each called from a thread of its own."""

    def review(
        self, claim: ListedClaim, tell: Tell, take_over: bool | None
    ) -> OpenCase | SameFootage:
        """Open a claim's footage with the reviewer's own session; FramecallError if not.

        ``take_over`` is whether a new one begins with their own tags on the same footage, where
        there are any; ``None`` is to ask for that.
        """
        ...

    def settle(self, state: ClaimState, anew: bool, tell: Tell) -> OpenCase:
        """Open the finished reviews of a claim to settle them; FramecallError if not.

        ``anew`` sets aside what was settled of reviews that were changed since.
        """
        ...

    def issue(self, state: ClaimState, reason: str | None, clips: bool, tell: Tell) -> str:
        """Issue a claim's ruling and say what was written; FramecallError if it cannot be.

        ``clips`` is whether it comes with short loops of its evidence.
        """
        ...

    def issue_all(self, states: Sequence[ClaimState], tell: Tell) -> str:
        """Issue the rulings of claims; says how many were, and why one was left out."""
        ...


Deed = Callable[[Tell], OpenCase | SameFootage | str]
"""Does one thing for the docket in a thread: what came of it, or its last word."""
