"""Finishing a review on the bench: what is still open, the question, and the claim after it."""

from collections.abc import Callable
from functools import partial
from typing import TYPE_CHECKING

from rich.text import Text

from sessions.docket.blindness import begins_blind
from tui.bench import finishing
from tui.bench.blind import claim_words, may_know, read_in
from tui.bench.review import Review
from tui.widgets.command_screen import CommandScreen
from tui.widgets.dialogs import AskScreen, ConfirmScreen

if TYPE_CHECKING:
    from tui.bench.screen import BenchScreen

Deed = Callable[[], str | None]
"""What a key does; it returns what to say."""

AFTER = (
    "A finished review is only changed once you say why, and the ruling tells it. A review that "
    "was begun blind shows its claim once it is finished and leaves no run open."
)


AMEND = (
    "This review is finished. What rests on it may have to be settled and issued anew. Why is it "
    "amended?"
)


def ask_to_finish(bench: "BenchScreen") -> None:
    """Show what is still open, and finish the review if the reviewer says so."""
    bench.flush()
    finishing.check_unfinished(bench.review)

    def answered(yes: bool | None) -> None:
        if yes:
            bench.attempt(lambda: _finish(bench), "finish")

    bench.app.push_screen(
        ConfirmScreen("Finish this review?", _page(bench), "finish it", "not yet"), answered
    )


def _page(bench: "BenchScreen") -> Text:
    accept = bench.keymap.first_key("accept")
    left = finishing.still_open(bench.review, accept)
    lines = [f"Ruling now: {bench.review.ruling.summary}", ""]
    lines += ["Still open:" if left else "Nothing is left open.", *(f"- {line}" for line in left)]
    if settled := finishing.accepted_readings(bench.review):
        lines += ["", "Readings accepted with a reason:", *(f"- {line}" for line in settled)]
    return Text("\n".join([*lines, "", AFTER]))


def _finish(bench: "BenchScreen") -> str:
    said = finishing.finish(bench.review)
    if not may_know(bench.review):
        return f"{said} The claim stays hidden until no run is left open."
    if not begins_blind(bench.review.session.header) or bench.listed is None:
        return said
    return (
        f"{said} {claim_words(bench.review, bench.listed)}. {read_in(bench.review, bench.listed)}"
    )


def ask_to_amend(
    screen: CommandScreen, review: Review, deed: Deed, attempt: Callable[[Deed], None]
) -> None:
    """Ask why a finished review is amended, take it up again, and do what was asked for."""

    def answered(said: str | None) -> None:
        if said is not None:
            attempt(lambda: " ".join(part for part in (deed(), said) if part))

    hint = "Told in the ruling; no names."
    take = partial(finishing.reopen, review)
    screen.app.push_screen(AskScreen(AMEND, hint, take), answered)
