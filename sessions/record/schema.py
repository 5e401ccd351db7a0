"""The JSON Schema (draft 2020-12) of the session file: its first line, and each line after it."""

from typing import Any

from pydantic.json_schema import models_json_schema

from sessions.record.entries import Line
from sessions.record.header import Header


def session_schema() -> dict[str, Any]:
    """A schema that any line of a session file meets; the header is its first."""
    references, definitions = models_json_schema(
        [(Header, "validation"), (Line, "validation")],
        ref_template="#/$defs/{model}",
    )
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "A line of a framecall session file (JSON Lines)",
        "oneOf": [references[(Header, "validation")], references[(Line, "validation")]],
        "$defs": definitions["$defs"],
    }
