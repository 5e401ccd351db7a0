"""``framecall records``: the records that stand, and how each of them came about."""

import argparse
from collections.abc import Callable, Iterator
from datetime import datetime
from pathlib import Path
from typing import Any, Literal

from sessions.csv_safe import csv_text
from sessions.docket.docket import DocketFolder
from sessions.docket.records import Advance, Records
from sessions.errors import FramecallError
from sessions.exact import micros
from sessions.record.journal import utc_now
from sessions.record.wholefile import write_whole
from sessions.ruling.ruling import CAUTIONS
from sessions.sanitize import sanitize
from sessions.validation import Frozen
from tui.cli.docket import add_folder, read_docket
from tui.cli.output import RULED, say, table, takes_blocks
from tui.cli.register import caution_lines
from tui.documents.league import load_league
from tui.documents.records import chart_end, docket_records, records_page

FORMS = ("csv", "json", "html")

CHART_ROWS = 8
"""Rows of a chart in the terminal, without its axis."""
CHART_COLUMNS = 56
"""Columns of a chart in the terminal, without its labels."""
MICROS = 1_000_000
"""Microseconds in a second."""


class RecordsRefused(FramecallError):
    """The records cannot be written."""


class RecordRow(Frozen):
    """One step in the progress of a record; the time in seconds, as displayed.

    ``holder`` is a code, empty where it is not known and left out where codes are; ``day`` is of
    the performance, empty where it is not known; ``ruling`` is empty for a time of the league's
    list. ``before`` is the time that stood until then, empty for the first; an equal time shares
    the record. ``stands`` is whether the time is a record today.
    """

    event: str
    division: str
    time: str
    holder: str | None
    day: str
    ruling: str
    before: str
    stands: bool


class RecordList(Frozen):
    """All records as a file; ``as_of`` is the day (UTC) at which it was made."""

    format: Literal["framecall-records"] = "framecall-records"
    version: Literal[1] = 1
    as_of: str
    records: tuple[RecordRow, ...]
    cautions: tuple[str, ...] = CAUTIONS


def add_records(parser: argparse.ArgumentParser) -> None:
    """Take what ``framecall records`` takes."""
    parser.description = (
        "Print the records that stand, by the league's list (records.csv in the docket) and the "
        "issued rulings, and how each came about; or write them to a file."
    )
    add_folder(parser)
    form = parser.add_mutually_exclusive_group()
    for name, title in zip(FORMS, ("as CSV", "as JSON", "as one page to publish"), strict=True):
        form.add_argument(f"--{name}", dest="form", action="store_const", const=name, help=title)
    parser.add_argument("--anonymous", action="store_true", help="leave out the holders' codes")
    parser.add_argument(
        "--out", type=Path, metavar="FILE", help="write to this file: .csv, .json or .html"
    )


def run_records(arguments: argparse.Namespace) -> int:
    """Print the records or write them to a file; returns the exit code."""
    out: Path | None = arguments.out
    form = arguments.form if out is None else _form_of(out, arguments.form)
    docket = read_docket(arguments.folder)
    found, today = docket_records(docket), f"{utc_now():%Y-%m-%d}"
    if form == "html":
        words = records_page(found, _league(docket.folder), today, anonymous=arguments.anonymous)
    elif form is None:
        words = records_text(found, today, anonymous=arguments.anonymous, blocks=takes_blocks())
    else:
        listed = record_list(found, today, anonymous=arguments.anonymous)
        words = records_csv(listed) if form == "csv" else records_json(listed)
    if out is None:
        say(words)
    else:
        _write(out, words, "utf-8-sig" if form == "csv" else "utf-8")
        say(f"The records are in {sanitize(str(out))}.\n")
    return RULED


def _form_of(path: Path, form: str | None) -> str:
    """The form that a file's ending names; RecordsRefused for another than is asked for."""
    ending = path.suffix.lower().removeprefix(".")
    if ending not in FORMS or form not in (None, ending):
        wanted = f".{form}" if form else ".csv, .json or .html"
        raise RecordsRefused(f"The records cannot be {path}; name a file that ends in {wanted}.")
    return ending


def _write(path: Path, words: str, encoding: str) -> None:
    try:
        write_whole(path, words.encode(encoding))
    except OSError as error:
        raise RecordsRefused(
            f"The records {path} cannot be written ({error.strerror}); name another place."
        ) from None


def _league(folder: DocketFolder) -> str:
    """The league's name, empty where the docket has no file of the league's."""
    return load_league(folder.league_file).name if folder.league_file.exists() else ""


def record_list(found: Records, today: str, *, anonymous: bool = False) -> RecordList:
    """All steps of all records as a file has them."""
    steps = (one for _, steps in sorted(found.progress.items()) for one in steps)
    return RecordList(as_of=today, records=tuple(_row(one, anonymous) for one in steps))


def _row(advance: Advance, anonymous: bool) -> RecordRow:
    held = advance.held
    return RecordRow(
        event=held.event,
        division=held.division,
        time=held.time,
        holder=None if anonymous else held.holder,
        day=held.day,
        ruling=held.ruling,
        before=advance.before[0].time if advance.before else "",
        stands=advance.stands,
    )


def records_csv(listed: RecordList) -> str:
    """The records as CSV; hidden characters are shown as code points."""
    names = [n for n in RecordRow.model_fields if n != "holder" or _named(listed)]
    rows = ([_cell(getattr(row, name)) for name in names] for row in listed.records)
    return csv_text([names, *rows])


def records_json(listed: RecordList) -> str:
    """The records as JSON in ASCII, hidden characters as escapes."""
    return listed.model_dump_json(indent=2, exclude_none=True, ensure_ascii=True) + "\n"


def _named(listed: RecordList) -> bool:
    return any(row.holder is not None for row in listed.records)


def _cell(value: str | bool) -> str:
    return ("yes" if value else "no") if isinstance(value, bool) else sanitize(value)


# -- for people


HEADINGS = ("event", "division", "time", "holder", "day", "by")


def records_text(
    found: Records, today: str, *, anonymous: bool = False, blocks: bool = True
) -> str:
    """What stands as a table, then the progress of each record; ``blocks`` for a drawn line."""
    if not found.progress:
        return "No record is listed, and no issued ruling has made one.\n"
    standing = [_cells(one, anonymous) for one in _steps(found) if one.stands]
    progress = "".join(_progress(steps, today, anonymous, blocks) for steps in _each(found))
    return f"{table([HEADINGS, *standing], left=len(HEADINGS))}{progress}{caution_lines()}"


def _each(found: Records) -> Iterator[tuple[Advance, ...]]:
    yield from (steps for _, steps in sorted(found.progress.items()))


def _steps(found: Records) -> Iterator[Advance]:
    yield from (one for steps in _each(found) for one in steps)


def _cells(advance: Advance, anonymous: bool) -> tuple[str, ...]:
    held = advance.held
    who = "-" if anonymous else held.holder or "not known"
    day, by = held.day or "not known", held.ruling or "the list of records"
    return held.event, held.division, held.time, who, day, by


def _progress(steps: tuple[Advance, ...], today: str, anonymous: bool, blocks: bool) -> str:
    """How one record came about, where more than one time made it."""
    if len(steps) < 2:
        return ""
    event, division = steps[0].held.contest
    rows = [
        (*_cells(one, anonymous)[2:], "stands" if one.stands else "was beaten") for one in steps
    ]
    title = f"\n{sanitize(f'{event}, {division}: how the record came about')}\n"
    drawn = _chart(steps, today) if blocks else ""
    return f"{title}{table([(*HEADINGS[2:], 'today'), *rows], left=6)}{drawn}"


def _chart(steps: tuple[Advance, ...], today: str) -> str:
    """The record over the days, as a line; nothing where fewer than two times have a day."""
    dated = [one.held for one in steps if one.held.day and not one.equals]
    if len(dated) < 2:
        return ""
    from plotille import Figure  # here, because few commands draw a chart

    points = [(_day(held.day), micros(held.time) / MICROS) for held in dated]
    end = chart_end([day for day, _ in points], _day(today))
    days, times = [points[0][0]], [points[0][1]]
    for day, seconds in [*points[1:], (end, points[-1][1])]:
        days += [day, day]
        times += [times[-1], seconds]
    figure = Figure()
    figure.width, figure.height, figure.with_colors = CHART_COLUMNS, CHART_ROWS, False
    figure.x_label, figure.y_label = "day", "s"
    figure.register_label_formatter(datetime, _label("%Y-%m-%d"))
    figure.register_label_formatter(float, _label(".3f"))
    figure.set_x_limits(days[0], end)
    figure.plot(days, times)
    return f"{figure.show()}\n"


def _label(form: str) -> Callable[..., str]:
    """Labels of an axis, each as wide as the axis asks for."""

    def label(value: Any, chars: int, delta: object, left: bool = False) -> str:
        words = format(value, form)
        return words.ljust(chars) if left else words.rjust(chars)

    return label


def _day(day: str) -> datetime:
    return datetime.fromisoformat(day)
