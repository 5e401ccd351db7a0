"""Issuing documents from the docket: of the chosen claim, or of all that have none yet."""

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from rich.text import Text

from sessions.docket.claim_state import ClaimState
from sessions.errors import EntryRefused
from sessions.plural import plural
from sessions.sanitize import sanitize
from tui.bench.reasons import checked_reason
from tui.docket.known import as_shown, known_chosen
from tui.widgets.dialogs import AskScreen, ConfirmScreen

if TYPE_CHECKING:
    from tui.docket.screen import DocketScreen


def issue_chosen(screen: "DocketScreen", clips: bool = False) -> None:
    """Issue the chosen claim's ruling once it was read; a later one asks for its reason as well.

    ``clips`` is whether it comes with short loops of its evidence.
    """
    from tui.docket.claim_page import claim_page, last_words  # slow to import
    from tui.documents.docketed import last_issued, ruling_review

    placed = known_chosen(screen)
    state, name = placed.state, sanitize(placed.state.claim.claim)
    ruling_review(state)
    last = last_issued(screen.docket.folder, state)

    def answered(yes: bool | None) -> None:
        if yes and last is not None:
            _ask_reason(screen, state, last_words(last), clips)
        elif yes:
            _issue(screen, state, None, clips)

    page = Text(claim_page(screen.docket.folder, as_shown(screen, state), screen.sight.reviewer))
    loops = ", with loops of the evidence" if clips else ""
    title, yes = f"Issue the ruling on {name}{loops}?", "issue it"
    if last is not None:
        title = f"Issue a new ruling on {name}{loops}, in place of ruling {last.number}?"
        yes = "give the reason"
    screen.app.push_screen(ConfirmScreen(title, page, yes, "not yet"), answered)


def _ask_reason(screen: "DocketScreen", state: ClaimState, issued: str, clips: bool) -> None:
    """Ask why a ruling takes the place of the one that was issued, and issue it."""

    def reasoned(reason: str | None) -> None:
        if reason is not None:
            _issue(screen, state, reason, clips)

    title = f"{issued} Why does a new ruling on {sanitize(state.claim.claim)} take its place?"
    hint = "Printed in the document; no names."
    screen.app.push_screen(AskScreen(title, hint, checked_reason), reasoned)


def _issue(screen: "DocketScreen", state: ClaimState, reason: str | None, clips: bool) -> None:
    screen.begin(
        f"Issuing {sanitize(state.claim.claim)}...",
        lambda tell: screen.deeds.issue(state, reason, clips, tell),
    )


def issue_outstanding(screen: "DocketScreen") -> None:
    """Issue all rulings of which no document was issued, once their list was read."""
    if screen.docket.due:
        raise EntryRefused("Not all sessions of the docket are read yet; wait for them.")
    known = [one.state for one in screen.docket.placed if screen.sight.knows(one)]
    states = [state for state in known if state.is_to_issue]
    if not states:
        raise EntryRefused("Of every ruling that you may know, documents are issued already.")

    def answered(yes: bool | None) -> None:
        if yes:
            screen.begin("Issuing...", lambda tell: screen.deeds.issue_all(states, tell))

    title = f"Issue {plural(len(states), 'ruling')}?"
    page = Text("\n".join(_lines(states)))
    screen.app.push_screen(ConfirmScreen(title, page, "issue them", "not yet"), answered)


def _lines(states: Sequence[ClaimState]) -> Iterator[str]:
    """What is about to be issued, a line each."""
    yield "Each becomes a page for the claimant, with its twins, and is never edited afterwards."
    yield ""
    for state in states:
        listed = state.claim
        claimed = f"{listed.claim}  {listed.event} {listed.division}, {listed.time} s"
        yield sanitize(f"{claimed}: {state.verdict}")
