"""The rulings of a docket that have no documents yet, issued one after the other."""

from collections.abc import Callable, Iterable, Iterator
from datetime import datetime

from sessions.docket.claim_state import ClaimState
from sessions.docket.docket import Docket
from sessions.errors import FootageError, SessionError
from sessions.record.journal import utc_now
from tui.documents.docketed import issue_claim, with_league
from tui.documents.errors import DocumentError
from tui.documents.issuing import Documents, Wish
from tui.footage.intake import Progress

AT_ODDS = (
    "its ruling contradicts that on another claim on the same footage, which the docket names to "
    "whoever may know it; look at both, then issue it by itself."
)


def outstanding(states: Iterable[ClaimState]) -> tuple[ClaimState, ...]:
    """The ruled claims on which nothing was issued yet, in the order given."""
    return tuple(state for state in states if state.is_to_issue)


def issue_each(
    docket: Docket,
    states: Iterable[ClaimState],
    wish: Wish,
    now: Callable[[], datetime] = utc_now,
    progress: Progress | None = None,
) -> Iterator[tuple[ClaimState, Documents | str]]:
    """Issue the rulings of claims; with each comes what was written, or why it was left out.

    One that contradicts another on the same footage is left out. Raises DocumentError, with
    nothing issued, where the league's words cannot be read.
    """
    wish = with_league(docket.folder, wish)
    for state in states:
        yield state, _issue(docket, state, wish, now, progress)


def _issue(
    docket: Docket,
    state: ClaimState,
    wish: Wish,
    now: Callable[[], datetime],
    progress: Progress | None,
) -> Documents | str:
    if state.at_odds:
        return AT_ODDS
    try:
        return issue_claim(docket, state, wish, now=now, progress=progress)
    except (DocumentError, SessionError, FootageError) as error:
        return str(error)
