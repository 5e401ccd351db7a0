"""A picture alone, stepped by the right arrow: ``python -m tests.bench.held_app WAY FRAMES``.

WAY is ``ours`` or ``rich-pixels``; FRAMES is a numpy file of frames. After each picture the number
of the position shown is written where no terminal shows it.
"""

import sys
from importlib import import_module
from typing import Any

from tui.cli.start import loading

with loading():  # as the program itself does
    import numpy as np
    from PIL import Image
    from textual.app import App, ComposeResult
    from textual.binding import Binding
    from textual.widgets import Static

    from tui.picture.cells import Pixels, frame_board
    from tui.picture.choice import choose
    from tui.picture.terminal import probe
    from tui.widgets.frameview import FrameView
    from tui.widgets.pictures import DeltaPictures

COLUMNS, ROWS = 160, 45


class Held(App[None]):
    """Shows the position of now, as often as the way of drawing allows."""

    CSS = f"#picture {{ width: {COLUMNS}; height: {ROWS}; }} #number {{ height: 1; }}"
    BINDINGS = [Binding("right", "step"), Binding("q", "quit")]  # noqa: RUF012
    ENABLE_COMMAND_PALETTE = False

    def __init__(self, way: str, frames: Pixels) -> None:
        super().__init__()
        self._frames = frames
        self._pictures = _pictures() if way == "ours" else None
        self._position, self._shown = 0, -1

    def compose(self) -> ComposeResult:
        yield self._pictures.frame_view("picture") if self._pictures else Static(id="picture")
        yield Static("0", id="number")

    def on_mount(self) -> None:
        self.set_timer(0.5, self._draw)

    def action_step(self) -> None:
        """The position is never dropped; pictures may be."""
        self._position += 1
        self.query_one("#number", Static).update(str(self._position), layout=False)
        self._draw()

    def on_frame_view_ready(self) -> None:
        self._draw()

    def on_cursor_position(self) -> None:
        FrameView.acknowledged(self.query(FrameView))

    def _draw(self) -> None:
        if self._position == self._shown:
            return
        frame = self._frames[self._position % len(self._frames)]
        if self._pictures is None:
            rich_pixels: Any = import_module("rich_pixels")
            picture = rich_pixels.Pixels.from_image(
                Image.fromarray(frame), resize=(COLUMNS, 2 * ROWS)
            )
            self.query_one("#picture", Static).update(picture)
        else:
            view = self.query_one("#picture")
            if not self._pictures.ready(view):
                return
            board, _ = frame_board(frame, COLUMNS, ROWS, self._pictures.painter)
            self._pictures.show(view, board)
        self._shown = self._position

    def post_display_hook(self) -> None:
        """Tell the far end which position it shows from here on."""
        if self._driver is not None:
            self._driver.write(f"\x1b]7777;{self._shown}\x07")


def _pictures() -> DeltaPictures:
    with probe() as terminal:
        return DeltaPictures(choose(terminal()))


if __name__ == "__main__":
    Held(sys.argv[1], np.load(sys.argv[2])).run()
