"""What is done with the claim chosen on the docket, beside reviewing it."""

from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import TYPE_CHECKING

from rich.text import Text

from sessions.claim_state import ClaimState, State
from sessions.contest import Placed
from sessions.errors import EntryRefused
from sessions.plain import plain
from tui.review.docket_rows import as_seen
from tui.review.reasons import checked_reason
from tui.review.settle_case import find_case, outdated
from tui.screens.dialogs import AskScreen, ConfirmScreen, PageScreen
from tui.screens.docket_case import SameFootage
from tui.screens.docket_words import help_page

if TYPE_CHECKING:
    from tui.screens.docket import DocketScreen

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
    before, claim = plain(found.reviewed_for), plain(found.claim.claim)

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
    placed = _read(screen)
    own = [r for r in placed.state.reviews if r.reviewer == screen.sight.reviewer]
    if own:
        _settle(screen, placed.state)
        return

    def answered(yes: bool | None) -> None:
        if yes:
            screen.attempt(lambda: _settle(screen, placed.state))

    title = f"Settle {plain(placed.state.claim.claim)}?"
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
        ConfirmScreen(f"Settle {plain(claim)} anew?", page, "settle anew", "leave it"), answered
    )


def show_ruling(screen: "DocketScreen") -> None:
    """Show how the chosen claim is ruled, or how the reviewer's own review rules it."""
    from tui.documents.claim_page import claim_page  # slow to import, and only needed here

    placed = _known(screen)
    page = claim_page(screen.docket.folder, _seen(screen, placed.state), screen.sight.reviewer)
    title = f"Claim {plain(placed.state.claim.claim)}"
    screen.app.push_screen(PageScreen(title, Text(page)))


def issue_chosen(screen: "DocketScreen") -> None:
    """Issue the chosen claim's ruling once it was read; a later one asks for its reason as well."""
    from tui.documents.claim_page import claim_page, last_words  # slow to import
    from tui.documents.docketed import last_issued, ruling_review

    placed = _known(screen)
    state, name = placed.state, plain(placed.state.claim.claim)
    ruling_review(state)
    last = last_issued(screen.docket.folder, state)

    def answered(yes: bool | None) -> None:
        if yes and last is not None:
            _ask_reason(screen, state, last_words(last))
        elif yes:
            screen.issue(state, None)

    page = Text(claim_page(screen.docket.folder, _seen(screen, state), screen.sight.reviewer))
    title, yes = f"Issue the ruling on {name}?", "issue it"
    if last is not None:
        title = f"Issue a new ruling on {name}, in place of ruling {last.number}?"
        yes = "give the reason"
    screen.app.push_screen(ConfirmScreen(title, page, yes, "not yet"), answered)


def _ask_reason(screen: "DocketScreen", state: ClaimState, issued: str) -> None:
    """Ask why a ruling takes the place of the one that was issued, and issue it."""

    def reasoned(reason: str | None) -> None:
        if reason is not None:
            screen.issue(state, reason)

    title = f"{issued} Why does a new ruling on {plain(state.claim.claim)} take its place?"
    hint = "Printed in the document; no names."
    screen.app.push_screen(AskScreen(title, hint, checked_reason), reasoned)


def _seen(screen: "DocketScreen", state: ClaimState) -> ClaimState:
    """The claim without what the reviewer may not know yet of its contest."""
    return replace(state, claim=as_seen(state.claim, screen.sight.waiting(screen.docket.placed)))


def _read(screen: "DocketScreen") -> Placed:
    """The chosen claim; raises EntryRefused where not all of its sessions are read yet."""
    placed = screen.chosen()
    if not placed.state.is_read:
        claim = plain(placed.state.claim.claim)
        raise EntryRefused(f"Not all sessions on {claim} are read yet; wait for them.")
    return placed


def _known(screen: "DocketScreen") -> Placed:
    """The chosen claim; raises EntryRefused where its ruling may not be shown yet."""
    placed = _read(screen)
    if not screen.sight.knows(placed):
        raise EntryRefused(
            f"What is found of {plain(placed.state.claim.claim)} is hidden until you finish your "
            "own review of it."
        )
    return placed


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
    "help": _help,
    "palette": lambda screen: screen.app.action_command_palette(),
    "redraw": _redraw,
    "quit": lambda screen: screen.leave(),
}
"""What each command of the docket does."""
