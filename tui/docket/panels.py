"""The list of claims: draws the rows in sight and no others, however many there are."""

from rich.cells import set_cell_size
from rich.segment import Segment
from rich.style import Style
from rich.text import Text
from textual.strip import Strip
from textual.widget import Widget

from sessions.docket.claim_state import State
from tui.docket.rows import HEADINGS, DocketRow, DocketView
from tui.widgets.panels import AMBER, GREEN, GREY, RED, SKY, WHITE, style

STATES: dict[State | None, str] = {
    State.UNTOUCHED: WHITE,
    State.OPEN: SKY,
    State.AWAITING: SKY,
    State.DIFFERING: AMBER,
    State.STANDS: GREEN,
    State.IN_DOUBT: AMBER,
    State.SCRATCH: RED,
    State.VOID: RED,
    State.NOT_PROVEN: AMBER,
    State.NO_ATTEMPT: RED,
    State.SETTLED: GREEN,
    None: GREY,
}

_STATE = HEADINGS.index("state")


class DocketList(Widget):
    """Headings, and the rows around the chosen one."""

    ALLOW_SELECT = False

    def __init__(self, view: DocketView, *, id: str) -> None:  # noqa: A002 - Textual's own name
        super().__init__(id=id)
        self._view = view

    @property
    def height(self) -> int:
        """Rows of claims that there is room for."""
        return max(1, self.size.height - 1)

    def render_line(self, y: int) -> Strip:
        """One line: the headings, or a claim."""
        return self._line(y, self.size.width).apply_style(self.rich_style)

    def _line(self, y: int, width: int) -> Strip:
        if y == 0:
            return _strip(HEADINGS, self._view, style(SKY, bold=True), width)
        window = self._view.window(self.height)
        return self.row_strip(window[y - 1], width) if y <= len(window) else Strip.blank(width)

    def row_strip(self, row: DocketRow, width: int) -> Strip:
        """The line of a claim."""
        look = style(WHITE if row.is_due else GREY)
        if row is self._view.chosen:
            return _strip(row.cells, self._view, style(SKY, bold=True, reverse=True), width)
        return _strip(row.cells, self._view, look, width, style(STATES[row.state]))


def _strip(
    cells: tuple[str, ...], view: DocketView, look: Style, width: int, state: Style | None = None
) -> Strip:
    """Cells in their columns, each with a space after it; the state in a colour of its own."""
    texts = [f"{set_cell_size(cell, room)} " for cell, room in zip(cells, view.widths, strict=True)]
    segments = [
        Segment(text, state if at == _STATE and state else look) for at, text in enumerate(texts)
    ]
    return Strip(segments).adjust_cell_length(width, look)


def filter_line(view: DocketView) -> Text:
    """What was typed, and how many claims hold it."""
    line = Text.assemble(("Search: ", style(SKY, bold=True)), (view.typed, style(WHITE)))
    line.append("▏", style(SKY))
    count = f"{len(view.found)} of {len(view.rows)}" if view.typed else "type any words to search"
    line.append(f" {count}", style(GREY))
    return line
