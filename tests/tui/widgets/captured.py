"""An application whose output goes to our emulator instead of a terminal."""

from collections.abc import Callable
from functools import partial
from typing import Any

import numpy as np
from textual import events
from textual.app import App, ComposeResult
from textual.containers import Horizontal
from textual.drivers.headless_driver import HeadlessDriver
from textual.geometry import Size
from textual.screen import ModalScreen, Screen
from textual.widgets import Static

from tests.tui.picture.emulator import Emulator, Shown
from tests.tui.picture.rasters import random_picture
from tui.picture.cells import Pixels
from tui.picture.choice import Choice
from tui.picture.delta import Solved
from tui.picture.pacing import Pacer
from tui.picture.palette import TRUECOLOUR
from tui.picture.pixels import PixelPainter
from tui.picture.solver import BLOCK_PAINTER, GlyphPainter
from tui.widgets.frameview import FrameView
from tui.widgets.pictures import encoder_for

SIZE = (60, 20)
PIXEL_PAINTER = PixelPainter((4, 8))
SIXEL_PAINTER = PixelPainter((4, 8), 256)


class CaptureDriver(HeadlessDriver):
    """Feeds an emulator, which answers what it is asked."""

    @property
    def is_headless(self) -> bool:
        """The library draws only where a terminal is."""
        return False

    def __init__(self, *arguments: Any, **options: Any) -> None:
        super().__init__(*arguments, **options)
        self.screen = Emulator(*(self._size or SIZE), cell=PIXEL_PAINTER.sub_cells)
        self.written = 0
        self.answers = True

    def write(self, data: str) -> None:
        """Show it, and answer requests for the cursor's position."""
        before = self.screen.reports
        self.screen.feed(data)
        self.written += len(data.encode())
        for _ in range(self.screen.reports - before if self.answers else 0):
            self._app.post_message(events.CursorPosition(self.screen.x, self.screen.y))


class Cover(Screen[None]):
    """A screen that hides everything."""

    def compose(self) -> ComposeResult:
        yield Static("cover " * 200)


class Dialog(ModalScreen[None]):
    """A dialog through whose surroundings the picture is seen."""

    CSS = "Dialog { align: center middle; } #box { width: 20; height: 5; background: red; }"

    def compose(self) -> ComposeResult:
        yield Static("dialog " * 9, id="box")


class Main(Screen[None]):
    def __init__(self, view: Callable[[], FrameView]) -> None:
        super().__init__()
        self._view = view

    def compose(self) -> ComposeResult:
        yield Static("head", id="head")
        with Horizontal(id="middle"):
            yield Static("left", id="left")
            yield self._view()
            yield Static("right", id="right")
        yield Static("over", id="over")
        yield Static("foot", id="foot")


class Pictured(App[None]):
    """A picture between other widgets."""

    CSS = """
    #head, #foot { height: 1; } #middle { height: 1fr; } #left, #right { width: 9; }
    #picture { width: 1fr; height: 1fr; } Main { layers: base top; }
    #over { layer: top; width: 14; height: 3; background: blue; offset: 15 4; display: none; }
    """

    def __init__(
        self,
        view: Callable[[], FrameView] | None = None,
        painter: GlyphPainter | PixelPainter = BLOCK_PAINTER,
    ) -> None:
        super().__init__(driver_class=CaptureDriver)
        self.main = Main(view or plain_view)
        self.painter = painter
        self.pixels: Pixels | None = None
        self.shown: Solved | None = None
        self.readied = 0

    def on_mount(self) -> None:
        self.push_screen(self.main)

    def on_frame_view_ready(self) -> None:
        self.readied += 1

    def on_cursor_position(self) -> None:
        FrameView.acknowledged([self.view])

    @property
    def view(self) -> FrameView:
        return self.main.query_one("#picture", FrameView)

    @property
    def driver(self) -> CaptureDriver:
        assert isinstance(self._driver, CaptureDriver)
        return self._driver

    @property
    def terminal(self) -> Emulator:
        return self.driver.screen

    def jump(self, seed: int) -> None:
        """Show a picture that has nothing to do with the one before."""
        self.pixels = random_picture(seed, *self._sub_cells())
        self._show()

    def step(self, seed: int) -> None:
        """Show a picture that differs in part."""
        width, height = self._sub_cells()
        if self.pixels is None or self.pixels.shape != (height, width, 3):
            self.jump(seed)
            return
        rng = np.random.default_rng(seed)
        self.pixels = self.pixels.copy()
        top, left = int(rng.integers(0, height)), int(rng.integers(0, width))
        self.pixels[top : top + 30, left : left + 30] = rng.integers(0, 256, 3)
        self._show()

    def resize(self, width: int, height: int) -> None:
        """A terminal's new size; what was on it is anyone's guess."""
        self.driver._size = (width, height)
        self.terminal.columns, self.terminal.rows = width, height
        self.scramble()
        self.post_message(events.Resize(Size(width, height), Size(width, height)))

    def scramble(self) -> None:
        """Something else has written all over the terminal."""
        for place in np.ndindex(self.terminal.rows, self.terminal.columns):
            self.terminal.cells[place] = Shown("?", 1, 2)

    def _sub_cells(self) -> tuple[int, int]:
        across, down = self.painter.sub_cells
        return self.view.size.width * across, self.view.size.height * down

    def _show(self) -> None:
        assert self.pixels is not None
        self.shown = self.painter.solve(self.pixels)
        self.view.show(self.shown)


def plain_view(acknowledged: bool = True) -> FrameView:
    choice = Choice(BLOCK_PAINTER, TRUECOLOUR, True, acknowledged)
    make = partial(encoder_for, choice, 1)
    return FrameView(make, Pacer(acknowledged=acknowledged), id="picture")


def pixel_view(painter: PixelPainter = PIXEL_PAINTER) -> FrameView:
    choice = Choice(painter, TRUECOLOUR, True, True)
    make = partial(encoder_for, choice, 1)
    return FrameView(make, Pacer(acknowledged=True), id="picture")
