"""Sixels, read by a decoder of the tests' own; a decoder by others checks that one.

See ``tests.real_footage.test_sixels_by_another_decoder``.
"""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.proofs import examples
from tests.tui.picture.emulator import Emulator, pixels_shown
from tests.tui.picture.rasters import random_picture
from tests.tui.picture.sixel_decoder import decoded
from tui.picture.cells import Pixels
from tui.picture.delta import MOVING, STILL
from tui.picture.palette import TRUECOLOUR
from tui.picture.pixels import MOST_COLOURS, MOST_COLUMNS, PixelPainter, SixelEncoder, sixels

CELL = WIDTH, HEIGHT = 10, 20
SIZE = COLUMNS, ROWS = 19, 4
PAINTER = PixelPainter(CELL, 256)


def picture(seed: int) -> Pixels:
    return random_picture(seed, COLUMNS * WIDTH, ROWS * HEIGHT)


def body(text: str) -> str:
    assert text.startswith("\x1bP0;1q")
    assert text.endswith("\x1b\\")
    return text[6:-2]


def whole(pixels: Pixels, colours: int) -> str:
    return sixels(pixels, np.ones(pixels.shape[1], bool), colours)


@examples(few=10, many=50)
@given(st.integers(0, 10**6), st.integers(1, 40), st.integers(1, 90), st.integers(2, 64))
def test_every_pixel_gets_the_nearest_of_few_colours(
    seed: int, height: int, width: int, colours: int
) -> None:
    rng = np.random.default_rng(seed)
    few = rng.integers(0, 256, (min(colours, 6), 3), np.uint8)
    pixels = few[rng.integers(0, len(few), (height, width))]
    shown, drawn = decoded(body(whole(pixels, 64)))
    assert drawn.all()
    # colours are told in percent: half a percent of 255 is 1.3 levels, and both sides round
    assert np.abs(shown.astype(int) - pixels).max() <= 2


@pytest.mark.parametrize("registers", [16, 256])
def test_no_more_colours_are_defined_than_the_terminal_has(registers: int) -> None:
    coder = SixelEncoder(SIZE, CELL, TRUECOLOUR, registers)
    texts = coder.encode(coder.follow(PAINTER.solve(picture(1))))
    for text in texts.values():
        for part in text.text.split("\x1bP")[1:]:
            assert part.count(";2;") <= min(registers, MOST_COLOURS)


def write(screen: Emulator, coder: SixelEncoder, rows: list[int]) -> int:
    texts = coder.encode(rows)
    for row, text in texts.items():
        screen.feed(f"\x1b[{row + 1};1H{text.text}")
        assert (screen.x, screen.y) == (text.end, row)
    coder.commit(*texts)
    return sum(len(text.text) for text in texts.values())


def test_only_tiles_that_changed_are_drawn_and_noise_changes_none() -> None:
    screen, coder = Emulator(*SIZE, cell=CELL), SixelEncoder(SIZE, CELL, TRUECOLOUR, 256)
    pixels = np.kron(picture(3)[::20, ::10], np.ones((20, 10, 1), np.uint8))
    full = write(screen, coder, coder.follow(PAINTER.solve(pixels)))
    noisy = np.clip(
        pixels.astype(int) + np.random.default_rng(1).integers(-2, 3, pixels.shape), 0, 255
    )
    noise = PAINTER.solve(noisy.astype(np.uint8))
    assert coder.follow(noise) == coder.aim(noise, STILL) == []
    changed = pixels.copy()
    changed[25:30, 100:105] = 255 - changed[25:30, 100:105]
    rows = coder.follow(PAINTER.solve(changed))
    assert rows == [1]
    assert coder.encode(rows)[1].text.count("\x1bP") == 1
    assert write(screen, coder, rows) < full / 4
    off = pixels_shown(screen, CELL, (0, 0), SIZE).astype(float) - changed
    assert np.sqrt(np.square(off).mean()) <= MOVING.floor


def test_cells_near_each_other_are_one_picture_that_leaves_those_between_alone() -> None:
    columns = 3 * MOST_COLUMNS
    coder = SixelEncoder((columns, 1), CELL, TRUECOLOUR, 256)
    screen = Emulator(columns, 2, cell=CELL)
    pixels = random_picture(2, columns * WIDTH, HEIGHT)
    write(screen, coder, coder.follow(PAINTER.solve(pixels)))
    before = {place: part.copy() for place, part in screen.sixels.items()}
    changed = pixels.copy()
    for column in (3, 5, 40):
        changed[:, column * WIDTH : (column + 1) * WIDTH] = (9, 200, 90)
    rows = coder.follow(PAINTER.solve(changed))
    assert coder.encode(rows)[0].text.count("\x1bP") == 2
    write(screen, coder, rows)
    assert {x for (_, x), part in screen.sixels.items() if (part != before[0, x]).any()} == {
        3,
        5,
        40,
    }


def test_text_over_a_picture_is_covered_when_it_is_drawn_anew() -> None:
    screen, coder = Emulator(*SIZE, cell=CELL), SixelEncoder(SIZE, CELL, TRUECOLOUR, 256)
    solved = PAINTER.solve(picture(5))
    write(screen, coder, coder.follow(solved))
    screen.feed(f"\x1b[2;5H{coder.piece(1, 4, 9)}")
    assert all(screen.at(1, column).back is not None for column in range(4, 9))
    assert coder.follow(solved) == [1]
    write(screen, coder, [1])
    assert all(screen.at(1, column).back is None for column in range(COLUMNS))
