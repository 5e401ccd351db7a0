"""``framecall schema``: the JSON Schema of the session file."""

import json

from sessions.record.schema import session_schema
from tui.cli.exits import RULED
from tui.cli.output import say


def run() -> int:
    """Print the schema."""
    say(json.dumps(session_schema(), indent=2) + "\n")
    return RULED
