"""``framecall rule``: the ruling of a saved session."""

import sys
from pathlib import Path

from sessions.journal import read_session
from sessions.judge import rule
from sessions.report import report
from sessions.session import fold
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
