"""``framecall docket``: a season's claims, and the bench for each."""

import sys
from dataclasses import dataclass
from pathlib import Path

from sessions.docket.docket import Docket, DocketFolder
from sessions.docket.judge_many import prepare
from sessions.sanitize import sanitize
from tui.bench.opening import reviewer_code
from tui.cli.dockets import new_docket, read_docket
from tui.cli.exits import RULED
from tui.cli.loading import loading
from tui.cli.output import say
from tui.cli.review import check_terminal
from tui.docket.rows import HIDDEN, ORDER_WORDS, Sight, docket_rows, docket_text


@dataclass(frozen=True)
class Order:
    """What was asked for; ``shown`` is whether claims are not hidden before they are looked at."""

    folder: Path
    reviewer: str | None = None
    keymap: str | None = None
    picture: str = "auto"
    as_list: bool = False
    shown: bool = False


def run(order: Order) -> int:
    """Show the docket, as text where that is asked for or there is no terminal."""
    reviewer = reviewer_code(order.reviewer)
    folder = DocketFolder(order.folder)
    folder.session("claim", reviewer)  # refused here, not at the first claim that is opened
    sight = Sight(reviewer, folder, order.shown)
    if order.as_list or not (sys.stdin.isatty() and sys.stdout.isatty()):
        say(listing(read_docket(order.folder), sight))
        return RULED
    check_terminal()
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


def _show(sight: Sight, order: Order) -> int:
    """Show what is known already; the screen reads the sessions that have changed."""
    with loading():
        from keymaps.keymap import load_keymap
        from tui.picture.choice import choose, wish_of
        from tui.picture.probe import probe

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
