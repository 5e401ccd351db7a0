"""``framecall issue``: the ruling of a session or claim as documents to send out and to keep."""

from dataclasses import dataclass
from pathlib import Path

from sessions.claimed import verdict_words
from sessions.journal import read_session
from tui.cli.dockets import placed_claim, read_docket
from tui.cli.exits import RULED
from tui.cli.opening import progress_line
from tui.documents.docketed import issue_claim
from tui.documents.errors import DocumentError
from tui.documents.issuing import Documents, Wish, issue
from tui.documents.league import load_league


@dataclass(frozen=True)
class Order:
    """What was asked for: ``source`` is a session, or a docket of which ``claim`` is issued.

    Without ``footage`` and ``out`` the session's folder is looked in; a docket knows its places.
    """

    source: Path
    claim: str | None = None
    footage: Path | None = None
    out: Path | None = None
    league: Path | None = None
    reason: str | None = None
    clips: bool = False
    draft: bool = False
    anonymous: bool = False


def run(order: Order) -> int:
    """Issue the documents and print where they are; returns the exit code."""
    wish = Wish(
        league=None if order.league is None else load_league(order.league),
        reason=order.reason,
        draft=order.draft,
        anonymous=order.anonymous,
        clips=order.clips,
    )
    made = _of_session(order, wish) if order.claim is None else _of_claim(order, order.claim, wish)
    for path in made.paths:
        print(path)
    print(verdict_words(made.document.ruling))
    return RULED


def _of_claim(order: Order, claim: str, wish: Wish) -> Documents:
    if order.footage is not None:
        raise DocumentError(
            "A docket knows the footage of its claims; leave --footage out, or name a session file "
            "and no claim."
        )
    docket = read_docket(order.source)
    return issue_claim(
        docket, placed_claim(docket, claim).state, wish, order.out, progress=progress_line()
    )


def _of_session(order: Order, wish: Wish) -> Documents:
    if order.source.is_dir():
        raise DocumentError(
            f"{order.source} is a folder; name a session file, or after the folder of a docket "
            "also the claim to issue."
        )
    footage = order.footage or _beside(order.source)
    folder = order.out or order.source.parent
    return issue(order.source, footage, folder, wish, progress=progress_line())


def _beside(session: Path) -> Path:
    """The footage by the name that the session keeps, in the session's own folder."""
    footage = session.with_name(Path(read_session(session).header.footage.name).name)
    if not footage.is_file():
        raise DocumentError(
            f"The footage {footage} is not beside its session; name it with --footage PATH."
        )
    return footage
