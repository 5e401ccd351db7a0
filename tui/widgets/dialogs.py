"""Small dialogs: ask for a line of text, choose from a list, read a page."""

from collections.abc import Callable, Sequence
from typing import TypeVar

from rich.text import Text
from textual import events
from textual.app import ComposeResult
from textual.binding import Binding
from textual.containers import Vertical, VerticalScroll
from textual.screen import ModalScreen
from textual.widgets import Input, OptionList, Static

from sessions.errors import FramecallError
from sessions.sanitize import sanitize
from tui.widgets.panels import RED, style

CANCEL = Binding("escape", "cancel", "Cancel")


Answer = TypeVar("Answer")


class Dialog(ModalScreen[Answer]):
    """Answers once: what is typed on while it closes must not close the screen beneath as well."""

    is_answered = False
    """Whether it is about to close."""

    @property
    def takes_enter(self) -> bool:
        """Whether Enter has something to take."""
        return True

    def answer(self, answer: Answer) -> None:
        """Close with an answer, unless it was given already."""
        if not self.is_answered:
            self.is_answered = True
            self.dismiss(answer)


class TypedLine(Input):
    """A line that takes keys in the order of typing, however fast they come.

    The library runs a key such as Backspace only once it has come up to the application, when the
    letters typed after it are in the line already.
    """

    async def on_key(self, event: events.Key) -> None:
        """Edit at once; Enter and Escape are left to the dialog."""
        for binding in self._bindings.key_to_bindings.get(event.key, ()):
            if event.key != "enter":
                event.stop()
                await self.run_action(binding.action)

    def on_paste(self, event: events.Paste) -> None:
        """Take all that is pasted, on one line; the library would take its first line only."""
        event.prevent_default()
        event.stop()
        self.replace(" ".join(event.text.splitlines()), *self.selection)


class AskScreen(Dialog[str | None]):
    """Asks for a line of text until ``take`` accepts it; ``None`` when cancelled.

    ``take`` does what the line is for, and says what came of it, which is the answer. Where it
    raises FramecallError the dialog says why and stays, with the line as it was typed.
    """

    BINDINGS = [CANCEL]  # noqa: RUF012 - Textual's own way

    def __init__(self, title: str, hint: str, take: Callable[[str], str | None]) -> None:
        super().__init__(classes="dialog")
        self._title, self._hint, self._take = title, hint, take

    def compose(self) -> ComposeResult:
        """A title, the line, why it was refused, and a hint."""
        with Vertical(classes="box"):
            yield Static(Text(self._title), classes="title")
            yield TypedLine(id="answer", compact=True)
            yield Static(id="refused")
            yield Static(Text(f"{self._hint}  Enter: take it  Esc: leave it"), classes="hint")

    def on_key(self, event: events.Key) -> None:
        """Take what the line has not taken, as it has no focus yet; Enter once all else is done."""
        if event.key != "enter":
            self.type_ahead(event)

    def type_ahead(self, event: events.Key) -> bool:
        """Take a key that was typed while the dialog opened: fast typists do not wait."""
        line = self.query_one("#answer", Input)
        if event.key == "enter":
            self._offer(line.value)
        elif event.is_printable and event.character is not None:
            line.insert_text_at_cursor(event.character)
        else:
            return False
        event.stop()
        return True

    def on_input_submitted(self, event: Input.Submitted) -> None:
        """Take what was typed."""
        self._offer(event.value)

    def _offer(self, text: str) -> None:
        if self.is_answered:
            return
        try:
            said = self._take(text)
        except FramecallError as error:
            words = Text(sanitize(str(error)), style(RED, bold=True))
            self.query_one("#refused", Static).update(words)
        else:
            self.answer(said or "")

    def action_cancel(self) -> None:
        """Leave without an answer."""
        self.answer(None)


class ChooseScreen(Dialog[int | None]):
    """Chooses one of several lines by its index; ``None`` when cancelled. Typing narrows them."""

    BINDINGS = [CANCEL, Binding("backspace", "widen", "Widen")]  # noqa: RUF012 - Textual's own way

    def __init__(self, title: str, options: Sequence[str], highlighted: int = 0) -> None:
        super().__init__(classes="dialog")
        self._title, self._options, self._highlighted = title, options, highlighted
        self._typed = ""
        self._shown = list(range(len(options)))

    def compose(self) -> ComposeResult:
        """A title and the lines."""
        with Vertical(classes="box"):
            yield Static(Text(self._title), classes="title", id="title")
            yield OptionList(
                *[Text(option) for option in self._options], id="options", compact=True
            )
            hint = "Type to narrow, Up/Down, Enter: take it  Esc: leave it"
            yield Static(Text(hint), classes="hint")

    def on_mount(self) -> None:
        """Begin at the likely line."""
        options = self.query_one("#options", OptionList)
        options.highlighted = self._highlighted
        options.focus()

    def on_key(self, event: events.Key) -> None:
        """Narrow the lines to those that hold what is typed."""
        self.type_ahead(event)

    def type_ahead(self, event: events.Key) -> bool:
        """Take a letter, also one that was typed while the dialog opened."""
        if not event.is_printable or event.character is None:
            return False
        event.stop()
        self._narrow(self._typed + event.character)
        return True

    @property
    def takes_enter(self) -> bool:
        """Whether a line is left to choose."""
        return bool(self._shown)

    def action_widen(self) -> None:
        """Take back the last letter."""
        self._narrow(self._typed[:-1])

    def _narrow(self, typed: str) -> None:
        self._typed = typed
        wanted = typed.casefold()
        self._shown = [n for n, line in enumerate(self._options) if wanted in line.casefold()]
        options = self.query_one("#options", OptionList)
        options.clear_options()
        options.add_options([Text(self._options[n]) for n in self._shown])
        options.highlighted = 0 if self._shown else None
        self.query_one("#title", Static).update(Text(f"{self._title}  {typed}"))

    def on_option_list_option_selected(self, event: OptionList.OptionSelected) -> None:
        """Take the chosen line."""
        self.answer(self._shown[event.option_index])

    def action_cancel(self) -> None:
        """Leave without choosing."""
        self.answer(None)


class ConfirmScreen(Dialog[bool]):
    """A page that ends in a question; Enter says yes, Escape no."""

    BINDINGS = [  # noqa: RUF012 - Textual's own way
        Binding("enter", "confirm", "Yes"),
        Binding("escape", "cancel", "No"),
    ]

    def __init__(self, title: str, page: Text, yes: str, no: str) -> None:
        super().__init__(classes="dialog")
        self._title, self._page = title, page
        self._hint = f"Up/Down: scroll  Enter: {yes}  Esc: {no}"

    def compose(self) -> ComposeResult:
        """A title, the page, and what the keys will do."""
        with Vertical(classes="page question"):
            yield Static(Text(self._title), classes="title")
            with VerticalScroll(id="scroll"):
                yield Static(self._page, id="page")
            yield Static(Text(self._hint), classes="hint")

    def on_mount(self) -> None:
        """Let the arrow keys scroll."""
        self.query_one("#scroll").focus()

    def action_confirm(self) -> None:
        """Yes."""
        self.answer(True)

    def action_cancel(self) -> None:
        """No."""
        self.answer(False)


class PageScreen(Dialog[None]):
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
        self.answer(None)
