"""Half blocks, and which rows of two grids differ."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra import numpy as arrays

from tui.picture.cells import Cells, Pixels
from tui.picture.halfblocks import HalfBlocks

PICTURES = st.tuples(st.integers(1, 6), st.integers(1, 6)).flatmap(
    lambda size: arrays.arrays(np.uint8, (2 * size[0], size[1], 3))
)


@given(pixels=PICTURES)
def test_each_cell_has_exactly_the_colours_of_its_two_pixels(pixels: Pixels) -> None:
    cells = HalfBlocks().paint(pixels)
    columns, rows = cells.size
    assert (columns, 2 * rows) == (pixels.shape[1], pixels.shape[0])
    for row in range(rows):
        for column in range(columns):
            assert chr(cells.glyphs[row, column]) == "▀"
            assert tuple(cells.fore[row, column]) == tuple(pixels[2 * row, column])
            assert tuple(cells.back[row, column]) == tuple(pixels[2 * row + 1, column])


@given(pixels=PICTURES)
def test_the_same_picture_changes_no_row(pixels: Pixels) -> None:
    paint = HalfBlocks().paint
    assert paint(pixels).changed_rows(paint(pixels.copy())) == []


@given(pixels=PICTURES, data=st.data())
def test_only_rows_with_a_changed_pixel_change(pixels: Pixels, data: st.DataObject) -> None:
    height, width, _ = pixels.shape
    spots = data.draw(
        st.sets(st.tuples(st.integers(0, height - 1), st.integers(0, width - 1)), max_size=4)
    )
    other = pixels.copy()
    for y, x in spots:
        other[y, x, 0] ^= 1
    paint = HalfBlocks().paint
    assert paint(other).changed_rows(paint(pixels)) == sorted({y // 2 for y, _ in spots})


def test_another_glyph_is_a_change() -> None:
    cells = HalfBlocks().paint(np.zeros((6, 2, 3), np.uint8))
    glyphs = cells.glyphs.copy()
    glyphs[1, 0] = ord("x")
    assert Cells(glyphs, cells.fore, cells.back).changed_rows(cells) == [1]


@pytest.mark.parametrize("shape", [(4, 2, 3), (6, 3, 3)])
def test_a_grid_of_another_size_changes_every_row(shape: tuple[int, int, int]) -> None:
    cells = HalfBlocks().paint(np.zeros((6, 2, 3), np.uint8))
    other = HalfBlocks().paint(np.zeros(shape, np.uint8))
    assert cells.changed_rows(other) == [0, 1, 2]


def test_the_first_grid_changes_every_row() -> None:
    assert HalfBlocks().paint(np.zeros((4, 1, 3), np.uint8)).changed_rows(None) == [0, 1]
