"""``framecall review``: open footage on the bench."""

import argparse
import sys
from contextlib import ExitStack, closing
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from pydantic import ValidationError

from sessions.errors import SessionError, TerminalError
from sessions.record.header import Claim
from sessions.rules.events import EVENT_CHOICE, load_event
from sessions.sanitize import sanitize
from sessions.validation import first_problem
from tui.bench.opening import SMALL, UNREAD, ReviewWish, open_footage, open_review, progress_line
from tui.cli import start
from tui.cli.output import BAD_INPUT, RULED, say
from tui.cli.start import add_counting, loading

if TYPE_CHECKING:
    from tui.app import FramecallApp
    from tui.bench.review import Review


def add_review(parser: argparse.ArgumentParser) -> None:
    """Take what ``framecall review`` takes."""
    parser.description = (
        "Open footage on the bench. Its session is begun, or opened where you left it."
    )
    parser.add_argument("footage", type=Path, metavar="FOOTAGE", help="a video file")
    parser.add_argument(
        "--event",
        metavar="NAME",
        help=f"{EVENT_CHOICE}; only a new session needs it",
    )
    parser.add_argument(
        "--session",
        type=Path,
        metavar="FILE",
        help="the session file (default: FOOTAGE.session.jsonl, beside the footage)",
    )
    parser.add_argument("--claim", metavar="ID", help="the claim's id")
    parser.add_argument("--competitor", metavar="CODE", help="the competitor's code, not a name")
    parser.add_argument(
        "--claimed-time", metavar="SECONDS", help="the claimed time in seconds, such as 6.482"
    )
    parser.add_argument(
        "--track", type=int, metavar="N", help="the picture track, from 1, where there are several"
    )
    add_counting(parser)
    start.add_screen(parser, reviewer="the session")


def run_review(arguments: argparse.Namespace) -> int:
    """Review one piece of footage; returns the exit code."""
    claim = claim_of(arguments.claim, arguments.competitor, arguments.claimed_time)
    wish = ReviewWish(
        arguments.footage, arguments.session, arguments.event, arguments.reviewer, claim
    )
    counted = {"scan": arguments.scan, "whole": arguments.whole}
    wish = replace(wish, track=arguments.track, **counted)
    return review(wish, arguments.keymap, arguments.picture)


def claim_of(claim_id: str | None, competitor: str | None, time: str | None) -> Claim:
    """A claim from its parts; raises SessionError where one cannot be taken."""
    try:
        return Claim(id=claim_id, competitor=competitor, time=time)
    except ValidationError as error:
        if error.errors()[0]["loc"] == ("time",):
            raise SessionError(
                f'The claimed time "{time}" is not a time in seconds such as 6.482; give up to '
                "four digits and six decimals, with a point: --claimed-time 6.482."
            ) from None
        raise SessionError(
            f"The claim cannot be taken: {first_problem(error)}; give a code."
        ) from None


def review(wish: ReviewWish, keymap_name: str | None, picture: str = "auto") -> int:
    """Review one piece of footage, drawn as the terminal allows; returns the exit code."""
    try:
        start.check_terminal()
    except TerminalError:
        # what is amiss with these is said before the terminal
        _check_wish(wish, keymap_name, picture)
        raise
    with ExitStack() as opened:
        app, opened_review = _open(wish, keymap_name, picture, opened)
        app.run()
        rescued = opened_review.rescue()
        opened_review.flush_seen()
    path = sanitize(str(opened_review.journal.path))
    if damage := opened_review.journal.recording.damage:
        say(f"{path}: {damage}\n")
    summary = opened_review.ruling.summary if not opened_review.waits else UNREAD
    say(f"Session saved: {path}\n{summary}\n")
    if rescued:
        print(f"The session file was lost while it was open. {sanitize(rescued)}", file=sys.stderr)
    return app.return_code or (BAD_INPUT if rescued else RULED)


def _check_wish(wish: ReviewWish, keymap_name: str | None, picture: str) -> None:
    """Raises FramecallError for what is amiss without the footage being opened."""
    from tui.footage.intake import check_file

    start.check_looks(keymap_name, picture)
    check_file(wish.footage)
    if wish.event is not None:
        load_event(wish.event)


def _open(
    wish: ReviewWish, keymap_name: str | None, picture: str, opened: ExitStack
) -> tuple["FramecallApp", "Review"]:
    """The bench with its review; ``opened`` is given what is to be closed in the end.

    The terminal is asked when nothing is left to be refused, and answers while the screen's code
    is loaded.
    """
    with loading():
        from keymaps.keymap import load_keymap
        from tui.footage.flaws import BackgroundPass
        from tui.footage.reader import FrameStore
        from tui.picture.choice import choose, wish_of
        from tui.picture.terminal import probe

        keymap, wished = load_keymap(keymap_name), wish_of(picture)
        footage = opened.enter_context(closing(open_footage(wish, progress_line())))
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
    opened.enter_context(closing(BackgroundPass(footage)))
    lens = Lens(footage.width, footage.height, footage.pixel_aspect)

    def bench() -> BenchScreen:
        return BenchScreen(review, store, pictures, keymap, lens, footage=footage)

    return FramecallApp(keymap, bench), review
