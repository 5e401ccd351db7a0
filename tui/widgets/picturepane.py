"""The pictures of the bench: the frame as the lens shows it, and the strip of its neighbours.

``Showing`` is the one place that knows which frames the reader sees; it knows no terminal.
"""

from collections.abc import Callable, Sequence
from fractions import Fraction

from textual.app import ComposeResult
from textual.containers import Vertical
from textual.widget import Widget

from keymaps.keymap import Keymap
from tui.picture.cells import Pixels, strip_board
from tui.picture.lens import Lens, Pair, Viewing, closer_board, part_of, surely_shows
from tui.picture.source import DecodedFrame, PictureSource
from tui.widgets.pictures import Pictures


class Showing:
    """The pictures that are whole and true on the screen, from left to right.

    ``told`` are those who keep count of what was seen: each is told of a frame by ``seen``.
    """

    def __init__(self, *told: Callable[[int], object]) -> None:
        self._told = told
        self._pictures: tuple[DecodedFrame, ...] = ()
        self._drawn: object = None

    @property
    def picture(self) -> DecodedFrame | None:
        """The picture that is looked at: the last of those on the screen."""
        return self._pictures[-1] if self._pictures else None

    def shows(self, *frames: int) -> bool:
        """Whether the screen shows these frames, the last of them on the right."""
        shown = tuple(picture.frame for picture in self._pictures)
        return bool(frames) and shown[-len(frames) :] == frames

    def is_drawn(self, what: object) -> bool:
        """Whether this was drawn last, pictures, size and lens, so that nothing is to be done."""
        return self._drawn == what

    def drew(self, what: object, pictures: Sequence[DecodedFrame], *, is_exact: bool) -> None:
        """This was drawn; pictures that are not exact yet show no frame to judge by."""
        self._drawn = what
        self._pictures = tuple(pictures) if is_exact else ()

    def hide(self) -> None:
        """There is no room for a picture: nothing is shown."""
        self._pictures, self._drawn = (), None

    def forget(self) -> None:
        """Have everything drawn anew the next time."""
        self._drawn = None

    def seen(self, *frames: int) -> None:
        """The reader has these frames in sight; those who keep count are told, if it is so."""
        if self.shows(*frames):
            for tell in self._told:
                for frame in frames:
                    tell(frame)


NARROW, REACH = 100, (2, 3)
"""The strip shows this many neighbours on either side, in less than so many columns and in more."""

LEAST_ROWS = 6
"""Rows below which a picture shows nothing to anybody, and does not count as shown."""

SPACINGS = (1, 2, 5, 10)
"""Frames from one picture of the strip to the next."""


class PicturePane(Vertical):
    """Draws frames, and tells ``showing`` what is on the screen."""

    def __init__(
        self,
        source: PictureSource,
        pictures: Pictures,
        lens: Lens,
        frames: int,
        showing: Showing,
        *,
        id: str,  # noqa: A002
    ) -> None:
        super().__init__(id=id)
        self._source, self._pictures, self._lens, self.frames = source, pictures, lens, frames
        self._showing = showing
        self.scale = 0.0
        self.spacing = SPACINGS[0]

    def compose(self) -> ComposeResult:
        """The frame above, the strip below."""
        yield self._pictures.frame_view("frame")
        yield self._pictures.strip_view("strip")

    @property
    def words(self) -> str:
        """Pixels of the footage that the narrowest gap which surely shows must have, and more."""
        return f"{self.scale:.1f} px/sub-cell"

    def doubt(self, keymap: Keymap) -> str:
        """Why contact cannot be judged in this picture, in one sentence; empty where it can."""
        if self._pictures.doubt or self.scale <= 1:
            return self._pictures.doubt
        whole = self._lens.is_whole
        key = keymap.first_key("lens" if whole else "lens.enlarge")
        remedy = f"{'take the lens' if whole else 'enlarge more'} ({key})"
        return f"At {self.scale:.1f} pixels a sub-cell contact cannot be judged: {remedy}."

    def draw(self, frame: int) -> None:
        """Draw a frame if it is at hand and the terminal has room."""
        view = self.query_one("#frame", Widget)
        columns, rows = view.size
        if columns < 2 or rows < LEAST_ROWS:
            self._showing.hide()
            return
        if not self._pictures.ready(view):
            return
        self._source.magnify(not self._lens.is_whole)
        parts = self._parts(frame)
        if not parts:
            return
        found, is_exact = [part[0] for part in parts], all(part[2] for part in parts)
        drawn = (*found, is_exact, columns, rows, self._lens.state)
        if self._showing.is_drawn(drawn):
            return
        painter = self._pictures.painter
        pixels = [part[1] for part in parts]
        board, fitted = closer_board(pixels, self._wish(parts), columns, rows, painter)
        self.scale = surely_shows(fitted, pixels[-1], self._lens.box, painter)
        self._pictures.show(view, board)
        self._showing.drew(drawn, found, is_exact=is_exact)

    def draw_strip(self, frame: int) -> None:
        """Draw the neighbours that are at hand, if the line to the terminal has room."""
        view = self.query_one("#strip", Widget)
        columns, rows = view.size
        if not columns or not rows or not self._pictures.idle:
            return
        reach = REACH[columns >= NARROW]
        offsets = (offset * self.spacing for offset in range(-reach, reach + 1))
        pictures = [self._small(frame + offset) for offset in offsets]
        self._pictures.show(view, strip_board(pictures, columns, rows, self._pictures.painter))

    def change_spacing(self) -> None:
        """Space the pictures of the strip by the next number of frames."""
        self.spacing = SPACINGS[(SPACINGS.index(self.spacing) + 1) % len(SPACINGS)]

    def _small(self, frame: int) -> Pixels | None:
        picture = self._source.peek(frame) if 0 <= frame < self.frames else None
        return None if picture is None else picture.pixels

    def _parts(self, frame: int) -> list[tuple[DecodedFrame, Pixels, bool]]:
        """What the lens shows of the frame, and of the one before it where a pair is wanted."""
        wanted = [frame] if self._lens.pair is Pair.OFF or not frame else [frame - 1, frame]
        parts = [self._part(number) for number in wanted]
        return [part for part in parts if part is not None] if None not in parts else []

    def _part(self, frame: int) -> tuple[DecodedFrame, Pixels, bool] | None:
        """A picture, the pixels that the lens takes of it, and whether these are all there are.

        Until all pixels are at hand, the lens shows the small picture enlarged.
        """
        whole = None if self._lens.is_whole else self._source.peek_full(frame)
        picture = whole or self._source.peek(frame)
        if picture is None:
            return None
        part = part_of(picture.pixels, (self._lens.width, self._lens.height), self._lens.box)
        return picture, part, self._lens.is_whole or whole is not None

    def _wish(self, parts: Sequence[tuple[DecodedFrame, Pixels, bool]]) -> Viewing:
        lens = self._lens
        has_own_pixels = parts[-1][2] and not lens.is_whole  # the small ones are made square
        return Viewing(
            brightness=lens.brightness,
            contrast=lens.contrast,
            local=lens.local,
            cross=None if lens.marker is None else lens.aim,
            aspect=lens.aspect if has_own_pixels else Fraction(1),
            against=lens.pair is Pair.DIFFERENCE and len(parts) == 2,
        )
