"""A picture of which only the cells that matter are sent, as fast as the terminal takes them."""

import time
from collections.abc import Callable, Iterable

from textual.geometry import Region
from textual.message import Message
from textual.strip import Strip
from textual.widget import Widget

from tui.picture.delta import STILL, Encoder, Solved
from tui.picture.pacing import Pacer
from tui.widgets.painting import Painting, PictureStrip

ACKNOWLEDGE = "\x1b[6n"
"""Device status report, the cursor's position: the terminal answers when it has come so far."""

REST_SECONDS = 0.15
"""How long after the last picture refining begins."""

REFINE_SECONDS = 0.05
"""The time between two steps of refining."""

REFINE_CELLS = 150
"""The cells of one step of refining; about 3 kB."""

CELL_BYTES = 15
"""What a changed cell takes on average, with its colours and the way to it."""


class FrameView(Widget):
    """Shows solved pictures the size of the widget; each size gets an encoder of its own.

    It remembers what the terminal shows. Where something else has drawn over the view unseen, as
    after a screen that covered this one, ``invalidate`` makes it forget.
    """

    ALLOW_SELECT = False

    class Ready(Message):
        """The next picture may be shown; posted after ``ready`` was false."""

    def __init__(
        self,
        make_encoder: Callable[[Solved], Encoder],
        pacer: Pacer | None = None,
        *,
        coloured: bool = True,
        clock: Callable[[], float] = time.monotonic,
        id: str,  # noqa: A002 - Textual's own name
    ) -> None:
        super().__init__(id=id)
        self._make_encoder, self._coloured = make_encoder, coloured
        self._pacer, self._clock = pacer, clock
        self._encoder: Encoder | None = None
        self._solved: Solved | None = None
        self._own: set[int] = set()
        self._open: set[int] = set()
        self._place: Region | None = None
        self._painting: Painting | None = None
        self._waiting = False
        self._shown_at = 0.0
        self.is_refining = False
        """Whether what is shown still comes nearer to the picture."""

    def on_mount(self) -> None:
        """Refine at rest; take nothing for granted after a layout or another screen."""
        self._rest = self.set_interval(REFINE_SECONDS, self._refine, pause=True)
        self.screen.screen_layout_refresh_signal.subscribe(self, self._laid_out)
        self.app.screen_change_signal.subscribe(self, self._screen_changed)

    # -- pictures

    @property
    def ready(self) -> bool:
        """Whether the terminal has room for a picture; where not, ``Ready`` follows."""
        if self._pacer is None or self.app.is_headless or self._pacer.ready:
            return True
        if not self._waiting:
            self._waiting = True
            self.set_timer(self._pacer.wait, self._look_again)
        return False

    def show(self, solved: Solved) -> None:
        """Show a picture; the rows that differ enough are drawn again."""
        if self._encoder is None or self._encoder.size != solved.size:
            self._encoder = self._make_encoder(solved)
        self._solved, self._shown_at = solved, self._clock()
        allowance = self._pacer.allowance if self._pacer is not None else None
        most = None if allowance is None else allowance // CELL_BYTES
        self._draw(self._encoder.follow(solved, most))
        if self.is_attached:
            self.is_refining = True
            self._rest.resume()

    @property
    def solved(self) -> Solved | None:
        """The picture that was shown last."""
        return self._solved

    def invalidate(self) -> None:
        """Something may have drawn over the view: what is drawn next is sent whole."""
        self._own.clear()
        self._open.clear()
        if self._encoder is not None:
            self._encoder.invalidate()

    @staticmethod
    def acknowledged(views: Iterable["FrameView"]) -> None:
        """The terminal reported its cursor: it has come to the end of one picture of these views.

        Views that share a pacer share its pictures under way, so that one report is one picture.
        """
        told = list(views)
        for pacer in {view._pacer for view in told}:
            if pacer is not None:
                pacer.reply()
        for view in told:
            view._look_again()

    def _look_again(self) -> None:
        if self._waiting:
            self._waiting = False
            if self.ready:
                self.post_message(self.Ready())

    def _refine(self) -> None:
        """A little nearer to the picture, until nothing is left to do."""
        resting = self._clock() - self._shown_at >= REST_SECONDS
        if self._encoder is None or self._solved is None or not resting:
            return
        if self._pacer is None or self._pacer.ready:
            rows = self._encoder.aim(self._solved, STILL, REFINE_CELLS)
            self._draw(rows)
            if not rows:
                self.is_refining = False
                self._rest.pause()

    def _draw(self, rows: Iterable[int]) -> None:
        """Have rows drawn: the first for all, where nothing lies over any of them."""
        self._own.update(rows)
        if not self._own:
            return
        is_open = self._own <= self._open and self.screen.is_current
        asked = [min(self._own)] if is_open else self._own
        self.refresh(*[Region(0, row, self.size.width, 1) for row in asked])

    def _left(self) -> None:
        """Someone else drew, and not all of our rows were drawn with it."""
        self._open.clear()
        self.call_later(self._draw, ())

    def _laid_out(self, _: object) -> None:
        """After a layout the screen may have been cleared, unless it was just written whole."""
        self._open.clear()
        if self._painting is not None and not self._painting.was_whole:
            self.invalidate()
            if self._encoder is not None and self._solved is not None:
                self._draw(self._encoder.follow(self._solved))

    def _screen_changed(self, _: object) -> None:
        self.invalidate()

    # -- the compositor's side

    def render_lines(self, crop: Region) -> list[Strip]:
        """The rows of a region of the widget."""
        encoder, solved = self._encoder, self._solved
        if encoder is None or solved is None or encoder.size != self.size:
            return [Strip.blank(crop.width) for _ in crop.line_range]
        if self.region != self._place:
            self._place = self.region
            self.invalidate()
        self._painting = painting = Painting(
            encoder,
            solved,
            self._own,
            self._open,
            crop.height,
            (self.region.y, self.region.x),
            self._sent,
            self._left,
            coloured=self._coloured,
        )
        width = self.size.width
        return [PictureStrip(painting, row, crop.x, crop.right, width) for row in crop.line_range]

    def _sent(self, size: int) -> str:
        """Told of each picture sent; gives what is to follow it."""
        if self._pacer is None:
            return ""
        asks = self._pacer.acknowledged
        self._pacer.sent(size)
        return ACKNOWLEDGE if asks else ""
