"""What is done with the claim chosen on the docket, and what is asked first."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import replace
from functools import partial

from rich.text import Text

from sessions.docket.claim_state import ClaimState, State
from sessions.docket.claims import ListedClaim
from sessions.docket.docket import Docket
from sessions.docket.work_order import Placed
from sessions.errors import EntryRefused
from sessions.plural import plural
from sessions.ruling.ruling import CAUTIONS
from sessions.sanitize import sanitize
from tui.bench.finishing import checked_reason
from tui.docket.opening import DocketWork, Job, SameFootage
from tui.docket.rows import Sight, among_known, as_seen
from tui.settling.case import find_case, outdated
from tui.widgets.command_screen import CommandScreen, Handler
from tui.widgets.dialogs import AskScreen, ChooseScreen, ConfirmScreen, PageScreen

UNSEEN = (
    "You have not reviewed this claim yourself. Settling shows all that its reviewers found, and a "
    "review of yours would no longer be unled. The reviews stay as they are; what is settled is a "
    "session of your own."
)

NONE_TO_ISSUE = "There is nothing to issue: each ruling that you may know has its documents."


class DocketDialogs:
    """The handlers of a docket's own commands, as one reviewer (``sight``) may do them.

    ``chosen`` gives the chosen claim, or raises EntryRefused. ``begin`` does a job in a thread,
    with words to say meanwhile, and returns what to say.
    """

    def __init__(
        self,
        screen: CommandScreen,
        docket: Docket,
        sight: Sight,
        work: DocketWork,
        chosen: Callable[[], Placed],
        begin: Callable[[str, Job], str | None],
    ) -> None:
        self._screen, self._docket, self._sight, self._work = screen, docket, sight, work
        self._chosen, self._begin = chosen, begin

    def handlers(self) -> Mapping[str, Handler]:
        """The handlers of the docket's own commands, by command id."""
        return {
            "docket.open": self._open,
            "docket.own": lambda: self._review(self._chosen().state.claim),
            "docket.settle": self._settle_chosen,
            "docket.ruling": self._show_ruling,
            "docket.issue": self._issue_chosen,
            "docket.clips": partial(self._issue_chosen, clips=True),
            "docket.issue_all": self._issue_outstanding,
        }

    # -- the chosen claim, as far as the reviewer may know it

    def _read_chosen(self) -> Placed:
        """The chosen claim; raises EntryRefused where not all of its sessions are read yet."""
        placed = self._chosen()
        if not placed.state.is_read:
            claim = sanitize(placed.state.claim.claim)
            raise EntryRefused(f"Not all sessions on {claim} are read yet; wait for them.")
        return placed

    def _known_chosen(self) -> Placed:
        """The chosen claim; raises EntryRefused where its ruling may not be shown yet."""
        placed = self._read_chosen()
        if not self._sight.knows(placed):
            raise EntryRefused(
                f"What is found of {sanitize(placed.state.claim.claim)} is hidden until you finish "
                "your own review of it."
            )
        return placed

    def _page_of(self, state: ClaimState) -> Text:
        """The claim's page, without what the reviewer may not know yet of other claims."""
        from tui.docket.claim_page import claim_page  # slow to import, and only needed here

        placed, sight = self._docket.placed, self._sight
        seen = replace(state, claim=as_seen(state.claim, sight.waiting(placed)))
        known = among_known(seen, sight.hidden(placed))
        return Text(claim_page(self._docket.folder, known, sight.reviewer))

    # -- reviewing

    def _open(self) -> str | None:
        """Settle the chosen claim where its reviews differ and may be seen, else review it."""
        placed = self._chosen()
        if placed.state.state is State.DIFFERING and self._sight.knows(placed):
            return self._settle(placed.state)
        return self._review(placed.state.claim)

    def _review(self, claim: ListedClaim, take_over: bool | None = None) -> str | None:
        """Open a claim's footage on the bench; ``take_over`` as in ``DocketWork``."""
        others = (one for one in self._docket.placed if one.state.claim.claim != claim.claim)
        seen = as_seen(claim, self._sight.waiting(others))
        return self._begin(
            f"Opening {sanitize(claim.claim)}...",
            lambda tell: self._work.review(seen, tell, take_over),
        )

    def ask_to_take_over(self, found: SameFootage) -> None:
        """Ask whether a claim's session begins with the reviewer's own tags on the same footage.

        Escape opens nothing, and the claim asks again.
        """
        before, claim = sanitize(found.reviewed_for), sanitize(found.claim.claim)

        def answered(at: int | None) -> None:
            if at is not None:
                self._screen.attempt(lambda: self._review(found.claim, take_over=at == 0))

        title = (
            f"Claim {claim}: you have reviewed this footage already, for claim {before}. How does "
            "your review begin?"
        )
        answers = ("With your own tags, which you can change", "Empty")
        self._screen.app.push_screen(ChooseScreen(title, answers), answered)

    # -- settling

    def _settle_chosen(self) -> str | None:
        """Settle the chosen claim; who has not reviewed it is told first what that shows."""
        state = self._read_chosen().state
        if any(review.reviewer == self._sight.reviewer for review in state.reviews):
            return self._settle(state)

        def answered(yes: bool | None) -> None:
            if yes:
                self._screen.attempt(lambda: self._settle(state))

        title = f"Settle {sanitize(state.claim.claim)}?"
        page = ConfirmScreen(title, Text(UNSEEN), "settle it", "leave it")
        self._screen.app.push_screen(page, answered)
        return None

    def _settle(self, state: ClaimState) -> str | None:
        """Settle a claim; where its reviews were changed since, ask whether to begin anew."""
        folder, claim = self._docket.folder, state.claim.claim
        case = find_case(folder, state, self._docket.reviews_due)
        words = outdated(folder.session(claim, self._sight.reviewer, settling=True), case)
        if not words:
            return self._open_settling(state)

        def answered(yes: bool | None) -> None:
            if yes:
                self._screen.attempt(lambda: self._open_settling(state, anew=True))

        page = Text(f"{words} It is kept beside the new one, and counts no more.")
        title = f"Settle {sanitize(claim)} anew?"
        self._screen.app.push_screen(
            ConfirmScreen(title, page, "settle anew", "leave it"), answered
        )
        return None

    def _open_settling(self, state: ClaimState, *, anew: bool = False) -> str | None:
        return self._begin(
            f"Opening {sanitize(state.claim.claim)} to settle...",
            lambda tell: self._work.settle(state, anew, tell),
        )

    # -- ruling and documents

    def _show_ruling(self) -> None:
        """Show how the chosen claim is ruled, or how the reviewer's own review rules it."""
        state = self._known_chosen().state
        title = f"Claim {sanitize(state.claim.claim)}"
        self._screen.app.push_screen(PageScreen(title, self._page_of(state)))

    def _issue_chosen(self, clips: bool = False) -> None:
        """Issue the chosen claim's ruling once it was read; a later one asks for its reason too.

        ``clips`` is whether it comes with short loops of its evidence.
        """
        from tui.docket.claim_page import last_words  # slow to import, and only needed here
        from tui.documents.docketed import last_issued, ruling_review

        state = self._known_chosen().state
        ruling_review(state)
        last = last_issued(self._docket.folder, state)

        def answered(yes: bool | None) -> None:
            if yes and last is not None:
                self._ask_reason(state, last_words(last), clips)
            elif yes:
                self._screen.attempt(lambda: self._issue(state, None, clips))

        name = sanitize(state.claim.claim)
        loops = ", with loops of the evidence" if clips else ""
        title, yes = f"Issue the ruling on {name}{loops}?", "issue it"
        if last is not None:
            title = f"Issue a new ruling on {name}{loops}, in place of ruling {last.number}?"
            yes = "give the reason"
        page = ConfirmScreen(title, self._page_of(state), yes, "not yet")
        self._screen.app.push_screen(page, answered)

    def _ask_reason(self, state: ClaimState, issued: str, clips: bool) -> None:
        """Ask why a ruling takes the place of the one that was issued, and issue it."""

        def reasoned(reason: str | None) -> None:
            if reason is not None:
                self._screen.attempt(lambda: self._issue(state, reason, clips))

        title = f"{issued} Why does a new ruling on {sanitize(state.claim.claim)} take its place?"
        hint = "Printed in the document; no names."
        self._screen.app.push_screen(AskScreen(title, hint, checked_reason), reasoned)

    def _issue(self, state: ClaimState, reason: str | None, clips: bool) -> str | None:
        return self._begin(
            f"Issuing {sanitize(state.claim.claim)}...",
            lambda tell: self._work.issue(state, reason, clips, tell),
        )

    def _issue_outstanding(self) -> None:
        """Issue all rulings of which no document was issued, once their list was read."""
        if self._docket.due:
            raise EntryRefused("Not all sessions of the docket are read yet; wait for them.")
        known = [one.state for one in self._docket.placed if self._sight.knows(one)]
        states = [state for state in known if state.is_to_issue]
        if not states:
            raise EntryRefused(NONE_TO_ISSUE)

        def answered(yes: bool | None) -> None:
            if yes:
                self._screen.attempt(lambda: self._issue_all(states))

        title = f"Issue {plural(len(states), 'ruling')}?"
        page = Text("\n".join(_lines(states)))
        self._screen.app.push_screen(ConfirmScreen(title, page, "issue them", "not yet"), answered)

    def _issue_all(self, states: Sequence[ClaimState]) -> str | None:
        return self._begin("Issuing...", lambda tell: self._work.issue_all(states, tell))


def _lines(states: Sequence[ClaimState]) -> Iterator[str]:
    """What is about to be issued, a line each."""
    yield (
        "Each becomes a page for the claimant, and the same as plain text and as data. "
        "None is ever edited afterwards."
    )
    yield ""
    for state in states:
        listed = state.claim
        claimed = f"{listed.claim}  {listed.event} {listed.division}, {listed.time} s"
        yield sanitize(f"{claimed}: {state.verdict}")
    yield from ("", *CAUTIONS)
