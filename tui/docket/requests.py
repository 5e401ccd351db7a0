"""What is done with the claim chosen on the docket, beside reviewing it."""

from collections.abc import Callable, Mapping
from functools import partial
from typing import TYPE_CHECKING

from rich.text import Text

from sessions.docket.claim_state import ClaimState, State
from sessions.sanitize import sanitize
from tui.docket.case import SameFootage
from tui.docket.issuing import issue_chosen, issue_outstanding
from tui.docket.known import as_shown, known_chosen, read_chosen
from tui.docket.words import help_page
from tui.settling.case import find_case, outdated
from tui.widgets.dialogs import ConfirmScreen, PageScreen

if TYPE_CHECKING:
    from tui.docket.screen import DocketScreen

UNSEEN = (
    "You have not reviewed this claim yourself. Settling shows all that its reviewers found, and a "
    "review of yours would no longer be unled. The reviews stay as they are; what is settled is a "
    "session of your own."
)


def open_chosen(screen: "DocketScreen") -> None:
    """Settle the chosen claim where its reviews differ and may be seen, else review it."""
    placed = screen.chosen()
    if placed.state.state is State.DIFFERING and screen.sight.knows(placed):
        _settle(screen, placed.state)
    else:
        screen.review(placed.state.claim)


def review_chosen(screen: "DocketScreen") -> None:
    """Open the chosen claim's footage with the reviewer's own session."""
    screen.review(screen.chosen().state.claim)


def ask_to_take_over(screen: "DocketScreen", found: SameFootage) -> None:
    """Ask whether a claim's session begins with the reviewer's own tags on the same footage."""
    before, claim = sanitize(found.reviewed_for), sanitize(found.claim.claim)

    def answered(yes: bool | None) -> None:
        screen.review(found.claim, take_over=bool(yes))

    question = (
        f"You have reviewed this footage already, for claim {before}. Take over your own tags? "
        "(They can be changed.)"
    )
    yes, no = "take them over", "begin empty"
    screen.app.push_screen(
        ConfirmScreen(f"Claim {claim}: footage seen before", Text(question), yes, no), answered
    )


def settle_chosen(screen: "DocketScreen") -> None:
    """Settle the chosen claim; who has not reviewed it is told first what that shows."""
    placed = read_chosen(screen)
    own = [r for r in placed.state.reviews if r.reviewer == screen.sight.reviewer]
    if own:
        _settle(screen, placed.state)
        return

    def answered(yes: bool | None) -> None:
        if yes:
            screen.attempt(lambda: _settle(screen, placed.state))

    title = f"Settle {sanitize(placed.state.claim.claim)}?"
    screen.app.push_screen(ConfirmScreen(title, Text(UNSEEN), "settle it", "leave it"), answered)


def _settle(screen: "DocketScreen", state: ClaimState) -> None:
    """Settle a claim; where its reviews were changed since, ask whether to begin anew."""
    folder, claim = screen.docket.folder, state.claim.claim
    case = find_case(folder, state, screen.docket.reviews_due)
    words = outdated(folder.session(claim, screen.sight.reviewer, settling=True), case)
    if not words:
        screen.settle(state)
        return

    def answered(yes: bool | None) -> None:
        if yes:
            screen.settle(state, anew=True)

    page = Text(f"{words} It is kept beside the new one, and counts no more.")
    screen.app.push_screen(
        ConfirmScreen(f"Settle {sanitize(claim)} anew?", page, "settle anew", "leave it"), answered
    )


def show_ruling(screen: "DocketScreen") -> None:
    """Show how the chosen claim is ruled, or how the reviewer's own review rules it."""
    from tui.docket.claim_page import claim_page  # slow to import, and only needed here

    placed = known_chosen(screen)
    page = claim_page(screen.docket.folder, as_shown(screen, placed.state), screen.sight.reviewer)
    title = f"Claim {sanitize(placed.state.claim.claim)}"
    screen.app.push_screen(PageScreen(title, Text(page)))


def _help(screen: "DocketScreen") -> None:
    screen.app.push_screen(PageScreen("The docket", Text(help_page(screen.keymap))))


def _redraw(screen: "DocketScreen") -> None:
    screen.app.refresh(layout=True)
    screen.draw()


DEEDS: Mapping[str, Callable[["DocketScreen"], None]] = {
    "docket.open": open_chosen,
    "docket.own": review_chosen,
    "docket.settle": settle_chosen,
    "docket.ruling": show_ruling,
    "docket.issue": issue_chosen,
    "docket.clips": partial(issue_chosen, clips=True),
    "docket.issue_all": issue_outstanding,
    "help": _help,
    "palette": lambda screen: screen.app.action_command_palette(),
    "redraw": _redraw,
    "quit": lambda screen: screen.leave(),
}
"""What each command of the docket does."""
