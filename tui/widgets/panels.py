"""Panels of text lines that every screen has, and the marks and colours of a state.

A state is never shown by colour alone. The colours are told apart with any colour vision: they
follow M. Okabe and K. Ito, Color Universal Design (2008), from memory; green and vermillion are
lightened to be read on black.
"""

from collections.abc import Callable, Sequence
from functools import partial

from rich.cells import cell_len, chop_cells
from rich.style import Style
from rich.text import Text
from textual import events
from textual.app import RenderResult
from textual.widget import Widget

from keymaps.commands import COMMANDS
from keymaps.keymap import Keymap
from sessions.ruling.ruling import Standing
from sessions.sanitize import sanitize

SKY, GREEN, AMBER, RED = "#56b4e9", "#00b383", "#e69f00", "#ff7a33"
GREY, WHITE = "#8f8f8f", "#e4e4e4"

MARKS: dict[str, tuple[str, str]] = {
    "proven": ("✓", GREEN),
    "fault": ("✗", RED),
    "unproven": ("≈", AMBER),
    "due": ("▸", SKY),
    "open": ("·", GREY),
    "conflict": ("!", RED),
}

STANDINGS: dict[Standing, str] = {
    Standing.STANDS: GREEN,
    Standing.SCRATCH: RED,
    Standing.VOID: RED,
    Standing.NOT_PROVEN: AMBER,
    Standing.OPEN: SKY,
    Standing.UNCOUNTED: GREY,
}


def style(colour: str, *, bold: bool = False, reverse: bool = False) -> Style:
    """A style in one of the colours above."""
    return Style(color=colour, bold=bold, reverse=reverse)


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


class StatusPanel(Panel):
    """State, or one message; what is longer than a line goes on in the next, if there is one.

    What was said last is folded anew for every size that the panel is given.
    """

    def __init__(self, *, id: str) -> None:  # noqa: A002 - Textual's own name
        super().__init__(id=id)
        self._fold: Callable[[], list[Text]] = list

    def on_resize(self, _: events.Resize) -> None:
        """Fold what is shown for the new size."""
        self.show(self._fold())

    def say(self, message: str, *state: str, error: bool = False) -> None:
        """Show a message, an error in the colour of a fault, and the state where it has room."""
        self._fold = partial(self._message, message, state, error)
        self.show(self._fold())

    def state(self, *parts: str, fault: str = "") -> None:
        """Show parts of the state, parted by bars, after a ``fault`` in its colour."""
        self._fold = partial(self._state, parts, fault)
        self.show(self._fold())

    def _message(self, message: str, state: Sequence[str], error: bool) -> list[Text]:
        look = style(RED if error else AMBER, bold=error)
        lines = [Text(line, look) for line in self._folded(sanitize(message))]
        room = max(1, self.size.height) - len(lines)
        words = _joined(state)
        if room > 0 and words:
            lines += [Text(line) for line in self._folded(words, room)]
        return lines

    def _state(self, parts: Sequence[str], fault: str) -> list[Text]:
        lines = [Text(line) for line in self._folded(_joined((fault, *parts)))]
        lines[0].stylize(style(RED, bold=True), 0, len(sanitize(fault)))
        return lines

    def _folded(self, words: str, height: int | None = None) -> list[str]:
        """Words in as many lines as there are, the last of them with all that is left."""
        width, most = max(1, self.size.width), max(1, height or self.size.height)
        lines = _wrapped(words, width) if most > 1 else [words]
        return [*lines[: most - 1], " ".join(lines[most - 1 :])][: max(1, len(lines))]


def _joined(parts: Sequence[str]) -> str:
    return sanitize(" │ ".join(part for part in parts if part))


def _wrapped(words: str, width: int) -> list[str]:
    """Lines of words, each at most so many cells wide: some characters take two cells, or none."""
    lines = [""]
    for word in words.split():
        room = width - cell_len(lines[-1]) - bool(lines[-1])
        if cell_len(word) > width and room > 1:  # what fits on no line begins on this one
            begun = chop_cells(word, room)[0]
            lines[-1] = f"{lines[-1]} {begun}".lstrip()
            lines += chop_cells(word[len(begun) :], width)
        elif cell_len(word) <= room:
            lines[-1] = f"{lines[-1]} {word}".lstrip()
        else:
            lines += chop_cells(word, width)
    return lines


class KeysLine(Panel):
    """Keys and what they do, as many as fit whole."""

    def show_keymap(self, keymap: Keymap, shown: Sequence[str], *more: tuple[str, str]) -> None:
        """Draw the keys that a keymap gives these commands, then ``more`` keys with their words."""
        self.show([self.keys(keymap, shown, max(1, self.size.width), *more)])

    @staticmethod
    def keys(keymap: Keymap, shown: Sequence[str], room: int, *more: tuple[str, str]) -> Text:
        """The keys that fit whole into ``room`` cells."""
        line = Text()
        keys = [(keymap.first_key(command_id), COMMANDS[command_id].short) for command_id in shown]
        for key, label in (*keys, *more):
            if line.cell_len + len(key) + 1 + len(label) > room:
                break
            line.append(f"{key} ", style(SKY, bold=True))
            line.append(f"{label}  ", style(GREY))
        line.rstrip()
        return line
