"""Tones, what moved between two frames, and the cross."""

from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tui.picture.cells import Pixels
from tui.picture.lens import LEADING, LUMA, NOISE, TRAILING, crossed, difference, toned

WIDTH, HEIGHT, SIDE = 64, 48, 12


def grey(level: int, width: int = 8, height: int = 4) -> Pixels:
    return np.full((height, width, 3), level, np.uint8)


def square(left: int, top: int, ground: int = 40, level: int = 220) -> Pixels:
    """A square on a plain ground, grey on grey."""
    pixels = grey(ground, WIDTH, HEIGHT)
    pixels[top : top + SIDE, left : left + SIDE] = level
    return pixels


def noisy(pixels: Pixels, seed: int) -> Pixels:
    """A picture with noise; between two of them a luma differs by less than ``NOISE``."""
    most = int(NOISE) // 2 - 1
    rng = np.random.default_rng(seed)
    return (pixels.astype(int) + rng.integers(-most, most + 1, pixels.shape)).astype(np.uint8)


def places(pixels: Pixels, colour: tuple[int, int, int]) -> set[tuple[int, int]]:
    """The places, across and down, that have this colour."""
    return {(int(x), int(y)) for y, x in np.argwhere((pixels == colour).all(axis=2))}


def coloured(pixels: Pixels) -> set[tuple[int, int]]:
    """The places that are not grey, within a step of rounding."""
    spread = pixels.max(axis=2).astype(int) - pixels.min(axis=2)
    return {(int(x), int(y)) for y, x in np.argwhere(spread > 6)}


def covered(left: int, top: int) -> set[tuple[int, int]]:
    """The places of the square."""
    return {(x, y) for x in range(left, left + SIDE) for y in range(top, top + SIDE)}


@pytest.mark.parametrize("step", [(4, 0), (-4, 0), (0, 3), (0, -3), (3, 2), (1, 0), (20, 0)])
@pytest.mark.parametrize("seed", range(3))
def test_a_bright_thing_that_moves_leads_in_red_and_trails_in_blue_and_all_else_is_grey(
    step: tuple[int, int], seed: int
) -> None:
    before, after = (20, 18), (20 + step[0], 18 + step[1])
    shown = difference(noisy(square(*before), seed), noisy(square(*after), seed + 100))
    was, is_now = covered(*before), covered(*after)
    assert places(shown, LEADING) == is_now - was
    assert places(shown, TRAILING) == was - is_now
    assert coloured(shown) == (is_now | was) - (is_now & was)


def test_a_dark_thing_that_moves_leads_in_blue_and_trails_in_red() -> None:
    shown = difference(square(20, 18, 220, 40), square(24, 18, 220, 40))
    assert places(shown, TRAILING) == covered(24, 18) - covered(20, 18)
    assert places(shown, LEADING) == covered(20, 18) - covered(24, 18)


@given(st.integers(0, 255), st.integers(0, 255))
def test_it_is_red_where_it_became_brighter_blue_where_darker_and_grey_within_noise(
    before: int, after: int
) -> None:
    red, _, blue = (int(value) for value in difference(grey(before), grey(after))[0, 0])
    change = after - before
    assert (red > blue) == (change > NOISE + 1) or abs(abs(change) - NOISE) <= 1
    assert (blue > red) == (change < -NOISE - 1) or abs(abs(change) - NOISE) <= 1


def test_what_stands_still_is_the_later_frame_in_dimmed_grey() -> None:
    later = np.array([[[200, 100, 50], [0, 0, 0], [255, 255, 255]]], np.uint8)
    shown = difference(later, later)
    # luma by ITU-R BT.709-6: 0.2126 * 200 + 0.7152 * 100 + 0.0722 * 50 = 117.65
    assert shown[0].tolist() == [[41] * 3, [0] * 3, [89] * 3]


def test_a_change_half_way_is_half_coloured() -> None:
    # 40 of 255 is half way from what is taken for noise, 10, to what is shown in full colour, 70
    shown = difference(grey(50), grey(90))[0, 0]
    assert np.abs(shown - (np.array(LEADING) + 0.35 * 90) / 2).max() <= 1


def test_the_weights_of_luma_make_white_of_white() -> None:
    assert float(LUMA.sum()) == pytest.approx(1)


LEVELS = np.arange(256, dtype=np.uint8).reshape(16, 16, 1).repeat(3, axis=2)
TONES = st.integers(-6, 6)


@given(TONES, TONES)
def test_no_tone_turns_light_and_dark_around(brightness: int, contrast: int) -> None:
    levels = toned(LEVELS, brightness, contrast, local=False)[..., 0].ravel().astype(int)
    assert (np.diff(levels) >= 0).all()


@given(st.integers(-6, 5), TONES)
def test_a_step_of_brightness_darkens_no_level(brightness: int, contrast: int) -> None:
    darker, brighter = (toned(LEVELS, b, contrast, False) for b in (brightness, brightness + 1))
    assert (brighter >= darker).all()
    assert (toned(LEVELS, brightness + 1, 0, False) > toned(LEVELS, brightness, 0, False)).any()


@given(TONES)
def test_brightness_leaves_black_and_white_alone(brightness: int) -> None:
    levels = toned(LEVELS, brightness, 0, local=False)
    assert (levels[0, 0].max(), levels[-1, -1].min()) == (0, 255)


# Gamma 2 ** (-brightness / 3), then 2 ** (contrast / 3) around the middle: reckoned by hand.
@pytest.mark.parametrize(
    ("level", "brightness", "contrast", "shown"),
    [(64, 3, 0, 128), (64, -3, 0, 16), (100, 0, -3, 114), (20, 0, 3, 0), (240, 0, 3, 255)],
)
def test_tones_are_as_their_formula_has_them(
    level: int, brightness: int, contrast: int, shown: int
) -> None:
    assert toned(grey(level), brightness, contrast, local=False)[0, 0].tolist() == [shown] * 3


def test_without_tones_the_picture_is_the_same() -> None:
    assert toned(LEVELS, 0, 0, local=False) is LEVELS


@pytest.mark.parametrize("ground", [20, 230])
def test_local_contrast_brings_out_fine_differences_in_dark_and_pale_places(ground: int) -> None:
    def gap(pixels: Pixels) -> int:
        return int(pixels[24, 30, 0]) - int(pixels[4, 4, 0])

    faint = square(26, 18, ground, ground + 5)
    lifted = toned(faint, 0, 0, local=True)
    assert gap(lifted) > gap(faint)
    assert (toned(grey(ground), 0, 0, local=True) == ground).all()


@given(st.integers(1, 120), st.integers(1, 80), st.fractions(0, 1), st.fractions(0, 1))
def test_a_cross_lies_on_the_row_and_column_of_its_point_and_leaves_that_open(
    width: int, height: int, across: Fraction, down: Fraction
) -> None:
    plain = grey(70, width, height)
    shown = crossed(plain, (across, down))
    assert (plain == 70).all()
    column, row = min(int(across * width), width - 1), min(int(down * height), height - 1)
    drawn = np.argwhere((shown != 70).any(axis=2))
    assert all(y == row or x == column for y, x in drawn)
    assert (shown[row, column] == 70).all()
    arms = {(int(np.sign(x - column)), int(np.sign(y - row))) for y, x in drawn}
    if 4 < column < width - 5 and 4 < row < height - 5:
        assert arms == {(-1, 0), (1, 0), (0, -1), (0, 1)}
