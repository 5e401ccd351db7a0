"""A screen on which commands of the registry are done, by key or from the search of commands."""

import math
from abc import abstractmethod
from typing import ClassVar

from textual import events, on
from textual.binding import Binding, BindingType
from textual.screen import Screen

from keymaps.command import Where
from keymaps.commands import commands_on
from keymaps.keymap import Keymap


def bindings_of(where: Where) -> list[BindingType]:
    """A binding for each command that a screen knows; the keymap gives it its keys by its id."""
    return [
        Binding("f24", f"do('{command.id}')", command.label, id=command.id, show=False)
        for command in commands_on(where)
    ]


class CommandScreen(Screen[None]):
    """Knows the commands of ``where``, with the keys of ``keymap``."""

    where: ClassVar[Where]
    keymap: Keymap
    came = -math.inf
    """When the screen last came to the front, on the clock of events, in seconds."""

    @on(events.ScreenResume)
    def _note_when(self, event: events.ScreenResume) -> None:
        self.came = event.time

    @abstractmethod
    def action_do(self, command_id: str) -> None:
        """Do a command of the registry."""

    def _do_quit(self) -> None:
        self.keep()
        self.dismiss()

    def keep(self) -> None:
        """Keep what is not on the disk yet: the screen is left, or the program ended."""

    @abstractmethod
    def changed(self, message: str | None = None, *, error: bool = False) -> None:
        """Something changed: say so, and draw."""
