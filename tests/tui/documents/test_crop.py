"""Where two pictures differ most."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tui.documents.exhibits import Pixels, crop_box
from tui.documents.pages import Box


def grey(width: int, height: int) -> Pixels:
    return np.full((height, width, 3), 90, np.uint8)


def with_patch(picture: Pixels, box: Box) -> Pixels:
    changed = picture.copy()
    changed[box.y : box.y + box.height, box.x : box.x + box.width] = 200
    return changed


def test_equal_pictures_have_nothing_to_look_closer_at() -> None:
    assert crop_box(grey(320, 180), grey(320, 180)) is None


def test_coding_noise_is_no_difference() -> None:
    noise = np.random.default_rng(1).integers(-3, 4, (180, 320, 3))
    assert crop_box(grey(320, 180), (grey(320, 180) + noise).astype(np.uint8)) is None


def test_pictures_that_differ_all_over_are_not_cropped() -> None:
    assert crop_box(grey(320, 180), grey(320, 180) + 100) is None


SIZES = [(1280, 720), (1920, 1080), (180, 320), (101, 77), (10, 8), (1, 1)]


@pytest.mark.parametrize("size", SIZES)
def test_a_small_change_is_cropped_to_a_quarter_of_the_width(size: tuple[int, int]) -> None:
    width, height = size
    patch = Box(x=width // 2, y=height // 2, width=max(1, width // 20), height=max(1, height // 20))
    box = crop_box(grey(width, height), with_patch(grey(width, height), patch))
    if size == (1, 1):
        assert box == Box(x=0, y=0, width=1, height=1)
        return
    assert box is not None
    assert width / 4 <= box.width <= width / 4 + width / 30 + 1
    assert box.x <= patch.x
    assert patch.x + patch.width <= box.x + box.width
    assert box.y <= patch.y
    assert patch.y + patch.height <= box.y + box.height


def test_a_change_lies_in_the_middle_of_its_crop() -> None:
    patch = Box(x=600, y=300, width=40, height=40)
    assert crop_box(grey(1280, 720), with_patch(grey(1280, 720), patch)) == Box(
        x=620 - 160, y=320 - 90, width=320, height=180
    )


def test_changes_far_apart_make_a_wider_crop() -> None:
    once = with_patch(grey(640, 360), Box(x=100, y=180, width=20, height=20))
    twice = with_patch(once, Box(x=330, y=180, width=20, height=20))
    box = crop_box(grey(640, 360), twice)
    assert box is not None
    assert box.width >= 640 * 3 // 8
    assert box.x <= 100


@given(
    st.integers(1, 400), st.integers(1, 300), st.randoms(use_true_random=False), st.integers(0, 5)
)
def test_a_crop_always_lies_within_the_picture(
    width: int, height: int, random: np.random.Generator, patches: int
) -> None:
    changed = grey(width, height)
    for _ in range(patches):
        x, y = int(random.random() * width), int(random.random() * height)
        changed = with_patch(changed, Box(x=x, y=y, width=7, height=9))
    box = crop_box(grey(width, height), changed)
    if box is not None:
        assert 0 <= box.x <= box.x + box.width <= width
        assert 0 <= box.y <= box.y + box.height <= height
        assert box.width * 4 >= width
