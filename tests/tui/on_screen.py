"""A screen in a terminal that is not there: what the tests of bench, settling and docket share.

What is private to the library and used by tests, because nothing public does it:

- ``_wait_for_screen`` and ``_on_timer_update``, here: the public pause also waits until the
  processor is idle, which on a busy machine is long after the screen is drawn.
- ``_compositor.render_strips``, here and where cells are compared with those written: the lines
  as they are drawn; the public screenshot is an SVG.
- ``_exit``, in tests of leaving: that an application was told to end, before it has ended.
- ``_driver`` and its ``_size``, where what is written to the terminal is caught.
- ``_character_to_key`` and ``XTermParser``: the name of the key that a terminal sends.
"""

import time
from collections.abc import Callable
from dataclasses import dataclass
from typing import Generic, TypeVar

from textual.pilot import Pilot
from textual.screen import Screen

from tui.app import FramecallApp

SMALL, LARGE = (80, 24), (160, 50)

ROUNDS = 4
"""Rounds of messages from a key to a drawn screen: application, screen, draw, panels."""

PATIENCE = 30.0
"""Seconds after which something will not come about any more, on however busy a machine."""

AnyScreen = TypeVar("AnyScreen", bound=Screen[None])


@dataclass
class OnScreen(Generic[AnyScreen]):
    """A screen of the application, its pilot, and what a person would see."""

    app: FramecallApp
    pilot: Pilot[None]
    screen: AnyScreen

    async def settle(self) -> None:
        """Wait until all that was sent is dealt with, and draw; a dialog takes a few rounds."""
        for _ in range(ROUNDS):
            await self.pilot._wait_for_screen()
        self.app.screen._on_timer_update()

    async def press(self, *keys: str) -> None:
        """Press keys one after the other, and wait until all are dealt with and drawn."""
        for key in keys:
            await self.pilot.press(key)
        await self.settle()

    async def until(self, condition: Callable[[], bool]) -> None:
        """Wait for something that a clock or another thread brings about."""
        end = time.monotonic() + PATIENCE
        while not condition():
            assert time.monotonic() < end, "it did not come about"
            await self.pilot.pause(0.005)

    def line(self, panel: str) -> str:
        """The first line of a panel."""
        return self.screen.query_one(f"#{panel}").render_line(0).text.rstrip()

    @property
    def is_clear(self) -> bool:
        """Whether no dialog and no other screen is open."""
        return self.app.screen is self.screen

    @property
    def lines(self) -> list[str]:
        """All lines on the terminal, whatever is on top."""
        return [strip.text for strip in self.app.screen._compositor.render_strips()]

    @property
    def text(self) -> str:
        return "\n".join(self.lines)
