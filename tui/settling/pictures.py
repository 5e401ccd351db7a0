"""The two frames of a difference side by side, each as the lens shows it."""

from textual.app import ComposeResult

from tui.picture.cells import Pixels
from tui.picture.source import Picture
from tui.widgets.picturepane import PicturePane


class SidesPane(PicturePane):
    """Draws the frame that each side names; any two, where the bench shows neighbours."""

    sides: tuple[int, int] = (0, 0)
    _on_screen: tuple[int, int] | None = None

    def compose(self) -> ComposeResult:
        """Both frames on one view."""
        yield self._pictures.frame_view("frame")

    @property
    def missing(self) -> int | None:
        """The first of the two frames that the source has not decoded yet."""
        whole = self._source.peek if self._lens.is_whole else self._source.peek_full
        return next((frame for frame in self.sides if whole(frame) is None), None)

    def draw_sides(self) -> bool:
        """Draw both frames if they are at hand; whether they are new on the screen."""
        is_new = self.draw(self.sides[1])
        if is_new:
            self._on_screen = self.sides
        return is_new

    @property
    def shows_sides(self) -> bool:
        """Whether both frames are what the screen shows, whole and true."""
        return self.shown is not None and self._on_screen == self.sides

    def _parts(self, frame: int) -> list[tuple[Picture, Pixels, bool]]:
        parts = [self._part(number) for number in self.sides]
        found = [part for part in parts if part is not None]
        return found if len(found) == len(parts) else []
