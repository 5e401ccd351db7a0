"""The bench in a terminal that is not there, driven by keys."""

import time
from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager

from textual import events
from textual.keys import _character_to_key

from keymaps.keymap import Keymap
from tests.tui.conftest import PICTURE, PlainSource
from tests.tui.on_screen import LARGE, SMALL, OnScreen
from tests.tui.plain_pictures import HalfBlocks, PlainPictures
from tui.app import FramecallApp
from tui.bench.review import Review
from tui.bench.screen import BenchScreen
from tui.footage.footage import Footage
from tui.picture.lens import Lens
from tui.widgets.pictures import Pictures

__all__ = ["LARGE", "SMALL"]


class Bench(OnScreen[BenchScreen]):
    """The bench on the screen."""

    async def press(self, *keys: str) -> None:
        """Press keys one after the other, each dealt with and drawn before the next."""
        for key in keys:
            self.hold(key, 1)
            await self.settle()

    async def do(self, *commands: str) -> None:
        """Press the first key of each command."""
        for command in commands:
            await self.press(self.screen.keymap.keys_for(command)[0])

    async def answer(self, text: str) -> None:
        """Type into the dialog that asks for a line, and take it."""
        for character in text:
            self.hold(character, 1)
        await self.press("enter")

    def hold(self, key: str, times: int) -> None:
        """Send one key many times, faster than the bench can draw."""
        name = _character_to_key(key) if len(key) == 1 else key
        for _ in range(times):
            self.app.post_message(events.Key(name, key if len(key) == 1 else None))

    @property
    def message(self) -> str:
        return self.line("message")


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
