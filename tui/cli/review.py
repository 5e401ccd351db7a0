"""``framecall review``: open footage on the bench."""

import shutil
import sys
from contextlib import ExitStack, closing
from typing import TYPE_CHECKING

from sessions.errors import TerminalError
from sessions.rules.events import load_event
from sessions.sanitize import sanitize
from tui.bench.opening import SMALL, Wish, open_review, progress_line
from tui.cli.exits import RULED
from tui.cli.loading import loading
from tui.cli.output import say

if TYPE_CHECKING:
    from tui.app import FramecallApp
    from tui.bench.review import Review

LEAST_COLUMNS, LEAST_ROWS = 80, 24


def check_terminal() -> None:
    """Raises TerminalError where the bench cannot be shown."""
    if not (sys.stdin.isatty() and sys.stdout.isatty()):
        raise TerminalError(
            "The bench needs a terminal, and there is none here; run it in one, or use "
            "`framecall rule SESSION` for a session that is tagged already."
        )
    columns, rows = shutil.get_terminal_size()
    if columns < LEAST_COLUMNS or rows < LEAST_ROWS:
        raise TerminalError(
            f"The terminal has {columns} columns and {rows} rows; the bench needs "
            f"{LEAST_COLUMNS} by {LEAST_ROWS}: make it larger, or its type smaller."
        )


def run(wish: Wish, keymap_name: str | None, picture: str = "auto") -> int:
    """Review one piece of footage, drawn as the terminal allows; returns the exit code."""
    try:
        check_terminal()
    except TerminalError:
        # what is amiss with these is said before the terminal
        _check_wish(wish, keymap_name, picture)
        raise
    with ExitStack() as opened:
        app, review = _open(wish, keymap_name, picture, opened)
        app.run()
        review.flush_seen()
    path = sanitize(str(review.journal.path))
    if review.journal.recording.torn:
        say(f"A last entry, torn before it was acknowledged, was left out of {path}.\n")
    say(f"Session saved: {path}\n{review.ruling.summary}\n")
    return app.return_code or RULED


def check_looks(keymap_name: str | None, picture: str) -> None:
    """Raises FramecallError where there are no such keys, or no such way of drawing pictures."""
    with loading():
        from keymaps.keymap import load_keymap
        from tui.picture.choice import wish_of

    load_keymap(keymap_name)
    wish_of(picture)


def _check_wish(wish: Wish, keymap_name: str | None, picture: str) -> None:
    """Raises FramecallError for what is amiss without the footage being opened."""
    from tui.footage.intake import check_file

    check_looks(keymap_name, picture)
    check_file(wish.footage)
    if wish.event is not None:
        load_event(wish.event)


def _open(
    wish: Wish, keymap_name: str | None, picture: str, opened: ExitStack
) -> tuple["FramecallApp", "Review"]:
    """The bench with its review; ``opened`` is given what is to be closed in the end.

    The terminal is asked when nothing is left to be refused, and answers while the screen's code
    is loaded.
    """
    with loading():
        from keymaps.keymap import load_keymap
        from tui.footage.footage import Footage
        from tui.footage.reader import FrameStore
        from tui.picture.choice import choose, wish_of
        from tui.picture.probe import probe

        keymap, wished = load_keymap(keymap_name), wish_of(picture)
        footage = Footage.open(wish.footage, progress=progress_line())
        review = open_review(wish, footage)
        opened.enter_context(review.journal)
        with probe() as terminal:
            from tui.app import FramecallApp
            from tui.bench.screen import BenchScreen
            from tui.picture.lens import Lens
            from tui.widgets.pictures import DeltaPictures

            pictures = DeltaPictures(choose(terminal(), wished))
    store = opened.enter_context(closing(FrameStore(footage, SMALL)))
    store.want(review.frame)  # decoded while the screen is made
    lens = Lens(footage.width, footage.height, footage.pixel_aspect)
    return FramecallApp(keymap, lambda: BenchScreen(review, store, pictures, keymap, lens)), review
