"""``framecall schema``: the JSON Schema of the session file."""

import json

from sessions.schema import session_schema
from tui.cli.exits import RULED


def run() -> int:
    """Print the schema."""
    print(json.dumps(session_schema(), indent=2))
    return RULED
