"""Small dialogs: ask for a line of text, choose from a list, read a page."""

from collections.abc import Sequence

from rich.text import Text
from textual.app import ComposeResult
from textual.binding import Binding
from textual.containers import Vertical, VerticalScroll
from textual.screen import ModalScreen
from textual.widgets import Input, OptionList, Static

CANCEL = Binding("escape", "cancel", "Cancel")


class AskScreen(ModalScreen[str | None]):
    """Asks for a line of text; ``None`` when cancelled."""

    BINDINGS = [CANCEL]  # noqa: RUF012 - Textual's own way

    def __init__(self, title: str, hint: str, initial: str = "") -> None:
        super().__init__(classes="dialog")
        self._title, self._hint, self._initial = title, hint, initial

    def compose(self) -> ComposeResult:
        """A title, the line, and a hint."""
        with Vertical(classes="box"):
            yield Static(Text(self._title), classes="title")
            yield Input(self._initial, id="answer", compact=True)
            yield Static(Text(f"{self._hint}  Enter: take it  Esc: leave it"), classes="hint")

    def on_input_submitted(self, event: Input.Submitted) -> None:
        """Take what was typed."""
        self.dismiss(event.value)

    def action_cancel(self) -> None:
        """Leave without an answer."""
        self.dismiss(None)


class ChooseScreen(ModalScreen[int | None]):
    """Chooses one of several lines by its index; ``None`` when cancelled."""

    BINDINGS = [CANCEL]  # noqa: RUF012 - Textual's own way

    def __init__(self, title: str, options: Sequence[str], highlighted: int = 0) -> None:
        super().__init__(classes="dialog")
        self._title, self._options, self._highlighted = title, options, highlighted

    def compose(self) -> ComposeResult:
        """A title and the lines."""
        with Vertical(classes="box"):
            yield Static(Text(self._title), classes="title")
            yield OptionList(
                *[Text(option) for option in self._options], id="options", compact=True
            )
            yield Static(Text("Up/Down, Enter: take it  Esc: leave it"), classes="hint")

    def on_mount(self) -> None:
        """Begin at the likely line."""
        options = self.query_one("#options", OptionList)
        options.highlighted = self._highlighted
        options.focus()

    def on_option_list_option_selected(self, event: OptionList.OptionSelected) -> None:
        """Take the chosen line."""
        self.dismiss(event.option_index)

    def action_cancel(self) -> None:
        """Leave without choosing."""
        self.dismiss(None)


class PageScreen(ModalScreen[None]):
    """A page to read, scrolled by the arrow keys; any way out closes it."""

    BINDINGS = [  # noqa: RUF012 - Textual's own way
        Binding("escape,q,enter", "close", "Close"),
    ]

    def __init__(self, title: str, page: Text) -> None:
        super().__init__(classes="dialog")
        self._title, self._page = title, page

    def compose(self) -> ComposeResult:
        """A title and the page."""
        with Vertical(classes="page"):
            yield Static(Text(self._title), classes="title")
            with VerticalScroll(id="scroll"):
                yield Static(self._page, id="page")
            yield Static(Text("Up/Down, PgUp/PgDn: scroll  Esc: close"), classes="hint")

    def on_mount(self) -> None:
        """Let the arrow keys scroll."""
        self.query_one("#scroll").focus()

    def action_close(self) -> None:
        """Back to the bench."""
        self.dismiss(None)
