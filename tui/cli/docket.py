"""``framecall docket``: a season's claims, and the bench for each; and a docket read for others."""

import argparse
import sys
from dataclasses import dataclass
from pathlib import Path

from sessions.docket.docket import Docket, DocketError, DocketFolder
from sessions.docket.index import prepare
from sessions.docket.work_order import Placed
from sessions.sanitize import sanitize
from tui.bench.opening import progress_line, reviewer_code
from tui.cli import start
from tui.cli.output import RULED, say
from tui.cli.start import loading
from tui.docket.rows import HIDDEN, ORDER_WORDS, Sight, docket_rows, docket_text
from tui.footage.cache import cache_folder


def add_folder(parser: argparse.ArgumentParser) -> None:
    """Take the docket, as ``folder``."""
    parser.add_argument(
        "folder", type=Path, metavar="DIR", help="the docket: a folder with claims.csv"
    )


def add_docket(parser: argparse.ArgumentParser) -> None:
    """Take what ``framecall docket`` takes."""
    parser.description = (
        "Show the claims of a docket in the order of work, the fastest first, and open them. "
        "A docket is a folder with claims.csv, the footage, and the folders sessions and rulings."
    )
    add_folder(parser)
    parser.add_argument("--list", action="store_true", help="print the claims and open none")
    parser.add_argument(
        "--shown",
        action="store_true",
        help="show claimed times and records before your review is finished; your sessions record "
        "that they were not blind",
    )
    start.add_screen(parser, reviewer="your sessions")


def run_docket(arguments: argparse.Namespace) -> int:
    """Show the docket; returns the exit code."""
    return show_docket(
        DocketOrder(
            folder=arguments.folder,
            reviewer=arguments.reviewer,
            keymap=arguments.keymap,
            picture=arguments.picture,
            as_list=arguments.list,
            shown=arguments.shown,
        )
    )


def new_docket(folder: Path) -> Docket:
    """The docket in a folder, with what is kept of it in the cache folder; nothing is read yet."""
    return Docket(folder, cache_folder() / "dockets")


def read_docket(folder: Path) -> Docket:
    """The docket in a folder as it stands; raises ClaimsError or DocketError."""
    docket = new_docket(folder)
    tell = progress_line()
    docket.refresh(lambda done, total: tell("Reading sessions", done, total))
    return docket


def placed_claim(docket: Docket, claim: str) -> Placed:
    """One claim of a docket by its id; raises DocketError where it is not listed."""
    placed = docket.find(claim)
    if placed is None:
        raise DocketError(
            f'There is no claim "{sanitize(claim)}" in {docket.folder.claims_file}; '
            "name one that it lists."
        )
    return placed


@dataclass(frozen=True)
class DocketOrder:
    """What was asked for; ``shown`` is whether claims are not hidden before they are looked at."""

    folder: Path
    reviewer: str | None = None
    keymap: str | None = None
    picture: str = "auto"
    as_list: bool = False
    shown: bool = False


def show_docket(order: DocketOrder) -> int:
    """Show the docket, as text where that is asked for or there is no terminal."""
    reviewer = reviewer_code(order.reviewer)
    folder = DocketFolder(order.folder)
    folder.session("claim", reviewer)  # refused here, not at the first claim that is opened
    sight = Sight(reviewer, folder, order.shown)
    if order.as_list or not (sys.stdin.isatty() and sys.stdout.isatty()):
        say(listing(read_docket(order.folder), sight))
        return RULED
    start.check_terminal()
    return _show(sight, order)


def listing(docket: Docket, sight: Sight) -> str:
    """The docket as text, with what it hides and the sessions that do not belong to it."""
    rows = docket_rows(docket.placed, sight)
    lines = [docket_text(rows)]
    if any(HIDDEN in row.cells for row in rows):
        hidden = f"hidden from {sanitize(sight.reviewer)} until their review is finished"
        lines.append(f"{HIDDEN} {hidden}; {ORDER_WORDS}.\n")
    for claim in sorted({review.claim for review in docket.strays}):
        lines.append(f"Sessions of {sanitize(claim)} are not of any claim in the claims file.\n")
    return "".join(lines)


def _show(sight: Sight, order: DocketOrder) -> int:
    """Show what is known already; the screen reads the sessions that have changed."""
    with loading():
        from keymaps.keymap import load_keymap
        from tui.picture.choice import choose, wish_of
        from tui.picture.terminal import probe

        keymap, wished = load_keymap(order.keymap), wish_of(order.picture)
        docket = new_docket(order.folder)
        docket.survey()
        if docket.due:
            prepare()
        with probe() as terminal:
            from tui.app import FramecallApp
            from tui.docket.opening import Cases
            from tui.docket.screen import DocketScreen

            cases = Cases(docket, sight, keymap, choose(terminal(), wished))
    app = FramecallApp(keymap, lambda: DocketScreen(docket, sight, cases, keymap))
    try:
        app.run()
    finally:
        docket.save()
    return app.return_code or RULED
