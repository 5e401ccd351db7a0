"""The two ways of drawing pictures on the bench: by the library, or by our own view of deltas."""

from typing import Protocol

from textual.widget import Widget

from tui.picture.cells import Painter, Pixels
from tui.picture.choice import Choice
from tui.picture.pacing import Pacer
from tui.widgets.cellsview import CellsView
from tui.widgets.frameview import FrameView


class Pictures(Protocol):
    """Makes views of pictures and draws on them."""

    words: str
    """What is in use, for the status line."""
    note: str
    """What is to be said of it at the beginning; mostly nothing."""

    @property
    def painter(self) -> Painter:
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


class PlainPictures:
    """Cells drawn by the library: understood by every terminal, and whole rows at a time."""

    idle = True
    note = ""

    def __init__(self, painter: Painter) -> None:
        self.painter = painter
        self.words = painter.name

    def frame_view(self, name: str) -> Widget:
        """A view of cells."""
        return CellsView(id=name)

    strip_view = frame_view

    def ready(self, view: Widget) -> bool:
        """Always."""
        return True

    def show(self, view: Widget, board: Pixels) -> None:
        """Paint, and let the library draw the rows that differ."""
        assert isinstance(view, CellsView)
        view.show(self.painter.paint(board))


class DeltaPictures:
    """Cells that matter, paced by the terminal's acknowledgements."""

    def __init__(self, choice: Choice) -> None:
        self.painter, self.words, self.note = choice.painter, choice.words, choice.refused
        self._choice = choice
        self._pacer = Pacer(acknowledged=choice.acknowledged)

    @property
    def idle(self) -> bool:
        """Whether no picture is under way."""
        return self._pacer.idle

    def frame_view(self, name: str) -> Widget:
        """A view that is paced."""
        choice = self._choice
        return FrameView(choice.palette, self._pacer, repeats=choice.repeats, id=name)

    def strip_view(self, name: str) -> Widget:
        """A view that is drawn on when the line has room."""
        return FrameView(self._choice.palette, repeats=self._choice.repeats, id=name)

    def ready(self, view: Widget) -> bool:
        """Whether the terminal has room for a picture."""
        assert isinstance(view, FrameView)
        return view.ready

    def show(self, view: Widget, board: Pixels) -> None:
        """Solve, and send what differs enough."""
        assert isinstance(view, FrameView)
        view.show(self.painter.solve(board))
