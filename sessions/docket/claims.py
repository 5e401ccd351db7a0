"""The claims file of a docket: CSV from any results list, one claim a line."""

import os.path
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path, PurePosixPath
from urllib.parse import quote

from sessions.csv_safe import csv_text
from sessions.docket.csv_table import (
    Column,
    ListError,
    ListFile,
    Problem,
    Row,
    any_text,
    day,
    excerpt,
    seconds,
)
from sessions.exact import micros
from sessions.record.wholefile import write_whole
from sessions.rules.events import event_names

LONGEST_NAME = 110
"""Bytes that one code may take in the name of a session file, which holds two of them."""
EVENT_FILE = ".toml"
"""How the path of an event file ends, in place of an event's name."""


@dataclass(frozen=True, slots=True)
class ListedClaim:
    """One claim as listed; times in seconds as decimals, ``record`` empty where none stands.

    ``date`` is the day of the performance (ISO 8601), empty where the list does not tell it.
    """

    claim: str
    event: str
    division: str
    competitor: str
    time: str
    record: str
    footage: str
    date: str = ""

    @property
    def time_micros(self) -> int:
        """The claimed time in microseconds."""
        return micros(self.time)

    @property
    def record_micros(self) -> int | None:
        """The standing record in microseconds, if there is one."""
        return micros(self.record) if self.record else None


class ClaimsError(ListError):
    """A claims file cannot be used; ``problems`` lists every bad cell."""


def read_claims(path: Path) -> tuple[ListedClaim, ...]:
    """Read a claims file; raises ClaimsError that names file, lines, columns and remedy."""
    return parse_claims(_file(path).read(), path)


def parse_claims(data: bytes, path: Path) -> tuple[ListedClaim, ...]:
    """The claims in a file's bytes; event files are looked for in the folder of ``path``."""
    file = _file(path)
    rows = file.rows(data, lambda rows: [*_repeated(rows), *_no_events(rows, path.parent)])
    return tuple(ListedClaim(**_normal(cells)) for _, cells in rows)


def claims_csv(claims: Iterable[ListedClaim], note: str = "") -> str:
    """Claims as CSV with all columns, safe to open in a spreadsheet.

    A ``note`` stands beside each of them, in a further column, which is left aside in reading.
    """
    names = [column.name for column in COLUMNS]
    rows = [[getattr(claim, name) for name in names] for claim in claims]
    if not note:
        return csv_text([names, *rows])
    return csv_text([[*names, "note"], *([*row, note] for row in rows)])


def write_claims(path: Path, claims: Iterable[ListedClaim], note: str = "") -> None:
    """Write a claims file whole, as ``claims_csv`` has it; ClaimsError where the disk refuses."""
    try:
        write_whole(path, claims_csv(claims, note).encode("utf-8-sig"))
    except OSError as error:
        raise ClaimsError(
            f"The claims file {path} cannot be written ({error.strerror}); name another place."
        ) from None


def _file(path: Path) -> ListFile:
    return ListFile("claims file", path, COLUMNS, ClaimsError)


def _no_events(rows: Sequence[Row], folder: Path) -> Iterator[Problem]:
    """Event files that are not there, each named where it comes first."""
    first: dict[str, int] = {}
    for line, cells in rows:
        first.setdefault(cells["event"], line)
    for event, line in first.items():
        if event.endswith(EVENT_FILE) and not os.path.isfile(folder / event):
            what = f'"{excerpt(event)}" is not there, put that file into the docket'
            yield Problem(line, "event", what)


def _repeated(rows: Sequence[Row]) -> Iterator[Problem]:
    """Ids that come twice; upper and lower case are one, as they are on some file systems."""
    first: dict[str, int] = {}
    for line, cells in rows:
        claim = cells["claim"]
        earlier = first.setdefault(claim.casefold(), line)
        if claim and earlier != line:
            what = f'"{excerpt(claim)}" is on line {earlier} already, give it its own'
            yield Problem(line, "claim", what)


def _normal(cells: dict[str, str]) -> dict[str, str]:
    """The cells of a claim, times with a decimal point."""
    return cells | {name: cells[name].replace(",", ".") for name in ("time", "record")}


# -- its columns


def file_code(code: str) -> str:
    """A code as it stands in a file name: all but ASCII letters, digits, ``_`` and ``-`` encoded.

    Percent-encoding of the UTF-8 bytes, RFC 3986, 2.1; the full stop is encoded as well, because
    it divides the parts of the name.
    """
    return quote(code, safe="").replace(".", "%2E").replace("~", "%7E")


@lru_cache(maxsize=65536)
def _kept(text: str) -> str:
    return any_text(text)


def _code(text: str) -> str:
    if not _kept(text) and len(file_code(text)) > LONGEST_NAME:
        return "is too long for a file name once encoded, use fewer or plainer characters"
    return _kept(text)


def event_problem(text: str) -> str:
    """What is wrong with an event's name or the path of its file."""
    names = _event_names()
    if text in names:
        return ""
    if text.endswith(EVENT_FILE):
        return _inside(text) or _kept(text)
    return f"is no event, take one of {', '.join(names)}, or the path of a {EVENT_FILE} file"


@lru_cache(maxsize=1)
def _event_names() -> tuple[str, ...]:
    return tuple(event_names())


def _inside(text: str) -> str:
    path = PurePosixPath(text)
    if path.is_absolute() or ".." in path.parts:
        return "leads out of the docket, put the file or a link to it inside and name that"
    return "holds a character that no path can, write the path anew" if "\0" in text else ""


EVENT = Column("event", "the event's name, or the path of its .toml file", "cycle", event_problem)
DIVISION = Column(
    "division", "the class of age or kind that the record is kept for", "U10", _kept
)  # fmt: skip

COLUMNS = (
    Column("claim", "the claim's id, once in the file", "C-017", _code),
    EVENT,
    DIVISION,
    Column("competitor", "a code for the competitor, not a name", "S-204", _kept),
    Column("time", "the claimed time in seconds, with point or comma", "6.482", seconds),
    Column("record", "the standing record in seconds", "6.510", seconds, may_be_empty=True),
    Column("footage", "the footage's path within the docket", "footage/C-017.mp4", _inside),
    Column("date", "the day of the performance", "2024-03-01", day, True, may_lack=True),
)
"""Every column of a claims file, in the order in which it is written."""
