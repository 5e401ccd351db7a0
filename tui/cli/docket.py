"""``framecall docket``: a season's claims, and the bench for each."""

import os
import sys
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from sessions.claims import ListedClaim
from sessions.docket import Docket, DocketError, DocketFolder
from sessions.docket_index import Progress
from sessions.journal import read_session
from sessions.plain import plain
from sessions.review import read_review
from sessions.role import role_of
from tui.cli.exits import RULED
from tui.cli.opening import Wish, open_desk, progress_line, reviewer_code
from tui.cli.output import say
from tui.cli.review import SMALL, check_terminal
from tui.footage.cachefolder import cache_folder
from tui.review.blind import begins_blind, claim_for, review_done
from tui.review.docket_rows import HIDDEN, ORDER_WORDS, Sight, docket_rows, docket_text

if TYPE_CHECKING:
    from keymaps.keymap import Keymap
    from tui.picture.choice import Choice
    from tui.review.desk import Desk
    from tui.screens.docket_case import OpenCase, Tell

TYPED = ".toml"
"""How the path of an event file ends, in place of an event's name."""


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
    docket = Docket(order.folder, cache_folder() / "dockets", role_of)
    if order.as_list or not (sys.stdin.isatty() and sys.stdout.isatty()):
        docket.refresh(_progress())
        say(listing(docket, sight))
        return RULED
    check_terminal()
    docket.refresh(_progress())
    return _show(docket, sight, order)


def listing(docket: Docket, sight: Sight) -> str:
    """The docket as text, with what it hides and the sessions that do not belong to it."""
    rows = docket_rows(docket.placed, sight)
    lines = [docket_text(rows)]
    if any(HIDDEN in row.cells for row in rows):
        hidden = f"hidden from {plain(sight.reviewer)} until their review is finished"
        lines.append(f"{HIDDEN} {hidden}; {ORDER_WORDS}.\n")
    for claim in sorted({review.claim for review in docket.strays}):
        lines.append(f"Sessions of {plain(claim)} are not of any claim in the claims file.\n")
    return "".join(lines)


def _progress() -> Progress:
    tell = progress_line()
    return lambda done, total: tell("Reading sessions", done, total)


def _show(docket: Docket, sight: Sight, order: Order) -> int:
    # numpy's threads would spin for a whole frame after each product of small matrices
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    from keymaps.keymap import load_keymap
    from tui.app import FramecallApp
    from tui.picture.choice import choose, wish_of
    from tui.picture.probe import probe
    from tui.screens.docket import DocketScreen

    keymap = load_keymap(order.keymap)
    cases = Cases(sight, keymap, choose(probe(), wish_of(order.picture)))
    FramecallApp(keymap, lambda: DocketScreen(docket, sight, cases, keymap)).run()
    return RULED


@dataclass(frozen=True)
class Cases:
    """Opens claims for a reviewer, and makes the bench for them."""

    sight: Sight
    keymap: "Keymap"
    choice: "Choice"

    def __call__(self, claim: ListedClaim, tell: "Tell") -> "OpenCase":
        """Open a claim's footage and this reviewer's session on it, begun if it is new.

        Raises FramecallError where the footage is missing, or is not that of the session.
        """
        from tui.footage.footage import Footage
        from tui.footage.reader import FrameStore
        from tui.review.lens import Lens
        from tui.screens.bench import BenchScreen
        from tui.screens.docket_case import OpenCase
        from tui.widgets.pictures import DeltaPictures

        path = self.sight.folder.footage(claim)
        footage = Footage.open(path, progress=lambda *done: tell(_part(*done)))
        desk = open_desk(self._wish(claim, footage.sha256), footage)
        store = FrameStore(footage, SMALL)
        lens, pictures = Lens(footage.width, footage.height), DeltaPictures(self.choice)
        return OpenCase(
            bench=lambda: BenchScreen(desk, store, pictures, self.keymap, lens, listed=claim),
            close=lambda: _close(desk, store.close),
        )

    def _wish(self, claim: ListedClaim, footage_sha256: str) -> Wish:
        folder, reviewer = self.sight.folder, self.sight.reviewer
        footage, session = folder.footage(claim), folder.session(claim.claim, reviewer)
        if session.exists():
            self._check(claim, session, footage_sha256)
            return Wish(footage, session, reviewer=reviewer)
        _make_folder(folder.sessions)
        event = claim.event
        if event.endswith(TYPED):
            event = str(folder.path / event)
        case = claim_for(claim, shown=self.sight.shown)
        return Wish(footage, session, event, reviewer, case)

    def _check(self, claim: ListedClaim, session: Path, footage_sha256: str) -> None:
        """Raises DocketError where a session is of other footage, or was begun blind."""
        header = read_session(session).header
        if header.footage.sha256 != footage_sha256:
            raise DocketError(
                f"The footage {self.sight.folder.footage(claim)} is not the one that the session "
                f"{session} was begun on (SHA-256 {footage_sha256[:12]}..., not "
                f"{header.footage.sha256[:12]}...); put that footage back."
            )
        if self.sight.shown and begins_blind(header) and not self._is_done(claim, session):
            raise DocketError(
                f"The review of claim {claim.claim} by {self.sight.reviewer} was begun blind; "
                "finish it first, with the docket opened without --shown."
            )

    def _is_done(self, claim: ListedClaim, session: Path) -> bool:
        return review_done(read_review(session, claim.claim, self.sight.reviewer, role_of))


def _part(what: str, done: int, total: int) -> str:
    return f"Reading the footage: {what}, {100 * done // total if total else 0} %"


def _close(desk: "Desk", close_source: Callable[[], None]) -> str:
    """Close a case; what the session says now."""
    try:
        desk.flush_seen()
    finally:
        close_source()
        desk.journal.close()
    claim = desk.session.header.claim.id
    return f"Saved {plain(claim or '')}: {desk.ruling.summary}"


def _make_folder(folder: Path) -> None:
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise DocketError(
            f"The folder {folder} cannot be made ({error.strerror}); "
            "check who may write to the docket."
        ) from None
