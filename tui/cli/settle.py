"""``framecall settle``: the differences of a claim's finished reviews, settled one by one."""

import argparse
from dataclasses import dataclass
from pathlib import Path

from sessions.docket.docket import Docket
from sessions.sanitize import sanitize
from tui.bench.opening import progress_line, reviewer_code
from tui.cli import start
from tui.cli.docket import add_folder, placed_claim, read_docket
from tui.cli.output import RULED, say
from tui.cli.start import loading
from tui.docket.opening import open_settling
from tui.settling.case import (
    Case,
    check_own_is_finished,
    check_same,
    find_case,
    outdated,
    set_aside,
)


def add_settle(parser: argparse.ArgumentParser) -> None:
    """Take what ``framecall settle`` takes."""
    parser.description = (
        "Step through the differences between the finished reviews of a claim: take one side, or "
        "look again, each time with a reason."
    )
    add_folder(parser)
    parser.add_argument("claim", metavar="CLAIM", help="the claim's id")
    parser.add_argument(
        "--anew",
        action="store_true",
        help="begin again where a review was changed since; what was settled is set aside and kept",
    )
    start.add_screen(parser, reviewer="the settling session")


def run_settle(arguments: argparse.Namespace) -> int:
    """Settle the differences of one claim; returns the exit code."""
    return settle(
        SettleOrder(
            folder=arguments.folder,
            claim=arguments.claim,
            reviewer=arguments.reviewer,
            keymap=arguments.keymap,
            picture=arguments.picture,
            anew=arguments.anew,
        )
    )


@dataclass(frozen=True)
class SettleOrder:
    """What was asked for; ``anew`` sets aside what was settled of reviews that were changed."""

    folder: Path
    claim: str
    reviewer: str | None = None
    keymap: str | None = None
    picture: str = "auto"
    anew: bool = False


def settle(order: SettleOrder) -> int:
    """Settle the differences of one claim; returns the exit code."""
    reviewer = reviewer_code(order.reviewer)
    docket = read_docket(order.folder)
    check_own_is_finished(docket.folder, order.claim, reviewer)
    case = case_of(docket, order.claim)
    path = docket.folder.session(order.claim, reviewer, settling=True)
    if not order.anew:
        check_same(path, case)
    start.check_terminal()
    if outdated(path, case):
        set_aside(path)
    return _show(order, case, path, reviewer)


def case_of(docket: Docket, claim: str) -> Case:
    """The reviews to settle of a claim; raises DocketError or NothingToSettle."""
    return find_case(docket.folder, placed_claim(docket, claim).state, docket.reviews_due)


def _show(order: SettleOrder, case: Case, path: Path, reviewer: str) -> int:
    with loading():
        from keymaps.keymap import load_keymap
        from tui.picture.choice import choose, wish_of
        from tui.picture.terminal import probe

        keymap, wished = load_keymap(order.keymap), wish_of(order.picture)
        with probe() as terminal:
            from tui.app import FramecallApp

            choice = choose(terminal(), wished)
    opened = open_settling(case, path, reviewer, keymap, choice, progress_line())
    app = FramecallApp(keymap, opened.screen)
    try:
        app.run()
    finally:
        ending = opened.close()
    say(f"Session saved: {sanitize(str(path))}\n{ending}\n")
    return app.return_code or RULED
