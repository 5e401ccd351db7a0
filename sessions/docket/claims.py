"""The claims file of a docket: CSV from any results list, one claim a line.

UTF-8 with or without a byte order mark; comma or semicolon between the cells; columns in any order
and in upper or lower case, as ``sessions.docket.claim_columns`` documents them; further columns
are left aside. Every text is kept as it is: whoever shows it makes it safe to show.
"""

import csv
import io
import os.path
import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from sessions.csv_safe import csv_text, unguarded
from sessions.docket.claim_columns import COLUMNS, EVENT_FILE, Column
from sessions.errors import FramecallError
from sessions.exact import micros
from sessions.plural import nouns, plural
from sessions.record.wholefile import write_whole
from sessions.sanitize import sanitize

NAMED_PROBLEMS = 20
"""Problems that a message names before it only counts the rest."""
_EXCERPT = 40
_NAMES = tuple(column.name for column in COLUMNS)

Row = tuple[int, dict[str, str]]
"""The line on which a row begins, and its cells by column."""


@dataclass(frozen=True, slots=True)
class ListedClaim:
    """One claim as listed; times in seconds as decimals, ``record`` empty where none stands."""

    claim: str
    event: str
    division: str
    competitor: str
    time: str
    record: str
    footage: str

    @property
    def time_micros(self) -> int:
        """The claimed time in microseconds."""
        return micros(self.time)

    @property
    def record_micros(self) -> int | None:
        """The standing record in microseconds, if there is one."""
        return micros(self.record) if self.record else None


@dataclass(frozen=True, slots=True)
class Problem:
    """What is wrong in one cell of a claims file; lines count from 1."""

    line: int
    column: str
    what: str

    def __str__(self) -> str:
        return f"line {self.line}, column {self.column}: {self.what}"


class ClaimsError(FramecallError):
    """A claims file cannot be used; ``problems`` lists every bad cell."""

    def __init__(self, message: str, problems: Sequence[Problem] = ()) -> None:
        super().__init__(message)
        self.problems = tuple(problems)


@dataclass(frozen=True, slots=True)
class Claims:
    """The claims of a file in its order, and the names of the columns that were left aside."""

    claims: tuple[ListedClaim, ...]
    left_aside: tuple[str, ...] = ()


def read_claims(path: Path) -> Claims:
    """Read a claims file; raises ClaimsError that names file, lines, columns and remedy."""
    try:
        data = path.read_bytes()
    except OSError as error:
        raise ClaimsError(
            f"The claims file {path} cannot be read ({error.strerror}); check its path."
        ) from None
    return parse_claims(data, path)


def parse_claims(data: bytes, path: Path) -> Claims:
    """The claims in a file's bytes; event files are looked for in the folder of ``path``."""
    text = _decoded(data, path)
    delimiter = _delimiter(text)
    rows = list(_rows(text, delimiter, path))
    names = [cell.strip().lower() for cell in rows[0][1]] if rows else []
    _check_names(names, path)
    cells = [(line, _cells(names, row)) for line, row in rows[1:]]
    problems = [*_surplus(len(names), rows[1:]), *_problems(cells), *_no_events(cells, path.parent)]
    problems.sort(key=lambda problem: problem.line)
    if problems:
        raise ClaimsError(_sentence(problems, path), problems)
    claims = tuple(ListedClaim(**_normal(row)) for _, row in cells)
    return Claims(claims, tuple(name for name in names if name and name not in _NAMES))


def claims_csv(claims: Iterable[ListedClaim], note: str = "") -> str:
    """Claims as CSV with all columns, safe to open in a spreadsheet.

    A ``note`` stands beside each of them, in a further column, which is left aside in reading.
    """
    rows = [[getattr(claim, name) for name in _NAMES] for claim in claims]
    if not note:
        return csv_text([_NAMES, *rows])
    return csv_text([[*_NAMES, "note"], *([*row, note] for row in rows)])


def write_claims(path: Path, claims: Iterable[ListedClaim], note: str = "") -> None:
    """Write a claims file whole, as ``claims_csv`` has it; ClaimsError where the disk refuses."""
    try:
        write_whole(path, claims_csv(claims, note).encode("utf-8-sig"))
    except OSError as error:
        raise ClaimsError(
            f"The claims file {path} cannot be written ({error.strerror}); name another place."
        ) from None


def _decoded(data: bytes, path: Path) -> str:
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = error.object.count(b"\n", 0, error.start) + 1  # without the byte order mark
        raise ClaimsError(
            f"The claims file {path} is not UTF-8 text at line {line}; "
            'save it again as "CSV UTF-8".'
        ) from None


def _delimiter(text: str) -> str:
    """The delimiter by which the first line names most of the columns; a comma where equal."""
    first = re.split(r"[\r\n]", text.lstrip("\r\n"), maxsplit=1)[0]

    def known(delimiter: str) -> int:
        return sum(cell.strip(' "').lower() in _NAMES for cell in first.split(delimiter))

    return max(",;", key=known)


def _rows(text: str, delimiter: str, path: Path) -> Iterator[tuple[int, list[str]]]:
    """Rows that hold anything, each with the line on which it begins."""
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True)
    begins = 1
    try:
        for row in reader:
            if any(cell.strip() for cell in row):
                yield begins, row
            begins = reader.line_num + 1
    except csv.Error as error:
        raise ClaimsError(
            f"The claims file {path} is not CSV at line {begins} ({error}); "
            "close every quotation mark that is opened there."
        ) from None


def _check_names(names: Sequence[str], path: Path) -> None:
    lacking = [name for name in _NAMES if name not in names]
    twice = [name for name in _NAMES if names.count(name) > 1]
    if lacking:
        what = f"lacks {_columns(lacking)}"
    elif twice:
        what = f"has {_columns(twice)} twice"
    else:
        return
    raise ClaimsError(
        f"The claims file {path} {what} in its first line; it must name each of "
        f"{', '.join(_NAMES)} once."
    )


def _columns(names: Sequence[str]) -> str:
    *others, last = names
    listed = f"{', '.join(others)} and {last}" if others else last
    return f"the {nouns(len(names), 'column')} {listed}"


def _cells(names: Sequence[str], row: Sequence[str]) -> dict[str, str]:
    """Cells by column, those that the row lacks as empty text."""
    cells = dict.fromkeys(_NAMES, "")
    cells.update((name, unguarded(c.strip(" "))) for name, c in zip(names, row, strict=False))
    return cells


def _surplus(width: int, rows: Iterable[tuple[int, list[str]]]) -> Iterator[Problem]:
    """Rows with cells beyond the named columns: most often a comma that is not in quotes."""
    for line, row in rows:
        if any(cell.strip() for cell in row[width:]):
            what = "the first line names no such column, put cells that hold a comma in quotes"
            yield Problem(line, str(width + 1), what)


def _problems(rows: Sequence[Row]) -> Iterator[Problem]:
    for line, cells in rows:
        for column in COLUMNS:
            what = _problem(column, cells[column.name])
            if what:
                yield Problem(line, column.name, what)
    yield from _repeated(rows)


def _problem(column: Column, cell: str) -> str:
    if not cell:
        return "" if column.may_be_empty else "it is empty, fill it in"
    what = column.problem(cell)
    return f'"{sanitize(cell[:_EXCERPT])}" {what}' if what else ""


def _no_events(rows: Sequence[Row], folder: Path) -> Iterator[Problem]:
    """Event files that are not there, each named where it comes first."""
    first: dict[str, int] = {}
    for line, cells in rows:
        first.setdefault(cells["event"], line)
    for event, line in first.items():
        if event.endswith(EVENT_FILE) and not os.path.isfile(folder / event):
            shown = sanitize(event[:_EXCERPT])
            yield Problem(line, "event", f'"{shown}" is not there, put that file into the docket')


def _repeated(rows: Sequence[Row]) -> Iterator[Problem]:
    """Ids that come twice; upper and lower case are one, as they are on some file systems."""
    first: dict[str, int] = {}
    for line, cells in rows:
        claim = cells["claim"]
        earlier = first.setdefault(claim.casefold(), line)
        if claim and earlier != line:
            shown = sanitize(claim[:_EXCERPT])
            yield Problem(line, "claim", f'"{shown}" is on line {earlier} already, give it its own')


def _normal(cells: dict[str, str]) -> dict[str, str]:
    """The columns of a claim, times with a decimal point."""
    texts = {name: cells[name] for name in _NAMES}
    return texts | {name: texts[name].replace(",", ".") for name in ("time", "record")}


def _sentence(problems: Sequence[Problem], path: Path) -> str:
    named = "; ".join(str(problem) for problem in problems[:NAMED_PROBLEMS])
    rest = len(problems) - NAMED_PROBLEMS
    more = f"; and {rest} more" if rest > 0 else ""
    lines = len({problem.line for problem in problems})
    where = "" if lines == 1 else f" in {plural(lines, 'line')}"
    return f"The claims file {path} does not hold{where}: {named}{more}; mend and read it again."
