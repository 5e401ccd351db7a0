"""``framecall rule``: the ruling of a saved session."""

import sys
from pathlib import Path

from sessions.record.journal import read_session
from sessions.record.session import fold
from sessions.ruling.judge import rule
from sessions.ruling.report import report
from tui.cli.exits import OPEN, RULED
from tui.cli.output import say


def run(path: Path, as_json: bool) -> int:
    """Print the ruling; the exit code says whether it is made."""
    recording = read_session(path)
    if recording.torn:
        print(
            f"{path}: a last line that was torn before it was acknowledged is left out.",
            file=sys.stderr,
        )
    ruling = rule(fold(recording.header, recording.lines))
    say(ruling.model_dump_json(indent=2) + "\n" if as_json else report(ruling))
    return RULED if ruling.made else OPEN
