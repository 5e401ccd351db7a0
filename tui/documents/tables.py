"""Tables as the page and the plain text both print them."""

from dataclasses import dataclass

Row = tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Table:
    """A table; the first cell of each row names it. Without ``columns`` a row is name and value."""

    title: str
    columns: Row
    rows: tuple[Row, ...]
    note: str = ""
