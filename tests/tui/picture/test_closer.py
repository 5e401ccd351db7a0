"""The frame on its board as the lens asks for it."""

from fractions import Fraction

import numpy as np
import pytest

from tests.tui.picture.rasters import random_picture
from tests.tui.plain_pictures import HalfBlocks
from tui.picture.cells import Pixels, frame_board
from tui.picture.lens import Viewing, closer_board, crossed, difference, toned

COLUMNS, ROWS = 61, 20
EARLIER, LATER = (200, 30, 30), (30, 30, 200)
MIDDLE = (Fraction(1, 2), Fraction(1, 2))
PAINTER = HalfBlocks()
"""Two square sub-cells a cell: a board is COLUMNS across and 2 * ROWS down."""


def sanitize(colour: tuple[int, int, int], width: int = 160, height: int = 90) -> Pixels:
    return np.full((height, width, 3), colour, np.uint8)


def scene(seed: int) -> Pixels:
    return random_picture(seed, 160, 90)


def board_of(*pictures: Pixels, wish: Viewing | None = None) -> Pixels:
    board, _ = closer_board(pictures, wish or Viewing(), COLUMNS, ROWS, PAINTER)
    return board


def shown(board: Pixels) -> Pixels:
    """What lies on the board: everything but rows and columns that are black throughout."""
    lit = board.max(axis=2) > 0
    rows, columns = np.flatnonzero(lit.any(axis=1)), np.flatnonzero(lit.any(axis=0))
    return board[rows[0] : rows[-1] + 1, columns[0] : columns[-1] + 1]


def test_one_picture_without_a_wish_is_the_plain_frame() -> None:
    board, fitted = closer_board([scene(1)], Viewing(), COLUMNS, ROWS, PAINTER)
    expected, expected_fit = frame_board(scene(1), COLUMNS, ROWS, PAINTER)
    assert (board == expected).all()
    assert fitted == expected_fit


@pytest.mark.parametrize("columns", [60, 61, 20, 2])
def test_a_pair_shares_the_board_the_earlier_frame_on_the_left(columns: int) -> None:
    board, fitted = closer_board(
        [sanitize(EARLIER), sanitize(LATER)], Viewing(), columns, ROWS, PAINTER
    )
    share = max(1, (columns - 1) // 2)
    left, right = shown(board[:, :share]), shown(board[:, -share:])
    assert columns == 2 or not board[:, share:-share].any()  # a gap, so that they do not merge
    assert left.shape == right.shape == (fitted.height, fitted.width, 3)
    assert (left == EARLIER).all()
    assert (right == LATER).all()
    assert fitted.scale == pytest.approx(max(160 / share, 90 / (2 * ROWS)))


def test_what_moved_takes_the_whole_board() -> None:
    board, fitted = closer_board(
        [scene(1), scene(2)], Viewing(against=True), COLUMNS, ROWS, PAINTER
    )
    alone, alone_fit = closer_board([scene(2)], Viewing(), COLUMNS, ROWS, PAINTER)
    assert fitted == alone_fit
    assert shown(board).shape == shown(alone).shape
    assert (shown(board) == difference(shown(board_of(scene(1))), shown(alone))).all()


def test_what_moved_is_told_between_sub_cells_and_not_between_pixels_that_nobody_sees() -> None:
    y, x = np.indices((80, 120))
    board = (x + y) % 2 * 255
    before = np.repeat(board[..., None], 3, axis=2).astype(np.uint8)
    after = 255 - before
    # every pixel changed, but each sub-cell covers 2 by 2 of them and stays as grey as it was
    made, fitted = closer_board([before, after], Viewing(against=True), 60, 20, PAINTER)
    assert fitted.scale == 2
    grey = made[..., 0]
    assert (made == grey[..., None]).all()


@pytest.mark.parametrize("local", [False, True])
def test_nothing_seems_to_move_beside_what_moved(local: bool) -> None:
    before = np.full((40, 61, 3), 100, np.uint8)
    after = before.copy()
    after[15:25, 20:30] = 200
    board = board_of(before, after, wish=Viewing(local=local, against=True))
    coloured = (board != board[..., :1]).any(axis=2)
    moved = np.zeros_like(coloured)
    moved[15:25, 20:30] = True
    assert (coloured == moved).all()


def test_a_frame_alone_is_not_set_against_anything() -> None:
    assert (board_of(scene(1), wish=Viewing(against=True)) == board_of(scene(1))).all()


@pytest.mark.parametrize("wish", [Viewing(brightness=2), Viewing(contrast=-3), Viewing(local=True)])
def test_tones_reach_every_picture_of_a_pair(wish: Viewing) -> None:
    def hue(pixels: Pixels) -> Pixels:
        return toned(pixels, wish.brightness, wish.contrast, wish.local)

    share = COLUMNS // 2
    board, bare = board_of(scene(1), scene(2), wish=wish), board_of(scene(1), scene(2))
    for part in (slice(0, share), slice(share, None)):
        assert (shown(board[:, part]) == hue(shown(bare[:, part]))).all()
    if wish.local:
        return
    against = board_of(
        scene(1), scene(2), wish=Viewing(wish.brightness, wish.contrast, against=True)
    )
    expected = difference(hue(shown(board_of(scene(1)))), hue(shown(board_of(scene(2)))))
    assert (shown(against) == expected).all()


@pytest.mark.parametrize("pictures", [1, 2])
def test_a_cross_lies_in_the_middle_of_each_picture(pictures: int) -> None:
    made = [sanitize(EARLIER), sanitize(LATER)][:pictures]
    board, bare = board_of(*made, wish=Viewing(cross=MIDDLE)), board_of(*made)
    for part in (
        (slice(None),) if pictures == 1 else (slice(COLUMNS // 2), slice(-COLUMNS // 2, None))
    ):
        assert (shown(board[:, part]) == crossed(shown(bare[:, part]), MIDDLE)).all()
        assert (board[:, part] != bare[:, part]).any()


def test_a_cross_over_what_moved_is_drawn_once_and_is_no_movement() -> None:
    wish = Viewing(cross=MIDDLE, against=True)
    made = shown(board_of(scene(1), scene(2), wish=wish))
    bare = shown(board_of(scene(1), scene(2), wish=Viewing(against=True)))
    assert (made == crossed(bare, MIDDLE)).all()


@pytest.mark.parametrize("size", [(1, 1), (1, 90), (160, 1), (4000, 3)])
@pytest.mark.parametrize("pictures", [1, 2])
@pytest.mark.parametrize("against", [True, False])
def test_any_size_is_drawn(size: tuple[int, int], pictures: int, against: bool) -> None:
    made = [sanitize(EARLIER, *size)] * pictures
    for columns, rows in ((1, 1), (2, 6), (61, 20)):
        wish = Viewing(cross=MIDDLE, against=against)
        board, _ = closer_board(made, wish, columns, rows, PAINTER)
        assert board.shape == (2 * rows, columns, 3)
