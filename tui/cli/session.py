"""``framecall rule`` and ``framecall schema``: what a session file says, and how it is written."""

import argparse
import json
import sys
from pathlib import Path

from sessions.evidence.frames import FrameSet
from sessions.record.recording import read_session, session_schema
from sessions.record.session import Session, fold
from sessions.ruling.judge import rule
from sessions.ruling.report import report
from tui.cli.output import OPEN, RULED, say
from tui.cli.start import loading


def add_rule(parser: argparse.ArgumentParser) -> None:
    """Take what ``framecall rule`` takes."""
    parser.description = (
        "Print the ruling of a session, with every finding, its frames and what would have been "
        "right. The footage is not needed; with it, damaged frames are told as well."
    )
    parser.add_argument("session", type=Path, metavar="SESSION", help="a session file")
    parser.add_argument("--json", action="store_true", help="as JSON, with every checkpoint")
    parser.add_argument(
        "--footage", type=Path, metavar="FILE", help="the footage: tell its damaged frames as well"
    )


def run_rule(arguments: argparse.Namespace) -> int:
    """Print the ruling; the exit code says whether it is made."""
    recording = read_session(arguments.session)
    if recording.damage:
        print(f"{arguments.session}: {recording.damage}", file=sys.stderr)
    session = fold(recording.header, recording.lines)
    damaged = _damaged(session, arguments.footage) if arguments.footage else None
    ruling = rule(session)
    if arguments.json:
        say(f"{ruling.model_dump_json(indent=2, ensure_ascii=True)}\n")
    else:
        say(report(ruling, damaged))
    return RULED if ruling.made else OPEN


def _damaged(session: Session, path: Path) -> FrameSet:
    """The damaged frames of a session's footage; every frame is decoded once for it."""
    with loading():
        from tui.bench.opening import progress_line
        from tui.documents.sources import check_same_footage
        from tui.footage.footage import Footage

    show = progress_line()
    footage = Footage.open(path, progress=show, track=session.header.footage.track)
    check_same_footage(session, footage)
    footage.check(lambda done, total: show("frames", done, total))
    return footage.damaged


def add_schema(parser: argparse.ArgumentParser) -> None:
    """Take what ``framecall schema`` takes."""
    parser.description = (
        "Print the JSON Schema of the session file: of its first line and of the others."
    )


def run_schema(_: argparse.Namespace) -> int:
    """Print the schema."""
    say(json.dumps(session_schema(), indent=2) + "\n")
    return RULED
