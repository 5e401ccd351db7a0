"""A screen on which commands of the registry are done, by key or from the search of commands."""

import math
from abc import abstractmethod
from collections.abc import Callable, Mapping
from types import MappingProxyType
from typing import ClassVar

from rich.text import Text
from textual import events, on
from textual.binding import Binding, BindingType
from textual.screen import Screen

from keymaps.card import screen_card
from keymaps.commands import COMMANDS, Command, Where, commands_on
from keymaps.keymap import Keymap
from sessions.errors import FramecallError, ReviewClosed
from tui.widgets.dialogs import PageScreen

Handler = Callable[[], str | None]
"""Does a command, and returns what to say of it, if anything."""

WIDEST_PAGE = 100
"""Cells that the lines of the help take at most."""


def bindings_of(where: Where) -> list[BindingType]:
    """A binding for each command that a screen knows; the keymap gives it its keys by its id."""
    return [
        Binding("f24", f"do('{command.id}')", command.label, id=command.id, show=False)
        for command in commands_on(where)
    ]


def one_table(where: Where, *parts: Mapping[str, Handler]) -> Mapping[str, Handler]:
    """The handlers of a screen, by command id, from the tables of its parts.

    Raises ValueError unless each command of the screen has one handler, and each handler is one of
    its commands.
    """
    ids = [command_id for part in parts for command_id in part]
    wanted = {command.id for command in commands_on(where)}
    twice = {command_id for command_id in ids if ids.count(command_id) > 1}
    if wrong := sorted(twice | (wanted ^ set(ids))):
        raise ValueError(f"not one handler each on the {where}: {', '.join(wrong)}")
    return MappingProxyType(
        {command_id: done for part in parts for command_id, done in part.items()}
    )


class CommandScreen(Screen[None]):
    """Knows the commands of ``where``, with the keys of ``keymap``, and how each is done."""

    where: ClassVar[Where]
    keymap: Keymap
    handlers: Mapping[str, Handler]
    message: tuple[str, bool] | None = None
    """What was said last, and whether it is an error."""
    came = -math.inf
    """When the screen last came to the front, on the clock of events, in seconds."""

    @on(events.ScreenResume)
    def _note_when(self, event: events.ScreenResume) -> None:
        self.came = event.time

    @property
    def is_up(self) -> bool:
        """Whether its parts can be drawn: the program is not about to end."""
        return self.is_mounted and self.app.return_code is None

    # -- commands

    def action_do(self, command_id: str) -> None:
        """Do a command of the registry."""
        self.attempt(self.handlers[command_id], COMMANDS[command_id])

    def attempt(self, handler: Handler, command: Command | None = None) -> None:
        """Do something, and say what came of it; what is refused is said, and changes nothing.

        ``command`` is the one that the handler is of, where it is a command's.
        """
        try:
            said = self.perform(handler, command)
        except ReviewClosed as error:
            self.refused_as_closed(error, handler, command)
        except FramecallError as error:
            self.changed(str(error), error=True)
        else:
            if self in self.app.screen_stack:  # it may have been left
                self.changed(said)

    def perform(self, handler: Handler, command: Command | None) -> str | None:
        """Do what ``attempt`` is to do, with all that a screen does around it."""
        return handler()

    def refused_as_closed(
        self, error: ReviewClosed, handler: Handler, command: Command | None
    ) -> None:
        """Told where a finished review was to be changed."""
        self.changed(str(error), error=True)

    def handlers_everywhere(self) -> Mapping[str, Handler]:
        """The handlers of the commands that every screen knows."""
        return {
            "help": self.show_help,
            "palette": self.find_command,
            "redraw": self.redraw,
            "quit": self.leave,
        }

    def show_help(self) -> None:
        """Show the keys of this screen."""
        page = screen_card(self.keymap, self.where, min(WIDEST_PAGE, self.size.width - 8))
        title = f"Keys ({self.keymap.title})"
        self.app.push_screen(PageScreen(title, Text(page, no_wrap=True)))

    def find_command(self) -> None:
        """Search all commands by name."""
        self.app.action_command_palette()

    def redraw(self) -> str | None:
        """Draw the whole screen anew; what was said stays."""
        self.app.refresh(layout=True)
        return None if self.message is None else self.message[0]

    def leave(self) -> None:
        """Leave the screen."""
        self.keep()
        self.dismiss()

    def keep(self) -> None:
        """Keep what is not on the disk yet: the screen is left, or the program ended."""

    # -- what is said

    def changed(self, message: str | None = None, *, error: bool = False) -> None:
        """Something changed: say so until the next command, and draw."""
        self.message = (message, error) if message else None
        self.draw_soon()

    @abstractmethod
    def draw_soon(self) -> None:
        """Draw the screen as it is now, once the keys that wait are dealt with."""
