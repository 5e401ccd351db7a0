import itertools

import numpy as np
import pyte
from hypothesis import given
from hypothesis import strategies as st

from tests.proofs import examples
from tests.tui.picture.emulator import Emulator, errors_shown
from tests.tui.picture.rasters import random_picture
from tests.tui.picture.test_delta import _hex
from tui.picture.cells import Pixels
from tui.picture.delta import FEW, MOVING, DeltaEncoder
from tui.picture.escapes import cursor_to
from tui.picture.palette import INDEXED_256, NO_COLOUR, TRUECOLOUR
from tui.picture.solver import (
    BLOCK_PAINTER,
    HALF_PAINTER,
    LETTER_PAINTER,
    OCTANT_PAINTER,
    GlyphPainter,
)
from tui.picture.strokes import MOST_INKS, choose_inks

SIZE = COLUMNS, ROWS = 24, 9
SCREEN = 31, 12
PLACES = [(0, 0), (2, 7), (3, 3)]
"""Rows and columns of the picture on the screen; at the second it ends at the right edge."""

slowly = examples(few=10, many=80)
seeds = st.integers(0, 10**6)
painters = st.sampled_from([BLOCK_PAINTER, OCTANT_PAINTER, HALF_PAINTER])


def things(seed: int, painter: GlyphPainter) -> Pixels:
    """A few things of one colour each on a ground, at places that differ with each seed."""
    rng = np.random.default_rng(seed)
    across, down = painter.sub_cells
    pixels = np.full((ROWS * down, COLUMNS * across, 3), (40, 44, 52), np.uint8)
    for colour in np.random.default_rng(5).integers(0, 256, (5, 3)):
        top, left = rng.integers(0, ROWS * down), rng.integers(0, COLUMNS * across)
        pixels[top : top + 2 * down + 1, left : left + 4 * across + 1] = colour
    return pixels


def encoder(painter: GlyphPainter, *, repeats: bool = False) -> DeltaEncoder:
    return DeltaEncoder(painter.glyphs, TRUECOLOUR, SIZE, repeats=repeats)


def first(screen: Emulator, coder: DeltaEncoder, pixels: Pixels, place: tuple[int, int]) -> None:
    """Write a first picture row by row."""
    painter = BLOCK_PAINTER if coder._glyphs is BLOCK_PAINTER.glyphs else OCTANT_PAINTER
    painter = HALF_PAINTER if coder._glyphs is HALF_PAINTER.glyphs else painter
    due = coder.aim(painter.solve(pixels), MOVING)
    for row, text in coder.encode(due).items():
        screen.feed(cursor_to(place[0] + row, place[1]) + text.text)
    coder.commit(*due)


@slowly
@given(seeds, painters, st.sampled_from(PLACES), st.booleans())
def test_scattered_cells_are_written_wherever_they_are_and_no_others(
    seed: int, painter: GlyphPainter, place: tuple[int, int], repeats: bool
) -> None:
    screen, coder = Emulator(*SCREEN), encoder(painter, repeats=repeats)
    first(screen, coder, things(seed, painter), place)
    for step in range(1, 5):
        picture = painter.solve(things(seed + step, painter))
        due = coder.aim(picture, MOVING)
        cells = np.argwhere(coder._send) + place
        before = dict(screen.cells)
        screen.x, screen.y = SCREEN[0], step
        text = coder.scattered(due, place)
        assert text is not None
        screen.feed(text)
        coder.commit(*due)
        assert (screen.fore, screen.back) == (None, None)
        touched = {at for at, cell in screen.cells.items() if cell is not before.get(at)}
        assert touched == set(map(tuple, cells.tolist()))
        errors = errors_shown(screen, picture, at=place, fineness=MOVING)
        assert errors.max() <= MOVING.floor**2 + 0.1
        assert coder.aim(picture, MOVING) == []
    assert screen.doubtful == 0


@slowly
@given(seeds)
def test_scattered_cells_take_fewer_bytes_than_row_by_row(seed: int) -> None:
    coder = encoder(BLOCK_PAINTER)
    first(Emulator(*SCREEN), coder, things(seed, BLOCK_PAINTER), (0, 0))
    due = coder.aim(BLOCK_PAINTER.solve(things(seed + 1, BLOCK_PAINTER)), MOVING)
    together = coder.scattered(due, (0, 0))
    apart = [cursor_to(row, 0) + text.text for row, text in coder.encode(due).items()]
    assert together is not None
    assert len(together.encode()) < len("".join(apart).encode())


def test_another_emulator_sees_the_same_scattered_cells() -> None:
    ours, theirs = Emulator(*SCREEN), pyte.Screen(*SCREEN)
    stream, coder = pyte.Stream(theirs), encoder(BLOCK_PAINTER)
    for seed in range(12):
        due = coder.aim(BLOCK_PAINTER.solve(things(seed, BLOCK_PAINTER)), MOVING)
        text = coder.scattered(due, (2, 7))
        assert text is not None
        ours.feed(text)
        stream.feed(text)
        coder.commit(*due)
    for row, column in np.ndindex(*SCREEN[::-1]):
        cell, other = ours.at(row, column), theirs.buffer[row][column]
        assert cell.glyph == other.data
        assert (_hex(cell.fore), _hex(cell.back)) == (other.fg, other.bg)


def test_many_cells_or_many_colours_are_written_row_by_row() -> None:
    size = (60, FEW // 60 + 1)
    coder = DeltaEncoder(BLOCK_PAINTER.glyphs, TRUECOLOUR, size)
    flat = np.full((size[1] * 8, size[0] * 8, 3), 90, np.uint8)
    due = coder.aim(BLOCK_PAINTER.solve(flat), MOVING)
    assert coder.scattered(due, (0, 0)) is None
    assert coder.scattered(due[1:], (0, 0)) is not None
    coder = encoder(BLOCK_PAINTER)
    noise = np.random.default_rng(1).integers(0, 256, (ROWS * 8, COLUMNS * 8, 3), np.uint8)
    coarse = np.kron(noise[::8, ::4], np.ones((8, 4, 1), np.uint8))
    due = coder.aim(BLOCK_PAINTER.solve(coarse), MOVING)
    assert ROWS * COLUMNS > MOST_INKS
    assert coder.scattered(due, (0, 0)) is None


def test_nothing_to_send_and_no_colours_are_left_to_row_by_row() -> None:
    coder = encoder(BLOCK_PAINTER)
    first(Emulator(*SCREEN), coder, things(1, BLOCK_PAINTER), (0, 0))
    assert coder.scattered([], (0, 0)) is None
    plain = DeltaEncoder(LETTER_PAINTER.glyphs, NO_COLOUR, SIZE)
    due = plain.aim(LETTER_PAINTER.solve(random_picture(1, *SIZE)), MOVING)
    assert plain.scattered(due, (0, 0)) is None


def test_listed_colours_are_told_by_number_in_scattered_cells_too() -> None:
    coder = DeltaEncoder(BLOCK_PAINTER.glyphs, INDEXED_256, SIZE)
    due = coder.aim(BLOCK_PAINTER.solve(things(1, BLOCK_PAINTER)), MOVING)
    text = coder.scattered(due, (0, 0))
    assert text is not None
    assert "48;5;" in text
    assert ";2;" not in text


@slowly
@given(
    st.lists(st.tuples(*[st.integers(0, 40)] * 3), min_size=1, max_size=7),
    st.lists(st.floats(0, 900), min_size=7, max_size=7),
)
def test_inks_serve_every_colour_and_are_about_as_few_as_can_be(
    colours: list[tuple[int, int, int]], reaches: list[float]
) -> None:
    asked, reach = np.array(colours, np.uint8), np.array(reaches[: len(colours)], np.float32)
    inks = choose_inks(asked, reach)
    off = ((asked[:, None].astype(float) - inks.colours[None]) ** 2).sum(axis=-1)
    np.testing.assert_array_equal(inks.serve, off <= reach[:, None] + 1e-3)
    assert inks.serve.any(axis=1).all()
    # the greedy cover is within the harmonic number of the least, Chvatal 1979, from memory
    served = ((asked[:, None].astype(float) - asked[None]) ** 2).sum(axis=-1) <= reach[:, None]
    least = next(
        count
        for count in itertools.count(1)
        for some in itertools.combinations(range(len(asked)), count)
        if served[:, some].any(axis=1).all()
    )
    harmonic = sum(1 / n for n in range(1, len(asked) + 1))
    assert len(inks.colours) <= least * harmonic + 1e-9
