"""The columns of a claims file: what each means, and what a cell of it must hold."""

import re
from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache
from pathlib import PurePosixPath
from urllib.parse import quote

from sessions.exact import micros
from sessions.rules.events import event_names

LONGEST_CODE = 80
"""Characters in a code, as in a session file."""
LONGEST_NAME = 110
"""Bytes that one code may take in the name of a session file, which holds two of them."""
EVENT_FILE = ".toml"
"""How the path of an event file ends, in place of an event's name."""

_SECONDS = re.compile(r"[0-9]{1,4}([.,][0-9]{1,6})?")


@dataclass(frozen=True, slots=True)
class Column:
    """One column; ``problem`` says what is wrong with a cell, or nothing where it holds."""

    name: str
    meaning: str
    example: str
    problem: Callable[[str], str]
    may_be_empty: bool = False


def file_code(code: str) -> str:
    """A code as it stands in a file name: all but ASCII letters, digits, ``_`` and ``-`` encoded.

    Percent-encoding of the UTF-8 bytes, RFC 3986, 2.1; the full stop is encoded as well, because
    it divides the parts of the name.
    """
    return quote(code, safe="").replace(".", "%2E").replace("~", "%7E")


@lru_cache(maxsize=65536)
def _any_text(text: str) -> str:
    return "is longer than 80 characters, shorten it" if len(text) > LONGEST_CODE else ""


def _code(text: str) -> str:
    if len(text) <= LONGEST_CODE and len(file_code(text)) > LONGEST_NAME:
        return "is too long for a file name once encoded, use fewer or plainer characters"
    return _any_text(text)


def _event(text: str) -> str:
    names = _event_names()
    if text in names or text.endswith(EVENT_FILE):
        return _any_text(text)
    return f"is no event, take one of {', '.join(names)}, or the path of a {EVENT_FILE} file"


@lru_cache(maxsize=1)
def _event_names() -> tuple[str, ...]:
    return tuple(event_names())


def _time(text: str) -> str:
    if not _SECONDS.fullmatch(text):
        return "is not a time in seconds, write it like 6.482"
    return "" if micros(text.replace(",", ".")) else "is no time, write seconds above 0"


def _footage(text: str) -> str:
    path = PurePosixPath(text)
    if path.is_absolute() or ".." in path.parts:
        return "leads out of the docket, put the footage or a link to it inside and name that"
    return "holds a character that no path can, write the path anew" if "\0" in text else ""


COLUMNS = (
    Column("claim", "the claim's id, once in the file", "C-017", _code),
    Column("event", "the event's name, or the path of its .toml file", "cycle", _event),
    Column("division", "the class of age or kind that the record is kept for", "U10", _any_text),
    Column("competitor", "a code for the competitor, not a name", "S-204", _any_text),
    Column("time", "the claimed time in seconds, with point or comma", "6.482", _time),
    Column("record", "the standing record in seconds", "6.510", _time, may_be_empty=True),
    Column("footage", "the footage's path within the docket", "footage/C-017.mp4", _footage),
)
"""Every column of a claims file, in the order in which it is written."""
