"""``framecall demo``: build invented footage, and open a clip of it."""

import argparse
import sys
import termios
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import TextIO

from rich.console import Console
from rich.progress import BarColumn, Progress, TaskID, TextColumn, TimeElapsedColumn

from sessions.docket.blindness import claim_for
from sessions.docket.claims import ListedClaim
from sessions.record.header import Claim, Header
from sessions.record.journal import Journal
from tui.bench.opening import ReviewWish, new_header
from tui.cli import start
from tui.cli.output import RULED, say
from tui.cli.review import review
from tui.demo.build import build, named_scores, truth_path
from tui.demo.docket import build_docket
from tui.demo.score import FIRST, Score, scores
from tui.demo.tagging import true_entries
from tui.demo.truth import Truth
from tui.footage.cache import cache_folder
from tui.footage.footage import Footage


def add_demo(parser: argparse.ArgumentParser) -> None:
    """Take what ``framecall demo`` takes."""
    parser.description = (
        "Draw footage of an invented league, unless it is there already, and open a clip of it on "
        "the bench. Nobody in it is real."
    )
    parser.add_argument(
        "folder",
        nargs="?",
        type=Path,
        metavar="DIR",
        help="where to draw it (default: the user's cache folder)",
    )
    parser.add_argument("--list", action="store_true", help="list the clips and draw none")
    parser.add_argument("--clip", metavar="NAME", help="which clip to open (see --list)")
    parser.add_argument("--build", action="store_true", help="draw all clips and open none")
    parser.add_argument(
        "--tagged",
        action="store_true",
        help="open a session that is tagged already",
    )
    parser.add_argument(
        "--docket", action="store_true", help="draw a docket of claims, and open that"
    )
    start.add_screen(parser)


def run_demo(arguments: argparse.Namespace) -> int:
    """Draw what is asked for and open it; returns the exit code."""
    if arguments.list:
        return list_clips()
    if arguments.docket:
        from tui.cli import docket

        start.check_looks(arguments.keymap, arguments.picture)
        folder = make_docket(arguments.folder)
        asked = docket.DocketOrder(folder, keymap=arguments.keymap, picture=arguments.picture)
        return docket.show_docket(asked)
    order = DemoOrder(arguments.folder, arguments.clip, arguments.build, arguments.tagged)
    return open_clip(order, arguments.keymap, arguments.picture)


@dataclass(frozen=True)
class DemoOrder:
    """What was asked for: a folder, a clip to open, or all clips and none to open."""

    folder: Path | None
    clip: str | None
    build_all: bool
    tagged: bool


def list_clips() -> int:
    """Print every clip with what happens in it."""
    lines = (f"{name:<26} {score.event:<6} {score.title}" for name, score in scores().items())
    say("\n".join(lines) + "\n")
    return RULED


def open_clip(order: DemoOrder, keymap_name: str | None, picture: str = "auto") -> int:
    """Build, and unless all are built, open one; returns the exit code."""
    names = None if order.build_all else [order.clip or FIRST]
    named_scores(names)
    start.check_looks(keymap_name, picture)
    if not order.build_all:
        start.check_terminal()
    folder = order.folder or cache_folder() / "demo"
    clips = _build(folder, names)
    if order.tagged:
        for clip in clips:
            tag(clip)
    if order.build_all:
        print(f"{len(clips)} clips of an invented league are in {folder}")
        return RULED
    footage = Footage.open(clips[0])
    forget_typed()
    return review(_wish(clips[0], footage, order.tagged), keymap_name, picture)


def make_docket(folder: Path | None, scale: float = 1.0) -> Path:
    """Build the docket of the demo, unless it is there already; its folder."""
    place = folder or cache_folder() / "demo-docket"
    with _bar() as bar:
        build_docket(place, cache_folder() / "demo", _header, _teller(bar), scale=scale)
    forget_typed()
    return place


def forget_typed(terminal: TextIO | None = None) -> None:
    """Drop what was typed while clips were drawn; it can be of no frame, as none was to be seen."""
    stream = terminal or sys.stdin
    if stream.isatty():
        termios.tcflush(stream, termios.TCIFLUSH)


def _header(footage: Footage, claim: ListedClaim, reviewer: str) -> Header:
    case = claim_for(claim, shown=False)
    return new_header(ReviewWish(footage.path, None, claim.event, reviewer, case), footage)


def _build(folder: Path, names: list[str] | None) -> list[Path]:
    with _bar() as bar:
        return build(folder, names, _teller(bar))


def _bar() -> Progress:
    return Progress(
        TextColumn("{task.description}"),
        BarColumn(),
        TextColumn("{task.completed}/{task.total} frames"),
        TimeElapsedColumn(),
        console=Console(stderr=True),
        transient=True,
        disable=not sys.stderr.isatty(),
    )


def _teller(bar: Progress) -> Callable[[str, int, int], None]:
    tasks: dict[str, TaskID] = {}

    def tell(name: str, done: int, total: int) -> None:
        if name not in tasks:
            tasks[name] = bar.add_task(f"drawing {name}", total=total)
        bar.update(tasks[name], completed=done)

    return tell


def _score(clip: Path) -> Score:
    return scores()[clip.stem]


def _wish(clip: Path, footage: Footage, tagged: bool) -> ReviewWish:
    """A demo session is named after the footage's fingerprint: clips that are drawn anew, after a
    change of the program, begin a new one."""
    score = _score(clip)
    claim = Claim(id=f"invented-demo-{score.name}", competitor=score.competitor, time=score.claimed)
    part = f"{footage.sha256[:8]}{'.tagged' if tagged else ''}"
    session = clip.with_name(f"{clip.stem}.{part}.session.jsonl")
    return ReviewWish(footage=clip, session=session, event=score.event, claim=claim)


def tag(clip: Path) -> Path:
    """Write the session that the clip's truth asks for, if it is not there yet; its path."""
    footage = Footage.open(clip)
    wish = _wish(clip, footage, tagged=True)
    assert wish.session is not None
    if not wish.session.exists():
        truth = Truth.model_validate_json(truth_path(clip.parent, clip.stem).read_bytes())
        with Journal.create(wish.session, new_header(wish, footage)) as journal:
            for entry in true_entries(truth, footage.pts):
                journal.append(entry)
    return wish.session
