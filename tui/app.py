"""The application: keymap, command palette, the first screen, and a terminal that may hang up."""

import asyncio
import select
import signal
import sys
from collections.abc import Callable, Iterable
from contextlib import suppress
from functools import partial
from threading import Thread
from typing import Any, TextIO

from textual import events
from textual.app import App, SystemCommand
from textual.command import CommandPalette, DiscoveryHit, Hit, Hits, Provider
from textual.drivers.linux_driver import LinuxDriver
from textual.screen import Screen

from keymaps.commands import commands_on
from keymaps.keymap import Keymap
from keymaps.keys import display_key
from tui.widgets.command_screen import CommandScreen
from tui.widgets.dialogs import AskScreen, ChooseScreen, Dialog
from tui.widgets.frameview import FrameView
from tui.widgets.keygate import TOGETHER_SECONDS, KeyGate

LATE_SECONDS = 0.02
"""How often it is looked whether keys that wait can be given on."""

LONGEST_END = 0.5
"""Seconds that a program asked to end waits for what is being drawn."""

REPEATED = "The first Enter was taken; one so soon after it does nothing."


class DroppingFile:
    """A terminal to write to; what it does not take, since it has hung up, is dropped."""

    def __init__(self, file: TextIO) -> None:
        self._file = file

    def write(self, text: str) -> int:
        """Write, as ``TextIO`` does."""
        try:
            return self._file.write(text)
        except OSError:
            return len(text)

    def flush(self) -> None:
        """Flush, as ``TextIO`` does."""
        try:
            self._file.flush()
        except OSError:
            return

    def fileno(self) -> int:
        """The file descriptor."""
        return self._file.fileno()


def call_when_gone(terminal: int, gone: Callable[[], object]) -> None:
    """Wait until nobody is at the other end of a terminal, and tell so.

    A terminal can go away without the signal that tells of it, or where that is ignored; the
    library would read its empty input for ever.
    """
    watched = select.poll()
    watched.register(terminal, 0)  # only that it has hung up is told then
    watched.poll()
    with suppress(RuntimeError):  # the program has ended meanwhile
        gone()


class LastingDriver(LinuxDriver):
    """Goes on where the terminal has hung up, until the signal that tells so is heeded.

    The library writes from a thread of its own, through a queue of a fixed length. A write that
    fails ends the thread, and the queue is full soon after: the program would wait for it for ever,
    and end neither by itself nor by a signal.
    """

    def __init__(self, *arguments: Any, **options: Any) -> None:
        super().__init__(*arguments, **options)
        assert sys.__stderr__ is not None  # the library has found it to be a terminal
        self._file: Any = DroppingFile(sys.__stderr__)  # the library has no public way to name it


class CommandSearch(Provider):
    """All commands of the registry, by label, with their keys."""

    async def discover(self) -> Hits:
        """Every command, before anything is typed."""
        for label, help_text, done in self._commands():
            yield DiscoveryHit(label, done, help=help_text)

    async def search(self, query: str) -> Hits:
        """The commands whose label matches."""
        matcher = self.matcher(query)
        for label, help_text, done in self._commands():
            score = matcher.match(label)
            if score > 0:
                yield Hit(score, matcher.highlight(label), done, help=help_text)

    def _commands(self) -> Iterable[tuple[str, str, Callable[[], None]]]:
        screen = self.screen
        if not isinstance(screen, CommandScreen):
            return
        for command in commands_on(screen.where):
            keys = ", ".join(display_key(key) for key in screen.keymap.keys_for(command.id))
            done = partial(screen.action_do, command.id)
            yield f"{command.label}  {keys}", command.help, done


class FramecallApp(App[None], inherit_bindings=False):
    """A docket, or one piece of footage on the bench."""

    CSS_PATH = "framecall.tcss"
    TITLE = "framecall"
    # The registry binds the palette's key; the library would bind one of its own besides.
    ENABLE_COMMAND_PALETTE = False
    COMMANDS = {CommandSearch}  # noqa: RUF012 - Textual's own way

    def __init__(self, keymap: Keymap, first_screen: Callable[[], Screen[None]]) -> None:
        super().__init__(driver_class=LastingDriver)
        self.use_command_palette = True
        self._first_screen = first_screen
        self._gate = KeyGate()
        self._is_ending = False
        self.set_keymap(keymap.bindings())

    def on_load(self) -> None:
        """Heed, from before the terminal is taken over, what asks programs to end.

        What is ignored from the start stays so, as ``nohup`` wants it.
        """
        loop = asyncio.get_running_loop()
        if sys.__stdin__ is not None and sys.__stdin__.isatty():
            gone = partial(loop.call_soon_threadsafe, self._end_by, signal.SIGHUP)
            Thread(target=call_when_gone, args=(sys.__stdin__.fileno(), gone), daemon=True).start()
        for number in (signal.SIGTERM, signal.SIGHUP):
            if signal.getsignal(number) is not signal.SIG_IGN:
                loop.add_signal_handler(number, self._end_by, number)

    def _end_by(self, number: signal.Signals) -> None:
        """End as on leaving, with the exit code by which shells tell a signal."""
        for screen in reversed(self.screen_stack):
            if isinstance(screen, CommandScreen):
                screen.keep()
        # A dialog that is just opening looks for its parts, and the palette in a worker of its own:
        # it is ended once they are there.
        end = partial(self.exit, return_code=128 + number)
        self._is_ending = True
        if not isinstance(self.screen_stack[-1], CommandPalette):
            self.call_after_refresh(end)
        self.set_timer(LONGEST_END, end)

    def on_mount(self) -> None:
        """Open the first screen; leaving it ends the program."""
        self.push_screen(self._first_screen(), lambda _: self.exit())

    # -- keys, through the gate

    async def on_event(self, event: events.Event) -> None:
        """Give on what comes; keys in the order in which they were pressed, none at the end."""
        if isinstance(event, events.Key) and self._is_ending:
            return
        if not isinstance(event, events.Key) or event.is_forwarded:
            await super().on_event(event)
            return
        for key in self._gate.alt.take(event):
            await self._give(key)
        if (held := self._gate.alt.held) is not None:
            self.set_timer(TOGETHER_SECONDS, partial(self._release, held))

    async def _release(self, circumflex: events.Key) -> None:
        """Nothing came after a circumflex: it was one."""
        for key in self._gate.alt.release(circumflex):
            await self._give(key)

    async def _give(self, key: events.Key) -> None:
        """Give on a key, now or once the gate admits it."""
        front = self.screen_stack[-1] if self.screen_stack else None
        if not self._gate.admits(key, front if isinstance(front, Dialog) else None):
            if self._gate.waiting == 1:
                self.set_timer(LATE_SECONDS, self._give_late)
        elif front is not None:  # none: a key that waited, and the program has ended meanwhile
            await super().on_event(key)

    async def _give_late(self) -> None:
        for key in self._gate.drain():
            await self._give(key)

    def on_key(self, event: events.Key) -> None:
        """Give a dialog that has just opened what was typed into it already.

        Bindings are looked up only when a key comes up to the application; by then the key before
        it may have opened a dialog, or closed one.
        """
        screen = self.screen
        came = screen.came if isinstance(screen, CommandScreen) else None
        if self._gate.is_repeated(event, screen, came):
            event.prevent_default()
            if isinstance(screen, CommandScreen):
                screen.changed(REPEATED, error=True)
        elif isinstance(screen, AskScreen | ChooseScreen) and screen.type_ahead(event):
            event.prevent_default()
            if event.key == "enter":
                self._gate.dealt()
                self.call_next(self._give_late)

    def on_cursor_position(self) -> None:
        """The terminal has come to the end of a picture: tell the views."""
        FrameView.acknowledged(
            view for screen in self.screen_stack for view in screen.query(FrameView)
        )

    def get_system_commands(self, screen: Screen[object]) -> Iterable[SystemCommand]:
        """None of the library's own: the registry is the one list of commands."""
        return ()
