"""Noise changes nothing on the screen; all else does, however slowly it comes."""

import numpy as np
import pytest

from tests.tui.picture.emulator import Emulator, error_shown, rgb
from tests.tui.picture.rasters import random_picture
from tests.tui.picture.test_delta import COLUMNS, ROWS, SIZE, encoder, write
from tui.picture.cells import Pixels
from tui.picture.delta import ROUGH, STILL, DeltaEncoder
from tui.picture.glyphs import BLOCKS
from tui.picture.palette import INDEXED_16, INDEXED_256, NO_COLOUR, TRUECOLOUR, Palette
from tui.picture.solver import (
    BLOCK_PAINTER,
    HALF_PAINTER,
    LETTER_PAINTER,
    OCTANT_PAINTER,
    SHADE_PAINTER,
    DensityPainter,
    GlyphPainter,
)

PAINTERS = [BLOCK_PAINTER, OCTANT_PAINTER, HALF_PAINTER]
PALETTES = [TRUECOLOUR, INDEXED_256, INDEXED_16]


def noisy(pixels: Pixels, seed: int, most: int = 3) -> Pixels:
    rng = np.random.default_rng(seed)
    changed = pixels.astype(int) + rng.integers(-most, most + 1, pixels.shape)
    return np.clip(changed, 0, 255).astype(np.uint8)


def splits(screen: Emulator) -> dict[tuple[int, int], frozenset[bytes]]:
    """How each cell is split in two, whichever part is painted."""
    known = {place: BLOCKS.known[ord(cell.glyph)] for place, cell in screen.cells.items()}
    return {place: frozenset({m.tobytes(), (~m).tobytes()}) for place, m in known.items()}


@pytest.mark.parametrize("palette", PALETTES, ids=lambda p: p.name)
@pytest.mark.parametrize("painter", PAINTERS, ids=lambda p: p.name)
def test_noise_alone_changes_no_cell(painter: GlyphPainter, palette: Palette) -> None:
    screen, coder = Emulator(*SIZE), encoder(painter, palette)
    across, down = painter.sub_cells
    pixels = random_picture(5, COLUMNS * across, ROWS * down)
    write(screen, coder, coder.encode(coder.aim(painter.solve(pixels), STILL)))
    shown = dict(screen.cells)
    for seed in range(8):
        solved = painter.solve(noisy(pixels, seed))
        assert coder.follow(solved) == []
        assert coder.aim(solved, STILL) == []
    assert screen.cells == shown


@pytest.mark.parametrize("painter", [LETTER_PAINTER, SHADE_PAINTER], ids=lambda p: p.name)
def test_noise_alone_changes_no_letter(painter: DensityPainter) -> None:
    coder = DeltaEncoder(painter.glyphs, NO_COLOUR, SIZE)
    pixels = random_picture(5, *SIZE)
    for row in coder.encode(coder.aim(painter.solve(pixels), STILL)):
        coder.commit(row)
    assert all(coder.aim(painter.solve(noisy(pixels, s)), STILL) == [] for s in range(8))


def test_changes_that_are_each_as_small_as_noise_add_up() -> None:
    screen, coder = Emulator(*SIZE), encoder(BLOCK_PAINTER)
    for level in range(60, 120):
        pixels = np.full((ROWS * 8, COLUMNS * 8, 3), level, np.uint8)
        write(screen, coder, coder.encode(coder.follow(BLOCK_PAINTER.solve(pixels))))
        for cell in screen.cells.values():
            assert abs(rgb(cell.back)[0] - level) <= ROUGH.floor


def test_a_cell_drawn_roughly_is_refined_under_noise_and_keeps_its_glyph() -> None:
    screen, coder = Emulator(*SIZE), encoder(BLOCK_PAINTER)
    light = np.linspace(0, 255, COLUMNS * 8)[None, :, None] * [1.0, 0.5, 0.2]
    pixels = np.repeat(light, ROWS * 8, axis=0).astype(np.uint8)
    picture = BLOCK_PAINTER.solve(pixels)
    write(screen, coder, coder.encode(coder.aim(picture, ROUGH)))
    before = splits(screen)
    assert error_shown(screen, picture) > STILL.floor**2
    write(screen, coder, coder.encode(coder.aim(BLOCK_PAINTER.solve(noisy(pixels, 1)), STILL)))
    assert error_shown(screen, picture) <= STILL.floor**2 + 0.1
    assert splits(screen) == before
