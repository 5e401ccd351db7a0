"""Fitting a picture into a grid of cells."""

from dataclasses import dataclass

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.tui.plain_pictures import HalfBlocks
from tui.picture.cells import (
    CellPainter,
    Cells,
    Pixels,
    canvas,
    fit,
    frame_board,
    place,
    scaled,
    strip_board,
)
from tui.picture.pixels import PixelPainter
from tui.picture.solver import BLOCK_PAINTER, HALF_PAINTER, OCTANT_PAINTER, SHADE_PAINTER


@dataclass
class Grid:
    """A painter that tells so many sub-cells apart in a cell, and paints nothing."""

    sub_cells: tuple[int, int]
    name: str = "grid"
    least_gap: int = 1

    @property
    def stretch(self) -> float:
        return (2 / self.sub_cells[1]) / (1 / self.sub_cells[0])

    def paint(self, pixels: Pixels) -> Cells:
        raise NotImplementedError


PAINTERS = st.sampled_from([(1, 1), (1, 2), (2, 2), (2, 3), (2, 4)]).map(Grid)
SIZES = st.tuples(st.integers(1, 4000), st.integers(1, 4000))


def white(width: int, height: int) -> Pixels:
    return np.full((height, width, 3), 255, np.uint8)


@given(source=SIZES, columns=st.integers(1, 300), rows=st.integers(1, 100), painter=PAINTERS)
def test_a_picture_is_never_larger_than_the_grid_and_touches_two_of_its_sides(
    source: tuple[int, int], columns: int, rows: int, painter: Grid
) -> None:
    across, down = painter.sub_cells
    fitted = fit(source, columns, rows, painter)
    assert 1 <= fitted.width <= columns * across
    assert 1 <= fitted.height <= rows * down
    assert fitted.width == columns * across or fitted.height == rows * down


@given(source=SIZES, columns=st.integers(1, 300), rows=st.integers(1, 100), painter=PAINTERS)
def test_the_shape_of_the_picture_is_kept_to_within_a_sub_cell(
    source: tuple[int, int], columns: int, rows: int, painter: Grid
) -> None:
    across, down = painter.sub_cells
    fitted = fit(source, columns, rows, painter)
    # a cell is taken to be twice as high as wide, so a sub-cell is 1/across by 2/down
    exact_height = source[1] / fitted.scale
    exact_width = source[0] / fitted.scale * (2 / down) / (1 / across)
    assert abs(fitted.height - max(exact_height, 1)) < 1
    assert abs(fitted.width - max(exact_width, 1)) < 1


@pytest.mark.parametrize(
    ("source", "columns", "rows", "width", "height", "scale"),
    [
        ((1280, 720), 160, 45, 160, 90, 8.0),
        ((1280, 720), 80, 45, 80, 45, 16.0),
        ((720, 1280), 160, 45, 51, 90, 1280 / 90),
        ((64, 64), 64, 32, 64, 64, 1.0),
        ((32, 32), 64, 32, 64, 64, 0.5),
    ],
)
def test_half_blocks_are_square(
    source: tuple[int, int], columns: int, rows: int, width: int, height: int, scale: float
) -> None:
    fitted = fit(source, columns, rows, HalfBlocks())
    assert (fitted.width, fitted.height) == (width, height)
    assert fitted.scale == pytest.approx(scale)


# cells as fonts have them: from xterm's 6 by 13 (X11's "fixed") to 2 : 1 and beyond
@pytest.mark.parametrize("cell", [(6, 13), (8, 16), (8, 17), (9, 21), (11, 20)])
def test_pixels_are_square_whatever_the_shape_of_a_cell(cell: tuple[int, int]) -> None:
    fitted = fit((1280, 720), 120, 30, PixelPainter(cell))
    assert fitted.width / fitted.height == pytest.approx(1280 / 720, rel=0.01)
    assert fitted.scale == pytest.approx(fitted.across)
    assert fitted.width == 120 * cell[0] or fitted.height == 30 * cell[1]


def test_the_other_ways_take_a_cell_to_be_twice_as_high_as_wide() -> None:
    painters: tuple[CellPainter, ...] = (
        BLOCK_PAINTER, OCTANT_PAINTER, HALF_PAINTER, HalfBlocks(), SHADE_PAINTER,
    )  # fmt: skip
    for painter in painters:
        across, down = painter.sub_cells
        assert painter.stretch == 2 * across / down


def test_scaling_by_area_gives_each_sub_cell_the_mean_of_what_it_covers() -> None:
    pixels = np.arange(4 * 6 * 3, dtype=np.uint8).reshape(4, 6, 3)
    halved = scaled(pixels, 3, 2)
    for row in range(2):
        for column in range(3):
            block = pixels[2 * row : 2 * row + 2, 2 * column : 2 * column + 2]
            mean = block.reshape(-1, 3).mean(axis=0)
            assert np.abs(halved[row, column] - mean).max() <= 0.5


def test_a_picture_laid_on_a_canvas_leaves_the_rest_black() -> None:
    board = canvas(5, 3, HalfBlocks())
    assert board.shape == (6, 5, 3)
    place(board, white(2, 2), 1, 3)
    lit = {(int(y), int(x)) for y, x in np.argwhere(board.any(axis=2))}
    assert lit == {(3, 1), (3, 2), (4, 1), (4, 2)}


def test_a_frame_is_centred_and_its_scale_is_told() -> None:
    board, fitted = frame_board(white(100, 100), 60, 10, HalfBlocks())
    assert (fitted.width, fitted.height, fitted.scale) == (20, 20, 5.0)
    lit = np.flatnonzero(board.any(axis=(0, 2)))
    assert (lit[0], lit[-1]) == (20, 39)
    assert board.shape == (20, 60, 3)


@given(
    columns=st.integers(1, 120),
    rows=st.integers(1, 12),
    missing=st.sets(st.integers(0, 6)),
)
def test_a_strip_has_equal_shares_in_order_and_a_missing_picture_is_black(
    columns: int, rows: int, missing: set[int]
) -> None:
    pictures = [
        None if n in missing else np.full((18, 32, 3), 10 + 30 * n, np.uint8) for n in range(7)
    ]
    if columns < 14:
        return
    cells = HalfBlocks().paint(strip_board(pictures, columns, rows, HalfBlocks()))
    assert cells.size == (columns, rows)
    share = columns // 7
    for n in range(7):
        part = np.concatenate(
            [grid[:, n * share : (n + 1) * share] for grid in (cells.fore, cells.back)]
        )
        shades = {int(shade) for shade in np.unique(part)} - {0}
        assert shades == (set() if n in missing else {10 + 30 * n})
    assert not cells.fore[:, 7 * share :].any()


@pytest.mark.parametrize("painter", [HalfBlocks(), OCTANT_PAINTER, BLOCK_PAINTER])
@pytest.mark.parametrize("columns", range(1, 15))
def test_a_strip_too_narrow_for_its_pictures_is_drawn_all_the_same(
    columns: int, painter: CellPainter
) -> None:
    cells = painter.paint(strip_board([white(32, 18)] * 7, columns, 4, painter))
    assert cells.size == (columns, 4)
