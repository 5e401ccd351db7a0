"""The pane of pictures: the frame as the lens shows it, and the strip of its neighbours."""

from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager
from dataclasses import dataclass, field
from fractions import Fraction

import numpy as np
import pytest
from textual.app import App, ComposeResult
from textual.widget import Widget

from tests.tui.conftest import PICTURE, PlainPicture
from tests.tui.plain_pictures import HalfBlocks, PlainPictures
from tui.picture.cells import Pixels
from tui.picture.lens import Lens, Pair
from tui.widgets.picturepane import PicturePane, Showing

FRAMES = 40
SMALL = (64, 36)
"""The size of small pictures: a fifth of the footage's ``PICTURE``."""


def shade(frame: int) -> int:
    """The blue by which a frame is known: from 0, 4 a frame."""
    return 4 * frame


class Source:
    """Small pictures red, whole ones green, each with its frame's blue; some not there yet."""

    on_ready: Callable[[int], None] | None = None
    failure: str | None = None

    def __init__(self) -> None:
        self.absent: set[int] = set()
        self.not_whole: set[int] = set()
        self.magnified: list[bool] = []
        self._made: dict[tuple[int, bool], PlainPicture] = {}

    def want(self, frame: int) -> PlainPicture | None:
        return self.peek(frame)

    def peek(self, frame: int) -> PlainPicture | None:
        assert 0 <= frame < FRAMES
        return None if frame in self.absent else self._picture(frame, whole=False)

    def magnify(self, on: bool) -> None:
        self.magnified.append(on)

    def weave(self, on: bool) -> None:
        raise NotImplementedError

    def peek_full(self, frame: int) -> PlainPicture | None:
        return None if frame in self.not_whole else self._picture(frame, whole=True)

    def _picture(self, frame: int, whole: bool) -> PlainPicture:
        width, height = PICTURE if whole else SMALL
        colour = (0, 255, shade(frame)) if whole else (255, 0, shade(frame))
        pixels = np.full((height, width, 3), colour, np.uint8)
        return self._made.setdefault((frame, whole), PlainPicture(frame, pixels))

    def close(self) -> None:
        pass


class Canvas(PlainPictures):
    """Keeps the boards that were drawn, by the view's name; the terminal may have no room."""

    def __init__(self) -> None:
        super().__init__(HalfBlocks())
        self.boards: dict[str | None, list[Pixels]] = {"frame": [], "strip": []}
        self.has_room = True

    @property
    def idle(self) -> bool:  # type: ignore[override]
        return self.has_room

    def ready(self, view: Widget) -> bool:
        return self.has_room

    def show(self, view: Widget, board: Pixels) -> None:
        self.boards[view.id].append(board)
        super().show(view, board)


class Host(App[None]):
    CSS = "#frame { height: 1fr; } #strip { height: 4; }"

    def __init__(self, pane: PicturePane) -> None:
        super().__init__()
        self.pane = pane

    def compose(self) -> ComposeResult:
        yield self.pane


@dataclass
class Stand:
    """A pane and all that it is given."""

    source: Source = field(default_factory=Source)
    canvas: Canvas = field(default_factory=Canvas)
    lens: Lens = field(default_factory=lambda: Lens(*PICTURE))

    def __post_init__(self) -> None:
        self.showing = Showing()
        self.pane = PicturePane(
            self.source, self.canvas, self.lens, FRAMES, self.showing, id="left"
        )

    def draw(self, frame: int) -> bool:
        """Draw a frame; whether it is drawn anew, whole and true."""
        before = len(self.canvas.boards["frame"])
        self.pane.draw(frame)
        return len(self.canvas.boards["frame"]) > before and self.showing.shows(frame)

    @property
    def board(self) -> Pixels:
        """What the frame's view shows."""
        return self.canvas.boards["frame"][-1]

    def strip(self, frame: int) -> list[int | None]:
        """The frames that the strip shows from left to right; none where it is black."""
        self.pane.draw_strip(frame)
        board = self.canvas.boards["strip"][-1]
        count = 7 if board.shape[1] >= 100 else 5
        share = board.shape[1] // count
        middles = (board[board.shape[0] // 2, n * share + share // 2] for n in range(count))
        return [int(blue) // 4 if red else None for red, _, blue in middles]


@pytest.fixture
def stand() -> Stand:
    return Stand()


@asynccontextmanager
async def shown(stand: Stand, columns: int = 80, rows: int = 49) -> AsyncIterator[None]:
    """The pane in a terminal of its own; the strip takes 4 of the rows."""
    async with Host(stand.pane).run_test(size=(columns, rows)) as pilot:
        await pilot.pause()
        yield


def colours(board: Pixels) -> set[tuple[int, ...]]:
    """The colours on a board, the black around its pictures left out."""
    found = np.unique(board.reshape(-1, 3), axis=0)
    return {tuple(map(int, colour)) for colour in found} - {(0, 0, 0)}


def small(frame: int) -> tuple[int, ...]:
    return (255, 0, shade(frame))


def whole(frame: int) -> tuple[int, ...]:
    return (0, 255, shade(frame))


async def test_a_frame_at_hand_is_shown_and_counts_once(stand: Stand) -> None:
    async with shown(stand):
        assert stand.draw(7)
        assert colours(stand.board) == {small(7)}
        assert stand.showing.shows(7)
        assert not stand.showing.shows(8)
        assert not stand.draw(7)
        assert len(stand.canvas.boards["frame"]) == 1
        stand.showing.forget()
        assert stand.draw(7)
        assert len(stand.canvas.boards["frame"]) == 2


async def test_until_a_frame_is_there_the_one_before_stays_shown(stand: Stand) -> None:
    stand.source.absent = {8}
    async with shown(stand):
        assert not stand.showing.shows(7)
        stand.draw(7)
        assert not stand.draw(8)
        assert stand.showing.shows(7)
        assert len(stand.canvas.boards["frame"]) == 1


async def test_nothing_is_drawn_while_the_terminal_has_no_room(stand: Stand) -> None:
    async with shown(stand):
        stand.canvas.has_room = False
        assert not stand.draw(7)
        stand.pane.draw_strip(7)
        assert stand.showing.picture is None
        assert stand.canvas.boards == {"frame": [], "strip": []}
        stand.canvas.has_room = True
        assert stand.draw(7)


async def test_only_the_lens_asks_for_all_pixels(stand: Stand) -> None:
    async with shown(stand):
        stand.draw(7)
        stand.lens.zoom(1)
        stand.draw(7)
        stand.lens.plain()
        stand.draw(7)
        assert stand.source.magnified == [False, True, False]


async def test_under_the_lens_a_frame_is_shown_only_with_all_its_pixels(stand: Stand) -> None:
    stand.source.not_whole = {7}
    async with shown(stand):
        stand.draw(7)
        stand.lens.zoom(3)
        assert not stand.draw(7)
        assert not stand.showing.shows(7)
        # meanwhile the small picture is shown enlarged
        assert colours(stand.board) == {small(7)}
        assert not stand.draw(7)
        assert len(stand.canvas.boards["frame"]) == 2
        stand.source.not_whole = set()
        assert stand.draw(7)
        assert stand.showing.shows(7)
        assert colours(stand.board) == {whole(7)}


async def test_the_small_picture_enlarged_is_of_the_same_part(stand: Stand) -> None:
    for width, height, is_whole in ((*SMALL, False), (*PICTURE, True)):
        picture = stand.source._picture(7, is_whole)
        picture.pixels[:] = 10
        # the right lower eighth by eighth: a lens of 8 times in that corner sees nothing else
        picture.pixels[height * 7 // 8 :, width * 7 // 8 :] = 200
    stand.lens.zoom(5)
    stand.lens.nudge(*PICTURE)
    stand.source.not_whole = {7}
    async with shown(stand):
        stand.draw(7)
        first = stand.board
        stand.source.not_whole = set()
        assert stand.draw(7)
        assert colours(first) == colours(stand.board) == {(200, 200, 200)}


@pytest.mark.parametrize(("zooms", "zoom"), [(0, 1), (1, 2), (3, 4), (7, 16)])
async def test_the_scale_is_in_pixels_of_the_footage_as_far_as_the_picture_at_hand_has_them(
    stand: Stand, zooms: int, zoom: int
) -> None:
    stand.lens.zoom(zooms)
    async with shown(stand):  # 80 by 45 cells of half blocks: 80 sub-cells across are the fewer
        for not_whole in ({7}, set[int]()):
            stand.source.not_whole = not_whole
            stand.draw(7)
            merged = PICTURE[0] / SMALL[0] if not_whole or zoom == 1 else 0
            least = max(PICTURE[0] / zoom / 80, merged)
            assert stand.pane.scale == pytest.approx(least, rel=0.15)
        assert stand.pane.words == f"{stand.pane.scale:.1f} px/sub-cell"


@pytest.mark.parametrize("zooms", [0, 3])
async def test_enlarging_a_small_picture_promises_no_more_than_its_pixels(
    stand: Stand, zooms: int
) -> None:
    stand.lens.zoom(zooms)
    async with shown(stand, 400, 120):  # more sub-cells than the small picture has pixels
        stand.draw(7)
        merged = PICTURE[0] / SMALL[0]
        assert stand.pane.scale == (
            merged if zooms == 0 else pytest.approx(PICTURE[1] / 4 / 232, 0.1)
        )


@pytest.mark.parametrize("aspect", [Fraction(16, 11), Fraction(11, 16)])
@pytest.mark.parametrize("pair", [Pair.OFF, Pair.SIDE])
async def test_pixels_that_are_not_square_keep_their_shape_under_the_lens(
    aspect: Fraction, pair: Pair
) -> None:
    stand = Stand(lens=Lens(*PICTURE, aspect))
    stand.lens.zoom(3)
    stand.lens.show_pair(pair)
    async with shown(stand):
        stand.draw(7)
        lit = stand.board.max(axis=2) > 0
        height = np.count_nonzero(lit.any(axis=1))
        width = np.count_nonzero(lit.any(axis=0)) / (1 if pair is Pair.OFF else 2)
        # half blocks are square, and so is what they show once its width is stretched
        assert width / height == pytest.approx(80 * aspect / 45, rel=0.05)
        across, down = 80 / width, 45 / height
        assert stand.pane.scale == pytest.approx(max(across, down), rel=0.05)


@pytest.mark.parametrize("pair", [Pair.SIDE, Pair.DIFFERENCE])
async def test_a_pair_waits_for_both_its_frames(stand: Stand, pair: Pair) -> None:
    stand.source.absent = {6}
    stand.lens.show_pair(pair)
    async with shown(stand):
        assert not stand.draw(7)
        assert not stand.showing.shows(7)
        stand.source.absent = set()
        assert stand.draw(7)
        assert stand.showing.shows(7)


async def test_a_pair_side_by_side_has_the_earlier_frame_on_the_left(stand: Stand) -> None:
    stand.lens.show_pair(Pair.SIDE)
    async with shown(stand):
        stand.draw(7)
        left, right = np.split(stand.board, 2, axis=1)
        assert colours(left) == {small(6)}
        assert colours(right) == {small(7)}


async def test_what_moved_is_over_the_later_frame_in_grey(stand: Stand) -> None:
    stand.lens.show_pair(Pair.DIFFERENCE)
    async with shown(stand):
        stand.draw(7)
        ((red, green, blue),) = colours(stand.board)
        assert red == green == blue


@pytest.mark.parametrize("pair", [Pair.SIDE, Pair.DIFFERENCE])
async def test_the_first_frame_has_no_pair(stand: Stand, pair: Pair) -> None:
    stand.lens.show_pair(pair)
    async with shown(stand):
        assert stand.draw(0)
        assert colours(stand.board) == {small(0)}


async def test_a_pair_under_the_lens_waits_for_all_pixels_of_both(stand: Stand) -> None:
    stand.source.not_whole = {6}
    stand.lens.zoom(3)
    stand.lens.show_pair(Pair.SIDE)
    async with shown(stand):
        assert not stand.draw(7)
        assert colours(stand.board) == {small(6), whole(7)}
        assert not stand.showing.shows(7)
        stand.source.not_whole = set()
        assert stand.draw(7)
        assert colours(stand.board) == {whole(6), whole(7)}


@pytest.mark.parametrize(
    "change",
    [
        lambda lens: lens.brighten(1),
        lambda lens: lens.harden(1),
        Lens.toggle_local,
        lambda lens: lens.show_pair(Pair.SIDE),
        lambda lens: lens.zoom(1),
        lambda lens: lens.mark(7),
    ],
)
async def test_whatever_changes_what_is_seen_is_drawn(
    stand: Stand, change: Callable[[Lens], None]
) -> None:
    async with shown(stand):
        stand.draw(7)
        change(stand.lens)
        assert stand.draw(7)
        assert len(stand.canvas.boards["frame"]) == 2


@pytest.mark.parametrize("rows", [4, 5, 9])
async def test_a_picture_that_shows_nothing_to_anybody_is_not_shown(
    stand: Stand, rows: int
) -> None:
    async with shown(stand, 80, rows):
        assert not stand.draw(7)
        assert stand.showing.picture is None


async def test_the_strip_shows_the_neighbours_at_its_spacing_in_turn(stand: Stand) -> None:
    async with shown(stand):
        assert stand.strip(20) == [18, 19, 20, 21, 22]
        for spacing in (2, 5, 10, 1):
            stand.pane.change_spacing()
            assert stand.pane.spacing == spacing
            assert stand.strip(20) == [
                frame if 0 <= frame < FRAMES else None
                for frame in range(20 - 2 * spacing, 20 + 2 * spacing + 1, spacing)
            ]


async def test_a_wide_strip_shows_one_more_on_either_side(stand: Stand) -> None:
    async with shown(stand, 120):
        assert stand.strip(20) == [17, 18, 19, 20, 21, 22, 23]


async def test_the_strip_leaves_out_what_is_not_there(stand: Stand) -> None:
    stand.source.absent = {2}
    async with shown(stand):
        assert stand.strip(1) == [None, 0, 1, None, 3]
        assert stand.strip(FRAMES - 1) == [FRAMES - 3, FRAMES - 2, FRAMES - 1, None, None]
