"""Cells of CSV files that spreadsheets open: no text from outside may run there as a formula.

A spreadsheet takes a cell that begins with ``= + - @``, a tab or a carriage return as a formula or
a command. Such a cell is written with an apostrophe before it, which shows it as text, and is read
back without. So that every text comes back as it was, a cell in which only apostrophes stand
before such a character gains and loses one apostrophe too. Common practice, no source.
"""

import csv
import io
import re
from collections.abc import Iterable

_FORMULA = re.compile(r"'*[=+\-@\t\r]")
_GUARDED = re.compile(r"'+[=+\-@\t\r]")


def guarded(text: str) -> str:
    """A cell's text as it is written."""
    return f"'{text}" if _FORMULA.match(text) else text


def unguarded(text: str) -> str:
    """A cell's text as it was before it was written; the inverse of ``guarded``."""
    return text[1:] if _GUARDED.match(text) else text


def csv_text(rows: Iterable[Iterable[str]], delimiter: str = ",") -> str:
    """Rows as CSV with CRLF and, where no other delimiter is given, commas (RFC 4180), each cell
    guarded.
    """
    target = io.StringIO(newline="")
    writer = csv.writer(target, delimiter=delimiter)
    for row in rows:
        writer.writerow([guarded(cell) for cell in row])
    return target.getvalue()
