"""The bench in a terminal that is not there, driven by keys."""

import time
from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager
from dataclasses import dataclass

from textual import events
from textual.keys import _character_to_key
from textual.pilot import Pilot

from keymaps.keymap import Keymap
from tests.tui.conftest import PICTURE, PlainSource
from tests.tui.plain_pictures import HalfBlocks, PlainPictures
from tui.app import FramecallApp
from tui.bench.review import Review
from tui.bench.screen import BenchScreen
from tui.footage.footage import Footage
from tui.picture.lens import Lens
from tui.widgets.pictures import Pictures

SMALL, LARGE = (80, 24), (160, 50)

ROUNDS = 4
"""Rounds of messages from a key to a drawn screen: application, screen, draw, panels."""


@dataclass
class Bench:
    """The bench on the screen."""

    app: FramecallApp
    pilot: Pilot[None]
    screen: BenchScreen

    async def press(self, *keys: str) -> None:
        """Press keys one after the other, each dealt with and drawn before the next."""
        for key in keys:
            self.hold(key, 1)
            await self.settle()

    async def settle(self) -> None:
        """Wait until all that was sent is dealt with, and draw; a dialog takes a few rounds."""
        for _ in range(ROUNDS):
            await self.pilot._wait_for_screen()
        self.app.screen._on_timer_update()

    async def do(self, *commands: str) -> None:
        """Press the first key of each command."""
        for command in commands:
            await self.press(self.screen.keymap.keys_for(command)[0])

    async def answer(self, text: str) -> None:
        """Type into the dialog that asks for a line, and take it."""
        for character in text:
            self.hold(character, 1)
        await self.press("enter")

    async def until(self, condition: Callable[[], bool], seconds: float = 5.0) -> None:
        """Wait for something that a clock of the bench brings about."""
        end = time.monotonic() + seconds
        while not condition():
            assert time.monotonic() < end, "it did not come about"
            await self.pilot.pause(0.005)

    def hold(self, key: str, times: int) -> None:
        """Send one key many times, faster than the bench can draw."""
        name = _character_to_key(key) if len(key) == 1 else key
        for _ in range(times):
            self.app.post_message(events.Key(name, key if len(key) == 1 else None))

    def line(self, panel: str) -> str:
        """The first line of a panel of the bench."""
        return self.screen.query_one(f"#{panel}").render_line(0).text.rstrip()

    @property
    def is_clear(self) -> bool:
        """Whether no dialog is open."""
        return self.app.screen is self.screen

    @property
    def message(self) -> str:
        return self.line("message")

    @property
    def lines(self) -> list[str]:
        """All lines on the screen, whatever is on top."""
        return [strip.text for strip in self.app.screen._compositor.render_strips()]

    @property
    def text(self) -> str:
        return "\n".join(self.lines)


def make_app(
    review: Review,
    source: PlainSource,
    keymap: Keymap,
    clock: Callable[[], float] = time.monotonic,
    pictures: Pictures | None = None,
    footage: Footage | None = None,
) -> FramecallApp:
    """The application with a bench on a review."""
    drawn = pictures or PlainPictures(HalfBlocks())
    lens = Lens(*PICTURE)
    return FramecallApp(
        keymap, lambda: BenchScreen(review, source, drawn, keymap, lens, clock, footage=footage)
    )


@asynccontextmanager
async def on_bench(app: FramecallApp, size: tuple[int, int] = SMALL) -> AsyncIterator[Bench]:
    """The application running in a terminal of a size in columns and rows."""
    async with app.run_test(size=size) as pilot:
        await pilot.pause()
        screen = app.screen
        assert isinstance(screen, BenchScreen)
        yield Bench(app, pilot, screen)
