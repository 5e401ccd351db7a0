import numpy as np
import pyte
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.proofs import examples
from tests.tui.picture.emulator import Colour, Emulator, Shown, error_shown, errors_shown, rgb
from tests.tui.picture.rasters import random_picture
from tui.picture.cells import Pixels
from tui.picture.delta import MOVING, NOISE, ROUGH, STILL, DeltaEncoder, Fineness, Solved
from tui.picture.escapes import RowText
from tui.picture.palette import INDEXED_16, INDEXED_256, NO_COLOUR, TRUECOLOUR, Palette
from tui.picture.solver import (
    BLOCK_PAINTER,
    HALF_PAINTER,
    LETTER_PAINTER,
    OCTANT_PAINTER,
    GlyphPainter,
)

SIZE = COLUMNS, ROWS = 13, 5
PAINTERS = [BLOCK_PAINTER, OCTANT_PAINTER, HALF_PAINTER]

slowly = examples(few=10, many=80)
seeds = st.integers(0, 10**6)
painters = st.sampled_from(PAINTERS)
finenesses = st.sampled_from([MOVING, STILL, Fineness(0.0, 0.0, 0.0)])


def solved(seed: int, painter: GlyphPainter = BLOCK_PAINTER) -> Solved:
    across, down = painter.sub_cells
    return painter.solve(random_picture(seed, COLUMNS * across, ROWS * down))


def neighbour(pixels: Pixels, seed: int) -> Pixels:
    """The next picture: a part of it differs, all of it has noise."""
    rng = np.random.default_rng(seed)
    changed = pixels + rng.normal(0, 2, pixels.shape)
    top, left = (int(rng.integers(0, length)) for length in pixels.shape[:2])
    changed[top : top + 9, left : left + 20] = rng.integers(0, 256, 3)
    return np.clip(changed, 0, 255).astype(np.uint8)


def encoder(painter: GlyphPainter, palette: Palette = TRUECOLOUR) -> DeltaEncoder:
    return DeltaEncoder(painter.glyphs, palette, SIZE, repeats=True)


def write(screen: Emulator, coder: DeltaEncoder, texts: dict[int, RowText]) -> int:
    """Write rows where they belong, and tell the encoder; the bytes written."""
    for row, text in texts.items():
        screen.feed(f"\x1b[{row + 1};1H{text.text}")
        assert (screen.x, screen.y) == (text.end, row)
        assert (screen.fore, screen.back) == (None, None)
        coder.commit(row)
    return sum(len(text.text.encode()) for text in texts.values())


@slowly
@given(seeds, painters, finenesses)
def test_no_cell_is_worse_than_the_floor_allows_unless_only_noise_changed_in_it(
    seed: int, painter: GlyphPainter, fineness: Fineness
) -> None:
    rng = np.random.default_rng(seed)
    screen, coder = Emulator(*SIZE), encoder(painter)
    across, down = painter.sub_cells
    pixels = random_picture(seed, COLUMNS * across, ROWS * down)
    drawn_for = np.zeros_like(pixels)
    for step in range(5):
        picture = painter.solve(pixels)
        if rng.random() < 0.3:
            coder.invalidate(int(rng.integers(0, ROWS)))
        before = dict(screen.cells)
        write(screen, coder, coder.encode(coder.aim(picture, fineness)))
        for (row, column), cell in screen.cells.items():
            if cell is not before.get((row, column)):
                place = np.s_[
                    row * down : (row + 1) * down, column * across : (column + 1) * across
                ]
                drawn_for[place] = pixels[place]
        off = (pixels.astype(float) - drawn_for) ** 2
        noise = off.reshape(ROWS, down, COLUMNS, across, 3).mean(axis=(1, 3, 4)) <= NOISE**2
        good, was_good = (
            errors_shown(screen, wanted, fineness=fineness) <= fineness.floor**2 + 0.1
            for wanted in (picture, painter.solve(drawn_for))
        )
        assert (good | (noise & was_good)).all()
        assert coder.aim(picture, fineness) == []
        pixels = neighbour(pixels, seed + step)


@slowly
@given(seeds, painters)
def test_rows_that_were_not_written_are_sent_again(seed: int, painter: GlyphPainter) -> None:
    screen, coder = Emulator(*SIZE), encoder(painter)
    write(screen, coder, coder.encode(coder.aim(solved(seed, painter), STILL)))
    picture = solved(seed + 1, painter)
    due = coder.aim(picture, STILL)
    lost = coder.encode(due)
    assert set(lost) == set(due)
    due_again = coder.aim(picture, STILL)
    assert due_again == due
    write(screen, coder, coder.encode(due_again))
    assert error_shown(screen, picture) <= STILL.floor**2 + 0.1


@slowly
@given(seeds, st.sampled_from([INDEXED_256, INDEXED_16]))
def test_listed_colours_are_written_by_number_and_all_is_sent_once(
    seed: int, palette: Palette
) -> None:
    screen, coder = Emulator(*SIZE), encoder(BLOCK_PAINTER, palette)
    picture = solved(seed)
    write(screen, coder, coder.encode(coder.aim(picture, STILL)))
    assert coder.aim(picture, STILL) == []
    assert {type(cell.back) for cell in screen.cells.values()} <= {int, type(None)}
    best = picture.best
    shown = type(best)(best.split, palette.shown(best.one), palette.shown(best.zero))
    least = float((picture.cost(shown) - picture.cost(best)).max())
    listed = palette._colours  # type: ignore[attr-defined]
    assert error_shown(screen, picture, listed) <= least + 1.0


@slowly
@given(seeds, st.integers(1, 40))
def test_a_limit_takes_the_cells_that_gain_most_until_nothing_is_left(seed: int, most: int) -> None:
    screen, coder = Emulator(*SIZE), encoder(BLOCK_PAINTER)
    write(screen, coder, coder.encode(coder.aim(solved(seed), STILL)))
    picture = solved(seed + 1)
    left = error_shown(screen, picture)
    for _ in range(COLUMNS * ROWS):
        rows = coder.aim(picture, STILL, most)
        if not rows:
            break
        texts = coder.encode(rows)
        before = dict(screen.cells)
        write(screen, coder, texts)
        assert sum(before[place] != cell for place, cell in screen.cells.items()) <= most
        now = error_shown(screen, picture)
        assert now <= left + 1.0
        left = now
    assert error_shown(screen, picture) <= STILL.floor**2 + 0.1


def test_a_still_picture_costs_no_bytes_and_a_neighbour_few() -> None:
    screen, coder = Emulator(*SIZE), encoder(BLOCK_PAINTER)
    pixels = np.full((ROWS * 8, COLUMNS * 8, 3), (90, 120, 40), np.uint8)
    full = write(screen, coder, coder.encode(coder.aim(BLOCK_PAINTER.solve(pixels), MOVING)))
    assert full < ROWS * 40
    pixels[16:20, 40:48] = (250, 10, 10)
    rows = coder.aim(BLOCK_PAINTER.solve(pixels), MOVING)
    assert rows == [2]
    assert write(screen, coder, coder.encode(rows)) < 50


def test_a_picture_of_its_own_is_first_shown_roughly_and_a_neighbour_finely() -> None:
    screen, coder = Emulator(*SIZE), encoder(BLOCK_PAINTER)
    light = np.linspace(0, 255, COLUMNS * 8)[None, :, None] * [1.0, 0.5, 0.2]
    soft = np.repeat(light, ROWS * 8, axis=0)
    picture = BLOCK_PAINTER.solve(soft.astype(np.uint8))
    rough = write(screen, coder, coder.encode(coder.follow(picture)))
    assert STILL.floor**2 < error_shown(screen, picture, fineness=ROUGH) <= ROUGH.floor**2
    write(screen, coder, coder.encode(coder.follow(picture)))
    assert error_shown(screen, picture, fineness=MOVING) <= MOVING.floor**2
    coder.invalidate()
    assert rough < write(screen, coder, coder.encode(coder.aim(picture, STILL)))


def test_runs_of_one_glyph_are_repeated_only_where_the_terminal_can() -> None:
    flat = BLOCK_PAINTER.solve(np.zeros((ROWS * 8, COLUMNS * 8, 3), np.uint8))
    texts = []
    for repeats in (True, False):
        coder = DeltaEncoder(BLOCK_PAINTER.glyphs, TRUECOLOUR, SIZE, repeats=repeats)
        texts.append(coder.encode(coder.aim(flat, STILL))[0].text)
    assert "\x1b[12b" in texts[0]
    assert texts[1].count(" ") == COLUMNS
    assert len(texts[0]) < len(texts[1])


@slowly
@given(seeds, st.integers(0, COLUMNS - 1), st.integers(1, COLUMNS))
def test_a_piece_of_a_row_is_written_whole_and_leaves_the_row_unknown(
    seed: int, first: int, width: int
) -> None:
    last = min(COLUMNS, first + width)
    screen, coder = Emulator(*SIZE), encoder(BLOCK_PAINTER)
    write(screen, coder, coder.encode(coder.aim(solved(seed), STILL)))
    picture = solved(seed)
    row = seed % ROWS
    reference = {place: cell for place, cell in screen.cells.items() if place[0] == row}
    for column in range(first, last):
        screen.cells[row, column] = Shown("?")
    screen.feed(f"\x1b[{row + 1};{first + 1}H{coder.piece(row, first, last)}")
    assert screen.x == last
    assert all(cell.glyph != "?" for cell in screen.cells.values())
    assert {column for (r, column) in reference if r == row} == set(range(COLUMNS))
    assert coder.aim(picture, STILL) == [row]


def test_without_colour_only_glyphs_are_written() -> None:
    coder = DeltaEncoder(LETTER_PAINTER.glyphs, NO_COLOUR, SIZE)
    picture = LETTER_PAINTER.solve(random_picture(1, COLUMNS, ROWS))
    texts = coder.encode(coder.aim(picture, MOVING))
    assert {len(text.text) for text in texts.values()} == {COLUMNS}
    assert "".join(text.text for text in texts.values()).isascii()
    for row in texts:
        coder.commit(row)
    assert coder.aim(picture, MOVING) == []


def test_rows_with_nothing_to_send_have_no_text() -> None:
    screen, coder = Emulator(*SIZE), encoder(BLOCK_PAINTER)
    write(screen, coder, coder.encode(coder.aim(solved(1), STILL)))
    coder.aim(solved(1), STILL)
    assert coder.encode(range(ROWS)) == {}


@pytest.mark.parametrize("painter", [BLOCK_PAINTER, HALF_PAINTER], ids=lambda p: p.name)
def test_another_emulator_sees_the_same_screen(painter: GlyphPainter) -> None:
    ours = Emulator(*SIZE)
    theirs = pyte.Screen(COLUMNS, ROWS)
    stream = pyte.Stream(theirs)
    coder = DeltaEncoder(painter.glyphs, TRUECOLOUR, SIZE)
    for seed in range(6):
        for row, text in coder.encode(coder.aim(solved(seed, painter), MOVING)).items():
            written = f"\x1b[{row + 1};1H{text.text}"
            ours.feed(written)
            stream.feed(written)
            coder.commit(row)
    for row, column in np.ndindex(ROWS, COLUMNS):
        cell, other = ours.at(row, column), theirs.buffer[row][column]
        assert cell.glyph == other.data
        assert _hex(cell.fore) == other.fg
        assert _hex(cell.back) == other.bg


def _hex(colour: Colour) -> str:
    return "default" if colour is None else bytes(rgb(colour)).hex()
