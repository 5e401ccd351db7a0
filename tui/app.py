"""The application: keymap, command palette and the first screen."""

import asyncio
import math
import signal
import time
from collections.abc import Callable, Iterable
from functools import partial

from textual import events
from textual.app import App, SystemCommand
from textual.command import DiscoveryHit, Hit, Hits, Provider
from textual.screen import Screen

from keymaps.commands import commands_on
from keymaps.keymap import Keymap
from keymaps.keys import display_key
from tui.widgets.altkeys import TOGETHER_SECONDS, AltKeys
from tui.widgets.command_screen import CommandScreen
from tui.widgets.dialogs import AskScreen, ChooseScreen, Dialog
from tui.widgets.frameview import FrameView
from tui.widgets.hangup import LastingDriver

REPEAT_SECONDS = 0.25
"""An Enter that comes so soon after a screen, with no key between it and the Enter that opened or
uncovered the screen, is the same one pressed twice: it tags nothing. Nobody has looked at a picture
in that time; common practice, no source.
"""

DEAL_SECONDS = 1.0
"""How long keys wait at most for what an Enter does to a dialog."""

LATE_SECONDS = 0.02
"""How often it is looked whether keys that wait can be given on."""

REPEATED = "The first Enter was taken; one so soon after it does nothing."


class CommandSearch(Provider):
    """All commands of the registry, by label, with their keys."""

    async def discover(self) -> Hits:
        """Every command, before anything is typed."""
        for label, help_text, deed in self._commands():
            yield DiscoveryHit(label, deed, help=help_text)

    async def search(self, query: str) -> Hits:
        """The commands whose label matches."""
        matcher = self.matcher(query)
        for label, help_text, deed in self._commands():
            score = matcher.match(label)
            if score > 0:
                yield Hit(score, matcher.highlight(label), deed, help=help_text)

    def _commands(self) -> Iterable[tuple[str, str, Callable[[], None]]]:
        screen = self.screen
        if not isinstance(screen, CommandScreen):
            return
        for command in commands_on(screen.where):
            keys = ", ".join(display_key(key) for key in screen.keymap.keys_for(command.id))
            yield f"{command.label}  {keys}", command.help, _deed(screen, command.id)


def _deed(screen: CommandScreen, command_id: str) -> Callable[[], None]:
    return lambda: screen.action_do(command_id)


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
        self._entered_on: Screen[object] | None = None
        self._ignored = -math.inf
        self._alt_keys = AltKeys()
        self._late: list[events.Key] = []
        self._dealing: tuple[Screen[object] | None, float] = None, -math.inf
        self.set_keymap(keymap.bindings())

    def on_load(self) -> None:
        """Heed, from before the terminal is taken over, what asks programs to end.

        What is ignored from the start stays so, as ``nohup`` wants it.
        """
        loop = asyncio.get_running_loop()
        for number in (signal.SIGTERM, signal.SIGHUP):
            if signal.getsignal(number) is not signal.SIG_IGN:
                loop.add_signal_handler(number, self._end_by, number)

    def _end_by(self, number: signal.Signals) -> None:
        """End as on leaving, with the exit code by which shells tell a signal."""
        for screen in reversed(self.screen_stack):
            if isinstance(screen, CommandScreen):
                screen.keep()
        self.exit(return_code=128 + number)

    def on_mount(self) -> None:
        """Open the first screen; leaving it ends the program."""
        self.push_screen(self._first_screen(), lambda _: self.exit())

    async def on_event(self, event: events.Event) -> None:
        """Give on what comes; keys as they were pressed, which see ``AltKeys``."""
        if not isinstance(event, events.Key) or event.is_forwarded:
            await super().on_event(event)
            return
        for key in self._alt_keys.take(event):
            await self._give(key)
        if (held := self._alt_keys.held) is not None:
            self.set_timer(TOGETHER_SECONDS, partial(self._release, held))

    async def _release(self, circumflex: events.Key) -> None:
        """Nothing came after a circumflex: it was one."""
        for key in self._alt_keys.release(circumflex):
            await self._give(key)

    async def _give(self, key: events.Key) -> None:
        """Give on a key; what comes after the Enter of a dialog, once that is dealt with.

        Keys go straight to the dialog, and Enter only takes effect once it has come back up to
        the application: a letter typed after it would be in the line by then.
        """
        if self._late or self._is_dealing:
            self._late.append(key)
            if len(self._late) == 1:
                self.set_timer(LATE_SECONDS, self._give_late)
            return
        screen = self._front
        if screen is None:  # a key that waited, and the program has ended meanwhile
            return
        if key.key == "enter" and isinstance(screen, Dialog) and screen.takes_enter:
            self._dealing = screen, time.monotonic()
        await super().on_event(key)

    async def _give_late(self) -> None:
        late, self._late = self._late, []
        for key in late:
            await self._give(key)

    @property
    def _is_dealing(self) -> bool:
        """Whether the dialog in front is about to close, or to say why it does not."""
        screen, (entered, since) = self._front, self._dealing
        if not isinstance(screen, Dialog):
            return False
        is_late = time.monotonic() > since + DEAL_SECONDS
        return screen.is_answered or (screen is entered and not is_late)

    @property
    def _front(self) -> Screen[object] | None:
        """The screen in front; none as the program ends."""
        return self.screen_stack[-1] if self.screen_stack else None

    def on_key(self, event: events.Key) -> None:
        """Give a dialog that has just opened what was typed into it already.

        Bindings are looked up only when a key comes up to the application; by then the key before
        it may have opened a dialog, or closed one.
        """
        if self._is_repeated(event):
            event.prevent_default()
            if isinstance(self.screen, CommandScreen):
                self.screen.changed(REPEATED, error=True)
        elif isinstance(self.screen, AskScreen | ChooseScreen) and self.screen.type_ahead(event):
            event.prevent_default()
            if event.key == "enter":
                self._dealing = None, -math.inf
                self.call_next(self._give_late)

    def _is_repeated(self, event: events.Key) -> bool:
        """Whether this is one Enter too many for the screen that the one before opened or left."""
        screen, before = self.screen, self._entered_on
        if event.key != "enter":
            self._entered_on = None
            return False
        if isinstance(screen, CommandScreen) and before not in (None, screen):
            seconds = event.time - max(screen.came, self._ignored)
            if seconds < REPEAT_SECONDS:
                self._ignored = event.time
                return True
        self._entered_on = screen
        return False

    def on_cursor_position(self) -> None:
        """The terminal has come to the end of a picture: tell the views."""
        FrameView.acknowledged(
            view for screen in self.screen_stack for view in screen.query(FrameView)
        )

    def get_system_commands(self, screen: Screen[object]) -> Iterable[SystemCommand]:
        """None of the library's own: the registry is the one list of commands."""
        return ()
