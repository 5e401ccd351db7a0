"""A panel of text lines, redrawn without a new layout."""

from rich.text import Text
from textual.app import RenderResult
from textual.widget import Widget


class Panel(Widget):
    """Lines of text; each is cut at the panel's width. What is shown is never markup."""

    ALLOW_SELECT = False

    def __init__(self, *, id: str) -> None:  # noqa: A002 - Textual's own name
        super().__init__(id=id)
        self._lines: list[Text] = []

    def show(self, lines: list[Text]) -> None:
        """Draw these lines, if they differ from those shown."""
        if lines != self._lines:
            self._lines = lines
            self.refresh()

    def render(self) -> RenderResult:
        """The lines, one a row."""
        return Text("\n", no_wrap=True, overflow="ellipsis", end="").join(
            [self._cut(line) for line in self._lines]
        )

    def _cut(self, line: Text) -> Text:
        cut = line.copy()
        cut.truncate(max(1, self.size.width), overflow="ellipsis")
        return cut
