"""Which claims of a docket are in sight, and which one is chosen. Pure state."""

from collections.abc import Sequence

from tui.docket.rows import DocketRow, widths


class DocketView:
    """Rows, what is typed to search them, and the place of the chosen one among those found."""

    def __init__(self) -> None:
        self.rows: tuple[DocketRow, ...] = ()
        self.found: tuple[DocketRow, ...] = ()
        self.widths: tuple[int, ...] = widths(())
        self.typed = ""
        self.at = 0
        self._top = 0

    @property
    def chosen(self) -> DocketRow | None:
        """The chosen row, if any is found."""
        return self.found[self.at] if self.found else None

    def update(self, rows: tuple[DocketRow, ...]) -> None:
        """Take rows as they are now; the claim that was chosen stays so."""
        self.rows, self.widths = rows, widths(rows)
        self._find()

    def search(self, typed: str) -> None:
        """Find the rows that hold every word typed, in any column that shows."""
        self.typed = typed
        self._find()

    def choose(self, claim: str) -> None:
        """Choose a claim by its id, if it is found."""
        at = _place(self.found, claim)
        self.at = self.at if at is None else at

    def move(self, rows: int) -> None:
        """Choose a row further down or up, held within what is found."""
        self.at = max(0, min(self.at + rows, len(self.found) - 1))

    def window(self, height: int) -> Sequence[DocketRow]:
        """The rows in sight where there is room for so many, the chosen one among them."""
        last_top = max(0, len(self.found) - height)
        self._top = max(0, min(max(self._top, self.at - height + 1), self.at, last_top))
        return self.found[self._top : self._top + height]

    def _find(self) -> None:
        chosen, words = self.chosen, self.typed.casefold().split()
        self.found = tuple(r for r in self.rows if all(word in r.searched for word in words))
        self.at = min(self.at, max(0, len(self.found) - 1))
        if chosen is not None:
            self.at = _place(self.found, chosen.claim.claim) or 0


def _place(rows: Sequence[DocketRow], claim: str) -> int | None:
    return next((at for at, row in enumerate(rows) if row.claim.claim == claim), None)
