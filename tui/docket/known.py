"""The chosen claim of the docket, as far as its reviewer may know it."""

from dataclasses import replace
from typing import TYPE_CHECKING

from sessions.docket.claim_state import ClaimState
from sessions.docket.work_order import Placed
from sessions.errors import EntryRefused
from sessions.sanitize import sanitize
from tui.docket.rows import among_known, as_seen

if TYPE_CHECKING:
    from tui.docket.screen import DocketScreen


def read_chosen(screen: "DocketScreen") -> Placed:
    """The chosen claim; raises EntryRefused where not all of its sessions are read yet."""
    placed = screen.chosen()
    if not placed.state.is_read:
        claim = sanitize(placed.state.claim.claim)
        raise EntryRefused(f"Not all sessions on {claim} are read yet; wait for them.")
    return placed


def known_chosen(screen: "DocketScreen") -> Placed:
    """The chosen claim; raises EntryRefused where its ruling may not be shown yet."""
    placed = read_chosen(screen)
    if not screen.sight.knows(placed):
        raise EntryRefused(
            f"What is found of {sanitize(placed.state.claim.claim)} is hidden until you finish "
            "your own review of it."
        )
    return placed


def as_shown(screen: "DocketScreen", state: ClaimState) -> ClaimState:
    """The claim without what the reviewer may not know yet of its contest and of other claims."""
    placed, sight = screen.docket.placed, screen.sight
    seen = replace(state, claim=as_seen(state.claim, sight.waiting(placed)))
    return among_known(seen, sight.hidden(placed))
