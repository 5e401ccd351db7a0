"""``framecall review``: open footage on the bench."""

import os
import shutil
import sys

from sessions.errors import TerminalError
from sessions.plain import plain
from tui.cli.exits import RULED
from tui.cli.opening import Wish, open_desk, progress_line
from tui.cli.output import say

LEAST_COLUMNS, LEAST_ROWS = 80, 24

SMALL = (640, 360)
"""The size in pixels in which frames are kept for the bench: more than any cell grid shows."""


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
    check_terminal()
    # numpy's threads would spin for a whole frame after each product of small matrices
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    from keymaps.keymap import load_keymap
    from tui.app import FramecallApp
    from tui.footage.footage import Footage
    from tui.footage.reader import FrameStore
    from tui.picture.choice import choose, wish_of
    from tui.picture.probe import probe
    from tui.review.lens import Lens
    from tui.screens.bench import BenchScreen
    from tui.widgets.pictures import DeltaPictures

    keymap = load_keymap(keymap_name)
    pictures = DeltaPictures(choose(probe(), wish_of(picture)))
    footage = Footage.open(wish.footage, progress=progress_line())
    desk = open_desk(wish, footage)
    store = FrameStore(footage, SMALL)
    lens = Lens(footage.width, footage.height)
    try:
        app = FramecallApp(keymap, lambda: BenchScreen(desk, store, pictures, keymap, lens))
        app.run()
        desk.flush_seen()
    finally:
        store.close()
        desk.journal.close()
    path = plain(str(desk.journal.path))
    if desk.journal.recording.torn:
        say(f"A last entry, torn before it was acknowledged, was left out of {path}.\n")
    say(f"Session saved: {path}\n{desk.ruling.summary}\n")
    return RULED
