import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.proofs import examples
from tests.tui.picture.emulator import Emulator, pixels_shown
from tests.tui.picture.rasters import random_picture
from tui.picture.cells import Pixels
from tui.picture.delta import MOVING, STILL
from tui.picture.escapes import RowText
from tui.picture.palette import TRUECOLOUR
from tui.picture.pixels import CHUNK, KittyEncoder, PixelPainter
from tui.picture.solver import BLOCK_PAINTER

CELL = WIDTH, HEIGHT = 10, 20
SIZE = COLUMNS, ROWS = 19, 4
PAINTER = PixelPainter(CELL)

slowly = examples(few=8, many=50)


def picture(seed: int) -> Pixels:
    return random_picture(seed, COLUMNS * WIDTH, ROWS * HEIGHT)


def write(screen: Emulator, coder: KittyEncoder, texts: dict[int, RowText]) -> int:
    for row, text in texts.items():
        screen.feed(f"\x1b[{row + 1};1H{text.text}")
        assert (screen.x, screen.y) == (text.end, row)
        coder.commit(row)
    return sum(len(text.text) for text in texts.values())


def worst(screen: Emulator, pixels: Pixels) -> float:
    off = (pixels_shown(screen, CELL, (0, 0), SIZE).astype(float) - pixels) ** 2
    return float(off.reshape(ROWS, HEIGHT, COLUMNS, WIDTH, 3).mean(axis=(1, 3, 4)).max())


def coder() -> KittyEncoder:
    return KittyEncoder(SIZE, CELL, TRUECOLOUR, 1)


@slowly
@given(st.integers(0, 10**6))
def test_no_cell_is_off_by_more_than_the_floor(seed: int) -> None:
    rng = np.random.default_rng(seed)
    screen, encoder, pixels = Emulator(*SIZE), coder(), picture(seed)
    for fineness in (MOVING, STILL, MOVING):
        write(screen, encoder, encoder.encode(encoder.aim(PAINTER.solve(pixels), fineness)))
        assert worst(screen, pixels) <= fineness.floor**2
        assert encoder.aim(PAINTER.solve(pixels), fineness) == []
        pixels = pixels.copy()
        top, left = int(rng.integers(0, 70)), int(rng.integers(0, 170))
        pixels[top : top + 9, left : left + 20] = rng.integers(0, 256, 3)


def test_only_tiles_that_changed_are_sent() -> None:
    screen, encoder, pixels = Emulator(*SIZE), coder(), picture(3)
    full = write(screen, encoder, encoder.encode(encoder.follow(PAINTER.solve(pixels))))
    changed = pixels.copy()
    changed[25:30, 100:105] = 255 - changed[25:30, 100:105]
    texts = encoder.encode(encoder.follow(PAINTER.solve(changed)))
    assert set(texts) == {1}
    assert texts[1].text.count("a=T") == 1
    assert write(screen, encoder, texts) < full / 6


def test_two_source_pixels_that_move_are_seen() -> None:
    screen, encoder = Emulator(*SIZE), coder()
    pixels = np.full((ROWS * HEIGHT, COLUMNS * WIDTH, 3), 60, np.uint8)
    write(screen, encoder, encoder.encode(encoder.follow(PAINTER.solve(pixels))))
    pixels[20:40, 52:54] = 130
    assert encoder.follow(PAINTER.solve(pixels)) == [1]


def test_a_limit_takes_the_worst_tiles_first() -> None:
    screen, encoder = Emulator(*SIZE), coder()
    write(screen, encoder, encoder.encode(encoder.aim(PAINTER.solve(picture(1)), STILL)))
    rounds = 0
    while rows := encoder.aim(PAINTER.solve(picture(2)), STILL, 1):
        texts = encoder.encode(rows)
        assert sum(text.text.count("a=T") for text in texts.values()) == 1
        write(screen, encoder, texts)
        rounds += 1
    assert rounds > 6
    assert worst(screen, picture(2)) <= STILL.floor**2


def test_long_data_goes_in_parts() -> None:
    encoder = KittyEncoder((8, 1), (20, 40), TRUECOLOUR, 1)
    noise = np.random.default_rng(1).integers(0, 256, (40, 160, 3), np.uint8)
    encoder.aim(PixelPainter((20, 40)).solve(noise), STILL)
    text = encoder.encode([0])[0].text
    assert max(len(part) for part in text.split("\x1b\\")) < CHUNK + 120
    screen = Emulator(8, 1)
    screen.feed(text)
    assert (pixels_shown(screen, (20, 40), (0, 0), (8, 1)) == noise).all()


def test_a_piece_is_drawn_in_blocks_and_leaves_the_row_unknown() -> None:
    screen, encoder = Emulator(*SIZE), coder()
    solved = PAINTER.solve(picture(5))
    write(screen, encoder, encoder.encode(encoder.aim(solved, STILL)))
    screen.feed(f"\x1b[2;5H{encoder.piece(1, 4, 9)}")
    assert all(screen.at(1, column).back is not None for column in range(4, 9))
    assert encoder.aim(solved, STILL) == [1]


def test_as_cells_the_picture_is_drawn_in_blocks() -> None:
    cells = PAINTER.paint(picture(2))
    assert cells.size == SIZE
    assert set(cells.glyphs.ravel().tolist()) <= set(BLOCK_PAINTER.glyphs.known)
    solved = PAINTER.solve(picture(2))
    assert (solved.cost(solved.best) <= solved.blocks.cost(solved.best)).all()
    assert solved.glyphs is BLOCK_PAINTER.glyphs


@pytest.mark.parametrize("first", [1, 500])
def test_a_new_picture_forgets_the_images_of_the_one_before(first: int) -> None:
    screen = Emulator(*SIZE)
    for _ in range(2):
        encoder = KittyEncoder(SIZE, CELL, TRUECOLOUR, first)
        texts = encoder.encode(encoder.aim(PAINTER.solve(picture(1)), STILL))
        write(screen, encoder, texts)
        assert len(screen.images) == ROWS * 3
        assert min(screen.images) == first
