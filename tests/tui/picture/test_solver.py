import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.proofs import examples
from tests.tui.picture.rasters import Values, cell_errors, random_picture, raster
from tests.tui.plain_pictures import HalfBlocks
from tui.picture.cells import Pixels
from tui.picture.glyphs import BLOCKS, GlyphSet, Mask
from tui.picture.solver import (
    BLOCK_PAINTER,
    FLAT_GAIN,
    HALF_PAINTER,
    OCTANT_PAINTER,
    BlockSums,
    Drawing,
    GlyphPainter,
    PatternSums,
)

PAINTERS = [BLOCK_PAINTER, OCTANT_PAINTER, HALF_PAINTER]
ROUNDING = 0.25
"""What rounding both colours to whole levels can add to a mean squared error, and float32."""

slowly = examples(few=10, many=80)

seeds = st.integers(0, 10**6)
painters = st.sampled_from(PAINTERS)


def picture(seed: int, painter: GlyphPainter, columns: int = 9, rows: int = 6) -> Pixels:
    across, down = painter.sub_cells
    return random_picture(seed, columns * across, rows * down)


def errors_of(painter: GlyphPainter, pixels: Pixels) -> Values:
    return cell_errors(pixels, painter.paint(pixels), painter.glyphs)


def best_by_brute_force(pixels: Pixels, glyphs: GlyphSet) -> Values:
    """The least error of any glyph with the means of its two parts, cell by cell."""
    across, down = glyphs.sub_cells
    rows, columns = pixels.shape[0] // down, pixels.shape[1] // across
    best = np.empty((rows, columns))
    for row, column in np.ndindex(rows, columns):
        cell = pixels[row * down :, column * across :][:down, :across].astype(float)
        best[row, column] = min(_error(cell, mask) for mask in glyphs.known.values())
    return best


def _error(cell: Values, mask: Mask) -> float:
    parts = [cell[part] for part in (mask, ~mask) if part.any()]
    return sum(float(((part - part.mean(axis=0)) ** 2).sum()) for part in parts) / cell.size


@slowly
@given(seeds, painters)
def test_no_other_glyph_and_colours_come_nearer(seed: int, painter: GlyphPainter) -> None:
    pixels = picture(seed, painter, 3, 2)
    least = best_by_brute_force(pixels, painter.glyphs)
    assert (errors_of(painter, pixels) <= least + FLAT_GAIN + ROUNDING).all()


@slowly
@given(seeds)
def test_blocks_are_never_worse_than_half_blocks(seed: int) -> None:
    pixels = picture(seed, BLOCK_PAINTER)
    halves = pixels.reshape(-1, 4, *pixels.shape[1:]).mean(axis=1)
    halves = halves.reshape(len(halves), -1, 8, 3).mean(axis=2)
    cells = HalfBlocks().paint((halves + 0.5).astype(np.uint8))
    theirs = cell_errors(pixels, cells, BLOCKS)
    assert (errors_of(BLOCK_PAINTER, pixels) <= theirs + FLAT_GAIN + ROUNDING).all()


@slowly
@given(seeds, st.sampled_from([BLOCK_PAINTER, OCTANT_PAINTER]))
def test_blocks_and_octants_are_never_worse_than_quadrants(
    seed: int, painter: GlyphPainter
) -> None:
    pixels = picture(seed, painter, 3, 2)
    quadrants = quadrants_of(painter.glyphs)
    theirs = best_by_brute_force(pixels, quadrants)
    assert (errors_of(painter, pixels) <= theirs + FLAT_GAIN + ROUNDING).all()


def quadrants_of(glyphs: GlyphSet) -> GlyphSet:
    across, down = glyphs.sub_cells
    quarter = (slice(None, None, down // 2), slice(None, None, across // 2))
    ones = np.ones((down // 2, across // 2))
    whole = [i for i, m in enumerate(glyphs.masks) if (np.kron(m[quarter], ones) == m).all()]
    assert len(whole) == 8
    return GlyphSet("quadrants", glyphs.masks[whole], glyphs.direct[whole], glyphs.inverse[whole])


@slowly
@given(st.tuples(*[st.integers(0, 255)] * 3), painters)
def test_a_flat_picture_gives_flat_cells_of_its_colour(
    colour: tuple[int, int, int], painter: GlyphPainter
) -> None:
    across, down = painter.sub_cells
    pixels = np.full((3 * down, 4 * across, 3), colour, np.uint8)
    cells = painter.paint(pixels)
    assert (cells.glyphs == ord(" ")).all()
    assert (cells.back == colour).all()


@slowly
@given(seeds)
def test_the_quick_sums_of_blocks_are_those_of_the_sub_cells(seed: int) -> None:
    pixels = picture(seed, BLOCK_PAINTER)
    quick, plain = BlockSums(pixels), PatternSums(pixels, BLOCKS)
    np.testing.assert_allclose(quick.whole, plain.whole, atol=1e-3)
    np.testing.assert_allclose(
        np.concatenate(list(quick.bands()), 1), np.concatenate(list(plain.bands()), 1), atol=1e-3
    )
    split = np.random.default_rng(seed).integers(0, len(BLOCKS.masks), (6, 9))
    np.testing.assert_allclose(quick.of(split), plain.of(split), atol=1e-3)


@slowly
@given(seeds, painters, st.integers(1, 70))
def test_a_picture_most_of_which_is_the_same_is_solved_as_any_other(
    seed: int, painter: GlyphPainter, size: int
) -> None:
    rng = np.random.default_rng(seed)
    before = painter.solve(picture(seed, painter))
    kept = before.best.split.copy(), before.best.one.copy(), before.sums.whole.copy()
    pixels = before.pixels.copy()
    top, left = (int(rng.integers(0, length)) for length in pixels.shape[:2])
    part = pixels[top : top + size, left : left + size]
    part[:] = rng.integers(0, 256, part.shape)
    solution, plain = painter.solve(pixels, before), painter.solve(pixels)
    assert solution.pixels is pixels
    for drawing in (plain.best, before.best):
        np.testing.assert_allclose(solution.cost(drawing), plain.cost(drawing), atol=1e-2)
    np.testing.assert_allclose(
        plain.cost(solution.best), plain.cost(plain.best), atol=ROUNDING + FLAT_GAIN
    )
    for now, then in zip(
        (before.best.split, before.best.one, before.sums.whole), kept, strict=True
    ):
        np.testing.assert_array_equal(now, then)


def test_a_picture_of_another_size_or_for_other_glyphs_is_solved_whole() -> None:
    before = BLOCK_PAINTER.solve(picture(1, BLOCK_PAINTER))
    other = picture(2, BLOCK_PAINTER, 5, 4)
    assert BLOCK_PAINTER.solve(other, before).size == (5, 4)
    octants = OCTANT_PAINTER.solve(picture(1, OCTANT_PAINTER), before)
    assert octants.glyphs is OCTANT_PAINTER.glyphs


@slowly
@given(seeds, painters)
def test_costs_differ_as_the_errors_of_what_is_drawn_do(seed: int, painter: GlyphPainter) -> None:
    rng = np.random.default_rng(seed)
    pixels = picture(seed, painter)
    solution = painter.solve(pixels)
    other = Drawing(
        rng.integers(0, len(painter.glyphs.masks), (6, 9)),
        rng.integers(0, 256, (6, 9, 3), np.uint8),
        rng.integers(0, 256, (6, 9, 3), np.uint8),
    )
    drawn = [
        cell_errors(pixels, type(solution)(painter.glyphs, each, solution.sums).cells(),
                    painter.glyphs)
        for each in (solution.best, other)
    ]  # fmt: skip
    costs = solution.cost(other) - solution.cost(solution.best)
    np.testing.assert_allclose(costs, drawn[1] - drawn[0], atol=0.2)


def test_all_cells_of_a_large_picture_are_solved_like_single_ones() -> None:
    pixels = picture(7, OCTANT_PAINTER, 160, 10)
    whole = OCTANT_PAINTER.paint(pixels)
    for row, column in [(0, 0), (3, 159), (4, 0), (9, 77)]:
        cell = OCTANT_PAINTER.paint(pixels[4 * row : 4 * row + 4, 2 * column : 2 * column + 2])
        assert whole.glyphs[row, column] == cell.glyphs[0, 0]
        assert (whole.fore[row, column] == cell.fore[0, 0]).all()


@slowly
@given(
    painters,
    st.booleans(),
    st.integers(0, 15),
    st.integers(0, 6),
    st.integers(0, 10**6),
)
def test_a_gap_between_two_things_never_shows_as_contact(
    painter: GlyphPainter, upright: bool, at: int, wider: int, seed: int
) -> None:
    """Along every line from one thing to the other, the gap shows in at least a quarter of its
    contrast, wherever it falls among the cells."""
    rng = np.random.default_rng(seed)
    things, ground = rng.integers(0, 256, (2, 3))
    if np.abs(things - ground).max() < 64:
        ground = 255 - things if abs(int(things[0]) - 128) > 32 else np.array([0, 0, 0])
    across, down = painter.sub_cells
    pixels = np.tile(things.astype(np.uint8), (4 * down, 4 * across, 1))
    gap = slice(across + at % across, None) if upright else slice(down + at % down, None)
    wide = painter.least_gap + wider
    place = slice(gap.start, gap.start + wide)
    pixels[(slice(None), place) if upright else (place, slice(None))] = ground
    shown = raster(painter.paint(pixels), painter.glyphs).astype(float)
    contrast = (shown - things) @ (ground - things) / ((ground - things) @ (ground - things))
    seen = contrast.max(axis=1 if upright else 0)
    assert seen.min() >= 0.25


@pytest.mark.parametrize("painter", PAINTERS, ids=lambda painter: painter.name)
def test_painters_say_their_name_and_sub_cells(painter: GlyphPainter) -> None:
    across, down = painter.sub_cells
    assert painter.paint(np.zeros((down, across, 3), np.uint8)).size == (1, 1)
    assert painter.name
