"""``framecall rule`` and ``framecall schema``: what a session file says, and how it is written."""

import argparse
import json
import sys
from pathlib import Path

from sessions.record.recording import read_session, session_schema
from sessions.record.session import fold
from sessions.ruling.judge import rule
from sessions.ruling.report import report
from tui.cli.output import OPEN, RULED, say


def add_rule(parser: argparse.ArgumentParser) -> None:
    """Take what ``framecall rule`` takes."""
    parser.description = (
        "Print the ruling of a session, with every finding, its frames and what would have been "
        "right. The footage is not needed."
    )
    parser.add_argument("session", type=Path, metavar="SESSION", help="a session file")
    parser.add_argument("--json", action="store_true", help="as JSON, with every checkpoint")


def run_rule(arguments: argparse.Namespace) -> int:
    """Print the ruling; the exit code says whether it is made."""
    recording = read_session(arguments.session)
    if recording.damage:
        print(f"{arguments.session}: {recording.damage}", file=sys.stderr)
    ruling = rule(fold(recording.header, recording.lines))
    as_json = arguments.json
    say(f"{ruling.model_dump_json(indent=2, ensure_ascii=True)}\n" if as_json else report(ruling))
    return RULED if ruling.made else OPEN


def add_schema(parser: argparse.ArgumentParser) -> None:
    """Take what ``framecall schema`` takes."""
    parser.description = (
        "Print the JSON Schema of the session file: of its first line and of the others."
    )


def run_schema(_: argparse.Namespace) -> int:
    """Print the schema."""
    say(json.dumps(session_schema(), indent=2) + "\n")
    return RULED
