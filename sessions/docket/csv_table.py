"""A list of a docket as CSV: its columns, and reading it with every bad cell named.

UTF-8 with or without a byte order mark; comma or semicolon between the cells; columns in any order
and in upper or lower case; further columns are left aside. Every text is kept as it is: whoever
shows it makes it safe to show.
"""

import csv
import io
import re
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from sessions.csv_safe import unguarded
from sessions.errors import FramecallError
from sessions.exact import micros
from sessions.plural import nouns, plural
from sessions.sanitize import sanitize
from sessions.small_file import read_small

NAMED_PROBLEMS = 20
"""Problems that a message names before it only counts the rest."""
LONGEST_CODE = 80
"""Characters in a code, as in a session file."""
_EXCERPT = 40
_SECONDS = re.compile(r"[0-9]{1,4}([.,][0-9]{1,6})?")
_DAY = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")

Row = tuple[int, dict[str, str]]
"""The line on which a row begins, counted from 1, and its cells by column."""


@dataclass(frozen=True, slots=True)
class Column:
    """One column; ``problem`` says what is wrong with a cell, or nothing where it holds.

    ``may_lack`` is whether the list may be without this column.
    """

    name: str
    meaning: str
    example: str
    problem: Callable[[str], str]
    may_be_empty: bool = False
    may_lack: bool = False


@dataclass(frozen=True, slots=True)
class Problem:
    """What is wrong in one cell of a list; lines count from 1."""

    line: int
    column: str
    what: str

    def __str__(self) -> str:
        return f"line {self.line}, column {self.column}: {self.what}"


class ListError(FramecallError):
    """A list of a docket cannot be used; ``problems`` names every bad cell."""

    def __init__(self, message: str, problems: Sequence[Problem] = ()) -> None:
        super().__init__(message)
        self.problems = tuple(problems)


@dataclass(frozen=True)
class ListFile:
    """A list at a path, called by ``name`` in messages; what is wrong is raised as an ``error``."""

    name: str
    path: Path
    columns: tuple[Column, ...]
    error: type[ListError]

    def read(self) -> bytes:
        """The bytes of the file."""
        try:
            return read_small(self.path)
        except OSError as error:
            raise self.error(
                f"The {self} cannot be read ({error.strerror}); check its path."
            ) from None

    def rows(
        self, data: bytes, further: Callable[[list[Row]], Iterable[Problem]] = lambda rows: ()
    ) -> list[Row]:
        """The rows of a file's bytes that hold anything, with every column.

        ``further`` finds what is wrong with them beside single cells. Raises the error that names
        every problem.
        """
        text = self._decoded(data)
        read = list(self._lines(text, self._delimiter(text)))
        names = [cell.strip().lower() for cell in read[0][1]] if read else []
        self._check_names(names)
        rows = [(line, self._cells(names, cells)) for line, cells in read[1:]]
        wrong = [*_surplus(len(names), read[1:]), *self._wrong(rows), *further(rows)]
        if wrong:
            wrong.sort(key=lambda problem: problem.line)
            raise self.error(self._sentence(wrong), wrong)
        return rows

    def __str__(self) -> str:
        return f"{self.name} {self.path}"

    @property
    def _names(self) -> tuple[str, ...]:
        return tuple(column.name for column in self.columns)

    def _decoded(self, data: bytes) -> str:
        try:
            return data.decode("utf-8-sig")
        except UnicodeDecodeError as error:
            line = error.object.count(b"\n", 0, error.start) + 1  # without the byte order mark
            raise self.error(
                f'The {self} is not UTF-8 text at line {line}; save it again as "CSV UTF-8".'
            ) from None

    def _delimiter(self, text: str) -> str:
        """The delimiter by which the first line names most columns; a comma where equal."""
        first = re.split(r"[\r\n]", text.lstrip("\r\n"), maxsplit=1)[0]

        def known(delimiter: str) -> int:
            return sum(cell.strip(' "').lower() in self._names for cell in first.split(delimiter))

        return max(",;", key=known)

    def _lines(self, text: str, delimiter: str) -> Iterator[tuple[int, list[str]]]:
        """Rows that hold anything, each with the line on which it begins."""
        reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True)
        begins = 1
        try:
            for row in reader:
                if any(cell.strip() for cell in row):
                    yield begins, row
                begins = reader.line_num + 1
        except csv.Error as error:
            raise self.error(
                f"The {self} is not CSV at line {begins} ({error}); "
                "close every quotation mark that is opened there."
            ) from None

    def _check_names(self, names: Sequence[str]) -> None:
        needed = [column.name for column in self.columns if not column.may_lack]
        lacking = [name for name in needed if name not in names]
        twice = [name for name in self._names if names.count(name) > 1]
        if lacking:
            what = f"lacks {_columns(lacking)}"
        elif twice:
            what = f"has {_columns(twice)} twice"
        else:
            return
        raise self.error(
            f"The {self} {what} in its first line; it must name each of {', '.join(needed)} once."
        )

    def _cells(self, names: Sequence[str], row: Sequence[str]) -> dict[str, str]:
        """Cells by column, those that the row lacks as empty text; further columns left out."""
        cells = dict.fromkeys(self._names, "")
        given = ((name, unguarded(c.strip(" "))) for name, c in zip(names, row, strict=False))
        cells.update((name, cell) for name, cell in given if name in cells)
        return cells

    def _wrong(self, rows: Iterable[Row]) -> Iterator[Problem]:
        for line, cells in rows:
            for column in self.columns:
                what = _wrong_in(column, cells[column.name])
                if what:
                    yield Problem(line, column.name, what)

    def _sentence(self, problems: Sequence[Problem]) -> str:
        named = "; ".join(str(problem) for problem in problems[:NAMED_PROBLEMS])
        rest = len(problems) - NAMED_PROBLEMS
        more = f"; and {rest} more" if rest > 0 else ""
        lines = len({problem.line for problem in problems})
        where = "" if lines == 1 else f" in {plural(lines, 'line')}"
        return f"The {self} does not hold{where}: {named}{more}; mend and read it again."


def excerpt(cell: str) -> str:
    """The beginning of a cell, safe to show in a message."""
    return sanitize(cell[:_EXCERPT])


def _wrong_in(column: Column, cell: str) -> str:
    if not cell:
        return "" if column.may_be_empty else "it is empty, fill it in"
    what = column.problem(cell)
    return f'"{excerpt(cell)}" {what}' if what else ""


def _surplus(width: int, rows: Iterable[tuple[int, list[str]]]) -> Iterator[Problem]:
    """Rows with cells beyond the named columns: most often a comma that is not in quotes."""
    for line, row in rows:
        if any(cell.strip() for cell in row[width:]):
            what = "the first line names no such column, put cells that hold a comma in quotes"
            yield Problem(line, str(width + 1), what)


def _columns(names: Sequence[str]) -> str:
    *others, last = names
    listed = f"{', '.join(others)} and {last}" if others else last
    return f"the {nouns(len(names), 'column')} {listed}"


# -- what cells of several lists must hold


def any_text(text: str) -> str:
    """What is wrong with a text of any kind."""
    return "is longer than 80 characters, shorten it" if len(text) > LONGEST_CODE else ""


def seconds(text: str) -> str:
    """What is wrong with a time in seconds."""
    if not _SECONDS.fullmatch(text):
        return "is not a time in seconds, write it like 6.482"
    return "" if micros(text.replace(",", ".")) else "is no time, write seconds above 0"


def day(text: str) -> str:
    """What is wrong with a day."""
    try:
        is_day = bool(_DAY.fullmatch(text) and date.fromisoformat(text))
    except ValueError:
        is_day = False
    return "" if is_day else "is no day, write it like 2024-03-01"
