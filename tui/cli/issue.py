"""``framecall issue``: the ruling of a session as documents to send out and to keep."""

from dataclasses import dataclass
from pathlib import Path

from sessions.journal import read_session
from tui.cli.exits import RULED
from tui.documents.errors import DocumentError
from tui.documents.issuing import Wish, issue
from tui.documents.league import load_league


@dataclass(frozen=True)
class Order:
    """What was asked for; without ``footage`` and ``out`` the session's folder is looked in."""

    session: Path
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
    footage = order.footage or _beside(order.session)
    made = issue(order.session, footage, order.out or order.session.parent, wish)
    for path in made.paths:
        print(path)
    print(made.document.ruling.summary)
    return RULED


def _beside(session: Path) -> Path:
    """The footage by the name that the session keeps, in the session's own folder."""
    footage = session.with_name(Path(read_session(session).header.footage.name).name)
    if not footage.is_file():
        raise DocumentError(
            f"The footage {footage} is not beside its session; name it with --footage PATH."
        )
    return footage
