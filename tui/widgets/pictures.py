"""Pictures on a screen: views that show them, and what is drawn on these."""

from functools import partial
from typing import Protocol

from textual.widget import Widget

from tui.picture.cells import CellPainter, Pixels
from tui.picture.choice import Choice
from tui.picture.delta import DeltaEncoder, Encoder, Solved
from tui.picture.pacing import Pacer
from tui.picture.palette import NO_COLOUR
from tui.picture.pixels import IMAGES, KittyEncoder, PixelPainter, SixelEncoder
from tui.picture.solver import GlyphPainter, Solution
from tui.widgets.frameview import FrameView


class Pictures(Protocol):
    """Makes views of pictures and draws on them."""

    words: str
    """What is in use, for the status line."""
    note: str
    """What is to be said of it at the beginning; mostly nothing."""
    doubt: str
    """Why contact cannot be judged however much is enlarged; mostly empty."""

    @property
    def painter(self) -> CellPainter:
        """What pictures are scaled for."""
        ...

    @property
    def idle(self) -> bool:
        """Whether the line to the terminal has room for more than the frame."""
        ...

    def frame_view(self, name: str) -> Widget:
        """A new view for the frame."""
        ...

    def strip_view(self, name: str) -> Widget:
        """A new view for the strip."""
        ...

    def ready(self, view: Widget) -> bool:
        """Whether a view takes a picture now; where not, ``FrameView.Ready`` follows."""
        ...

    def show(self, view: Widget, board: Pixels) -> None:
        """Draw a picture, in sub-cells, on a view."""
        ...


def encoder_for(choice: Choice, first_image: int, solved: Solved) -> Encoder:
    """A new encoder for pictures like a solved one; images are numbered from ``first_image``."""
    painter = choice.painter
    if isinstance(painter, PixelPainter) and painter.registers:
        return SixelEncoder(solved.size, painter.sub_cells, choice.palette, painter.registers)
    if isinstance(painter, PixelPainter):
        return KittyEncoder(solved.size, painter.sub_cells, choice.palette, first_image)
    return DeltaEncoder(solved.glyphs, choice.palette, solved.size, repeats=choice.repeats)


class DeltaPictures:
    """Cells that matter, paced by the terminal's acknowledgements."""

    def __init__(self, choice: Choice) -> None:
        self.painter, self.words, self.doubt = choice.painter, choice.words, choice.doubt
        self.note = " ".join(part for part in (choice.refused, choice.doubt) if part)
        self._choice = choice
        self._pacer = Pacer(acknowledged=choice.acknowledged)
        self._images = 0

    @property
    def idle(self) -> bool:
        """Whether no picture is under way."""
        return self._pacer.idle

    def frame_view(self, name: str) -> Widget:
        """A view that is paced."""
        return self._view(name, self._pacer)

    def strip_view(self, name: str) -> Widget:
        """A view that is drawn on when the line has room."""
        return self._view(name, None)

    def _view(self, name: str, pacer: Pacer | None) -> Widget:
        self._images += IMAGES
        make = partial(encoder_for, self._choice, self._images)
        return FrameView(make, pacer, coloured=self._choice.palette is not NO_COLOUR, id=name)

    def ready(self, view: Widget) -> bool:
        """Whether the terminal has room for a picture."""
        assert isinstance(view, FrameView)
        return view.ready

    def show(self, view: Widget, board: Pixels) -> None:
        """Solve, and send what differs enough."""
        assert isinstance(view, FrameView)
        if isinstance(self.painter, GlyphPainter) and isinstance(view.solved, Solution):
            view.show(self.painter.solve(board, view.solved))
        else:
            view.show(self.painter.solve(board))
