"""``framecall issue``: the ruling of a session or claim as documents to send out and to keep."""

import argparse
import os
import sys
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from sessions.docket.claim_state import ClaimState
from sessions.errors import DocumentError
from sessions.plural import are, plural
from sessions.record.recording import read_session
from sessions.ruling.report import verdict_words
from sessions.sanitize import sanitize
from tui.bench.opening import progress_line
from tui.cli.docket import placed_claim, read_docket
from tui.cli.output import BAD_INPUT, RULED, say
from tui.documents.docketed import issue_claim, issue_each, outstanding
from tui.documents.issuing import Documents, IssueWish, issue
from tui.documents.league import load_league


def add_issue(parser: argparse.ArgumentParser) -> None:
    """Take what ``framecall issue`` takes."""
    parser.description = (
        "Issue a ruling as documents: a page for the claimant with pictures (HTML), and the same "
        "as plain text and as data (JSON). Documents are never overwritten."
    )
    parser.add_argument(
        "source", type=Path, metavar="SESSION|DIR", help="a session file, or the folder of a docket"
    )
    parser.add_argument("claim", nargs="?", metavar="CLAIM", help="in a docket: the claim's id")
    parser.add_argument(
        "--ruled",
        action="store_true",
        help="in a docket, in place of CLAIM: every ruled claim that has no documents yet",
    )
    parser.add_argument(
        "--footage", type=Path, metavar="FILE", help="the footage (default: beside the session)"
    )
    parser.add_argument(
        "--out",
        type=Path,
        metavar="DIR",
        help="where to write (default: beside the session, or the docket's folder rulings)",
    )
    parser.add_argument(
        "--league",
        type=Path,
        metavar="FILE",
        help="the league's name and how to appeal (.toml; default: the docket's league.toml)",
    )
    parser.add_argument(
        "--reason", metavar="TEXT", help="why this ruling takes the place of the one issued before"
    )
    parser.add_argument(
        "--clips", action="store_true", help="add short loops of the evidence (MP4 and WebP)"
    )
    parser.add_argument(
        "--draft", action="store_true", help="an open ruling, marked as a draft that rules nothing"
    )
    parser.add_argument("--anonymous", action="store_true", help="leave out the competitor's code")


def run_issue(arguments: argparse.Namespace) -> int:
    """Issue the documents; returns the exit code."""
    asked = {name: value for name, value in vars(arguments).items() if name != "command"}
    return issue_documents(IssueOrder(**asked))


@dataclass(frozen=True)
class IssueOrder:
    """What was asked for: ``source`` is a session, or a docket of which ``claim`` is issued.

    Without ``footage`` and ``out`` the session's folder is looked in; a docket knows its places.
    ``ruled`` is for every ruled claim of a docket that has no documents yet.
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
    ruled: bool = False


def issue_documents(order: IssueOrder) -> int:
    """Issue the documents and print where they are; returns the exit code."""
    wish = IssueWish(
        league=None if order.league is None else load_league(order.league),
        reason=order.reason,
        draft=order.draft,
        anonymous=order.anonymous,
        clips=order.clips,
    )
    if order.ruled:
        return _all_ruled(order, wish)
    made = _of_session(order, wish) if order.claim is None else _of_claim(order, order.claim, wish)
    lines = [*(str(path) for path in made.paths), verdict_words(made.document.ruling)]
    say("".join(f"{sanitize(line)}\n" for line in lines))
    return RULED


def _all_ruled(order: IssueOrder, wish: IssueWish) -> int:
    """Issue what is ruled and has no documents; what cannot be issued is told, and left out."""
    _check_all(order)
    docket = read_docket(order.source)
    states = [placed.state for placed in docket.placed]
    left_out = 0
    for state, made in issue_each(docket, outstanding(states), wish, progress=progress_line()):
        claim = sanitize(state.claim.claim)
        if isinstance(made, str):
            left_out += 1
            print(f"framecall: Claim {claim} is left out: {sanitize(made)}", file=sys.stderr)
        else:
            say(f"{claim}: {sanitize(verdict_words(made.document.ruling))}\n")
    say(_summed_up(states, left_out))
    return BAD_INPUT if left_out else RULED


def _check_all(order: IssueOrder) -> None:
    """Raises DocumentError for what cannot be said of many rulings at once."""
    said = {
        "the claim": order.claim, "--footage": order.footage, "--out": order.out,
        "--reason": order.reason, "--draft": order.draft,
    }  # fmt: skip
    for name, given in said.items():
        if given:
            raise DocumentError(
                f"--ruled issues every ruling that has no documents yet; leave {name} out, or "
                "leave --ruled out."
            )


def _summed_up(states: Sequence[ClaimState], left_out: int) -> str:
    issued = len(outstanding(states)) - left_out
    before = sum(1 for state in states if state.issued)
    not_ruled = sum(1 for state in states if not state.is_registered)
    return (
        f"{plural(issued, 'ruling')} issued now, {before} before; "
        f"{plural(not_ruled, 'claim')} {are(not_ruled)} not ruled.\n"
    )


def _of_claim(order: IssueOrder, claim: str, wish: IssueWish) -> Documents:
    if order.footage is not None:
        raise DocumentError(
            "A docket knows the footage of its claims; leave --footage out, or name a session file "
            "and no claim."
        )
    docket = read_docket(order.source)
    return issue_claim(
        docket, placed_claim(docket, claim).state, wish, order.out, progress=progress_line()
    )


def _of_session(order: IssueOrder, wish: IssueWish) -> Documents:
    if os.path.isdir(order.source):
        raise DocumentError(
            f"{order.source} is a folder; name a session file, or after the folder of a docket "
            "also the claim to issue, or --ruled."
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
