"""Taking in a results list: its columns mapped to those of a claims file, its damage mended or
named, and its lines paired with footage.

A results list is any CSV or TSV with names in its first line. What a spreadsheet makes of a cell
(an event turned into a day, a time without its decimal mark) is common knowledge, with no source;
its numbers of days count from the end of 1899, as in the 1900 date system of ECMA-376, part 1,
18.17.4.1 (from memory).
"""

import csv
import io
import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from functools import cache
from pathlib import Path, PurePosixPath

from sessions.csv_safe import csv_text, unguarded
from sessions.docket.claims import COLUMNS, ListedClaim
from sessions.docket.csv_table import ListError, Problem, excerpt
from sessions.exact import micros
from sessions.rules.events import event_names
from sessions.small_file import read_small

NAMES = tuple(column.name for column in COLUMNS)
MAY_LACK = ("claim", "competitor", "record", "footage", "date")
"""Columns of a claim that a results list may be without."""
LONGEST_TIME = "600"
"""Seconds beyond which a time has most likely lost its decimal mark (from memory)."""
DAY_0 = date(1899, 12, 30)
"""Day 0 of a spreadsheet's numbers of days, as they run since March 1900."""
UNNAMED = "not named"
"""The competitor of a line that names none."""

_DELIMITERS = "\t;,"
_CLOCK = re.compile(r"(?:0?0:)?0?(\d):([0-5]\d)([.,]\d{1,6})?")


class ResultsError(ListError):
    """A results list cannot be taken in; ``problems`` names every bad cell."""


@dataclass(frozen=True, slots=True)
class Results:
    """A results list as it stands: the names of its columns, and its rows by line."""

    names: tuple[str, ...]
    rows: tuple[tuple[int, dict[str, str]], ...]

    def example(self, name: str) -> str:
        """The first cell of a column that holds anything."""
        return next((cells[name] for _, cells in self.rows if cells[name]), "")


@dataclass(frozen=True, slots=True)
class Origin:
    """Where a cell of a claim is from: a column of the results list, or the same for every line."""

    column: str = ""
    always: str = ""


Columns = Mapping[str, Origin]
"""The origin of each column of a claims file that a results list tells of."""


@dataclass(frozen=True, slots=True)
class Taken:
    """A line of a results list as a claim; ``mended`` says what of it was read otherwise."""

    line: int
    claim: ListedClaim
    mended: tuple[str, ...] = ()


def read_results(path: Path) -> Results:
    """Read a results list; raises ResultsError that names file, line and remedy."""
    try:
        text = read_small(path).decode("utf-8-sig")
    except OSError as error:
        raise ResultsError(
            f"The results list {path} cannot be read ({error.strerror}); check its path."
        ) from None
    except UnicodeDecodeError:
        raise ResultsError(
            f'The results list {path} is not UTF-8 text; save it again as "CSV UTF-8".'
        ) from None
    lines = _lines(text, path)
    if not lines:
        raise ResultsError(f"The results list {path} is empty; name another.")
    names = tuple(cell.strip() for cell in lines[0][1])
    twice = next((name for name in names if name and names.count(name) > 1), None)
    if twice is not None:
        raise ResultsError(
            f'The results list {path} names the column "{excerpt(twice)}" twice in its first '
            "line; give each column its own name."
        )
    rows = ((line, dict.fromkeys(names, "") | _row(names, cells)) for line, cells in lines[1:])
    return Results(tuple(name for name in names if name), tuple(rows))


def _lines(text: str, path: Path) -> list[tuple[int, list[str]]]:
    """The rows that hold anything, by the mark that parts most cells of the first line."""
    first = next(iter(text.lstrip("\r\n").splitlines()), "")
    delimiter = max(_DELIMITERS, key=first.count)
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True)
    found, begins = [], 1
    try:
        for row in reader:
            if any(cell.strip() for cell in row):
                found.append((begins, row))
            begins = reader.line_num + 1
    except csv.Error as error:
        raise ResultsError(
            f"The results list {path} is not CSV at line {begins} ({error}); "
            "close every quotation mark that is opened there."
        ) from None
    return found


def _row(names: Sequence[str], cells: Sequence[str]) -> dict[str, str]:
    return {n: unguarded(c.strip()) for n, c in zip(names, cells, strict=False) if n}


def guess(results: Results) -> dict[str, Origin]:
    """The columns of a results list that have the very name of a claim's column."""
    known = {name.casefold(): name for name in results.names}
    return {name: Origin(column=known[name]) for name in NAMES if name in known}


def lacking(columns: Columns) -> tuple[str, ...]:
    """The columns of a claim that must come from somewhere and do not yet."""
    return tuple(name for name in NAMES if name not in columns and name not in MAY_LACK)


def take(results: Results, columns: Columns, path: Path) -> tuple[Taken, ...]:
    """The lines of a results list as claims; what cannot be read is named.

    Footage and the claim's id are empty where the list does not tell them, and the competitor is
    ``UNNAMED``. Raises ResultsError that names every bad cell.
    """
    unknown = [o.column for o in columns.values() if o.column and o.column not in results.names]
    if unknown:
        raise ResultsError(
            f'The results list {path} has no column "{excerpt(unknown[0])}"; it has '
            f"{', '.join(map(excerpt, results.names))}."
        )
    taken, problems = [], []
    for line, cells in results.rows:
        told = {n: cells[o.column] if o.column else o.always for n, o in columns.items()}
        mended, said = _mended(told)
        wrong = [Problem(line, name, what) for name, what in _wrong(mended)]
        problems += wrong
        if not wrong:
            filled = {name: mended.get(name, "") for name in NAMES}
            filled["competitor"] = filled["competitor"] or UNNAMED
            taken.append(Taken(line, ListedClaim(**filled), tuple(said)))
    if problems:
        named = "; ".join(str(problem) for problem in problems[:20])
        more = f"; and {len(problems) - 20} more" if len(problems) > 20 else ""
        raise ResultsError(
            f"The results list {path} does not hold: {named}{more}; mend it, and take it in again.",
            problems,
        )
    return tuple(taken)


def _wrong(cells: Mapping[str, str]) -> Iterator[tuple[str, str]]:
    for column in COLUMNS:
        cell = cells.get(column.name, "")
        if not cell and column.name in MAY_LACK:
            continue
        what = column.problem(cell) if cell else "it is empty, fill it in"
        if cell and not what and column.name == "time" and micros(cell) > micros(LONGEST_TIME):
            what = "is more than ten minutes, most likely it lost its decimal mark; write it again"
        if what:
            yield column.name, f'"{excerpt(cell)}" {what}' if cell else what


# -- what a spreadsheet made of it


def _mended(cells: Mapping[str, str]) -> tuple[dict[str, str], list[str]]:
    """The cells as they were meant, and a sentence on each that read otherwise."""
    mended, said = dict(cells), []
    for name, mend in (("event", _event), ("time", _time), ("record", _time), ("date", _day)):
        cell = mended.get(name, "")
        found = mend(cell) if cell else None
        if found is not None and found != cell:
            mended[name] = found
            if name == "event" or ":" in cell:
                said.append(f'{name} "{excerpt(cell)}" is read as {found}')
    return mended, said


def _event(cell: str) -> str | None:
    """An event by its name in any case, or by the day that a spreadsheet made of it."""
    names = {name.casefold(): name for name in event_names()}
    plain = re.sub(r"\s*[-\u2010-\u2015\u2212]\s*", "-", cell.casefold())
    if plain in names:
        return names[plain]
    day = _as_day(cell)
    return None if day is None else _events_as_days().get(day)


@cache
def _events_as_days() -> dict[date, str]:
    """The days that a spreadsheet takes the events' names for, whatever order it reads them in."""
    days = {}
    for name in event_names():
        parts = re.fullmatch(r"(\d{1,2})-(\d{1,2})-(\d{1,2})", name)
        if parts is None:
            continue
        one, two, three = map(int, parts.groups())
        for year, month, day in ((three, two, one), (three, one, two), (one, two, three)):
            days[date(2000 + year, month, day)] = name
    return days


def _as_day(cell: str) -> date | None:
    """The day that a cell shows, in any of the usual ways or as a spreadsheet's number."""
    if re.fullmatch(r"\d{5}", cell):
        return DAY_0 + timedelta(days=int(cell))
    months = ["jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec"]
    named = re.fullmatch(r"(\d{1,2})[-. ]+([a-z]{3})[a-z]*[-. ]+(\d{2}|\d{4})", cell.casefold())
    if named is not None and named[2] in months:
        return _valid(int(named[3]), months.index(named[2]) + 1, int(named[1]))
    parts = re.fullmatch(r"(\d{1,4})[-./](\d{1,2})[-./](\d{1,4})(?:[ T]00:00(?::00)?)?", cell)
    if parts is None:
        return None
    one, two, three = map(int, parts.groups())
    if len(parts[1]) == 4:
        return _valid(one, two, three)
    return _valid(three, two, one) or _valid(three, one, two)


def _valid(year: int, month: int, day: int) -> date | None:
    try:
        return date(year + 2000 if year < 100 else year, month, day)
    except ValueError:
        return None


def _time(cell: str) -> str | None:
    """Seconds with a decimal point, also from minutes and seconds with a colon."""
    cell = re.sub(r"\s*(s|sec|seconds)$", "", cell.casefold())
    found = _CLOCK.fullmatch(cell)
    if found is None:
        return cell.replace(",", ".")
    return f"{60 * int(found[1]) + int(found[2])}{(found[3] or '').replace(',', '.')}"


def _day(cell: str) -> str | None:
    """A day in the order of ISO 8601, from one in which the year is told in four digits."""
    told = re.search(r"\d{4}", cell)
    day = _as_day(cell) if told else None
    return None if day is None else day.isoformat()


# -- footage


def pair(taken: Iterable[Taken], footage: Sequence[str]) -> dict[int, str]:
    """The footage of each line that names none, by line, where names leave one choice.

    A file is a line's where its name holds the claim's id, or else the competitor's code, as a
    word of its own; of several, the one that holds the event or the time too.
    """
    found = {}
    for one in taken:
        claim = one.claim
        if claim.footage:
            continue
        for code in (claim.claim, claim.competitor):
            held = [path for path in footage if code != UNNAMED and _holds(path, code)]
            if len(held) > 1:
                told = (claim.event, claim.time)
                held = [path for path in held if any(_holds(path, t) for t in told)] or held
            if len(held) == 1:
                found[one.line] = held[0]
                break
    return found


def _holds(path: str, code: str) -> bool:
    """Whether a file's name holds a code as a word, in any case."""
    word = re.escape(code.casefold())
    stem = PurePosixPath(path).stem.casefold()
    return bool(code) and re.search(rf"(?<![a-z0-9]){word}(?![a-z0-9])", stem) is not None


# -- the claims file


def numbered(taken: Iterable[Taken], known: Iterable[str]) -> tuple[Taken, ...]:
    """The lines with an id for each claim that has none, which no other claim has."""
    lines = list(taken)
    used = {claim.casefold() for claim in (*known, *(one.claim.claim for one in lines))}
    free = (f"C-{number:03}" for number in range(1, 1_000_000))
    fresh = (claim for claim in free if claim.casefold() not in used)
    return tuple(
        one if one.claim.claim else replace(one, claim=replace(one.claim, claim=next(fresh)))
        for one in lines
    )


@dataclass(frozen=True, slots=True)
class Intake:
    """Lines of a results list beside the claims of a docket.

    ``new`` are to be added; ``known`` are in the docket word for word, ``other`` under the same id
    with other words, and ``without`` have no footage yet: none of those is written.
    """

    new: tuple[Taken, ...]
    known: tuple[Taken, ...]
    other: tuple[Taken, ...]
    without: tuple[Taken, ...]


def sort(taken: Iterable[Taken], claims: Iterable[ListedClaim]) -> Intake:
    """Tell the new lines from those that the docket has."""
    by_id = {claim.claim.casefold(): claim for claim in claims}
    same = {_key(claim) for claim in by_id.values()}
    parts: dict[str, list[Taken]] = {"new": [], "known": [], "other": [], "without": []}
    for one in taken:
        listed = by_id.get(one.claim.claim.casefold())
        if _key(one.claim) in same and (listed is None or _key(listed) == _key(one.claim)):
            parts["known"].append(one)
        elif listed is not None:
            parts["other"].append(one)
        else:
            parts["new" if one.claim.footage else "without"].append(one)
    return Intake(**{name: tuple(lines) for name, lines in parts.items()})


def _key(claim: ListedClaim) -> tuple[str, ...]:
    """What makes two lines the same claim, whatever their ids."""
    return claim.event, claim.division, claim.competitor, claim.time, claim.date


def appended(existing: bytes, claims: Iterable[ListedClaim]) -> bytes:
    """The bytes of a claims file with further lines, in its own columns and with its own mark
    between cells; what it holds already stays to the byte.
    """
    text = existing.decode("utf-8-sig")
    first = next((line for line in text.splitlines() if line.strip()), "")
    delimiter = max(",;", key=first.count)
    names = [name.strip().lower() for name in next(csv.reader([first], delimiter=delimiter))]
    rows = [[_cell(claim, name, delimiter) for name in names] for claim in claims]
    gap = b"" if existing.endswith((b"\n", b"\r")) else b"\r\n"
    return existing + gap + csv_text(rows, delimiter).encode()


def _cell(claim: ListedClaim, name: str, delimiter: str) -> str:
    text = str(getattr(claim, name)) if name in NAMES else ""
    return text.replace(".", ",") if name in ("time", "record") and delimiter == ";" else text
