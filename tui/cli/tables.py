"""Tables of text in columns."""

from collections.abc import Sequence

from sessions.sanitize import sanitize

GAP = "  "


def table(rows: Sequence[Sequence[str]], left: int = 1) -> str:
    """Rows, the headings first; the ``left`` first columns to the left, the others to the right.

    Control and direction-changing characters are shown as code points.
    """
    safe = [[sanitize(cell) for cell in row] for row in rows]
    widths = [max(map(len, column)) for column in zip(*safe, strict=True)]
    return "".join(_line(row, widths, left) for row in safe)


def _line(row: Sequence[str], widths: Sequence[int], left: int) -> str:
    cells = [
        cell.ljust(width) if at < left else cell.rjust(width)
        for at, (cell, width) in enumerate(zip(row, widths, strict=True))
    ]
    return GAP.join(cells).rstrip() + "\n"
