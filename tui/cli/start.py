"""Starting a screen: what its command takes, the terminal that it needs, its code loaded fast."""

import argparse
import gc
import os
import shutil
import sys
from collections.abc import Iterator
from contextlib import contextmanager

from sessions.errors import TerminalError

LEAST_COLUMNS, LEAST_ROWS = 80, 24

WAYS = ("auto", "blocks", "octants", "halves", "pixels")
"""How pictures can be drawn, as in ``tui.picture.choice``, which is slow to load."""


def add_keymap(parser: argparse.ArgumentParser) -> None:
    """Take the keys to use, as ``keymap``."""
    parser.add_argument(
        "--keymap",
        metavar="NAME",
        help="the keys: qwerty, azerty, qwertz, left, or a keymap file (.toml)",
    )


def add_screen(parser: argparse.ArgumentParser, reviewer: str | None = None) -> None:
    """Take what every screen takes: ``picture``, ``keymap``, and whose work it is.

    ``reviewer`` says where the reviewer's code is kept; without it there is none to name.
    """
    if reviewer is not None:
        parser.add_argument(
            "--reviewer",
            metavar="CODE",
            help=f"your code, kept in {reviewer} (default: the variable FRAMECALL_REVIEWER, or R1)",
        )
    parser.add_argument(
        "--picture",
        metavar="HOW",
        default="auto",
        help=f"how pictures are drawn: {', '.join(WAYS)} (default: auto, the best that the "
        "terminal says it can show)",
    )
    add_keymap(parser)


def check_terminal() -> None:
    """Raises TerminalError where no screen can be shown."""
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


def check_looks(keymap_name: str | None, picture: str) -> None:
    """Raises FramecallError where there are no such keys, or no such way of drawing pictures."""
    with loading():
        from keymaps.keymap import load_keymap
        from tui.picture.choice import wish_of

    load_keymap(keymap_name)
    wish_of(picture)


@contextmanager
def loading() -> Iterator[None]:
    """Import modules inside this: nothing is looked through for garbage while they are loaded.

    There is none in code, and looking takes a tenth of the time of loading it. What is loaded is
    left out of later searches as well.
    """
    # numpy's threads would spin for a whole frame after each product of small matrices
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    was_enabled = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        gc.freeze()
        if was_enabled:
            gc.enable()


def add_counting(parser: argparse.ArgumentParser) -> None:
    """Take how the frames of footage are counted."""
    parser.add_argument(
        "--scan",
        choices=("frames", "fields", "top", "bottom"),
        help="step by whole frames, by field as each picture says of itself, or by field with the "
        "top or the bottom one first (default: by field where the first pictures are of fields)",
    )
    parser.add_argument(
        "--whole", action="store_true", help="show, and number, also what an edit list hides"
    )
