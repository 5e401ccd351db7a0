"""Colours and orientation are as the standards and the file's tags say."""

from fractions import Fraction

import av
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.tui.footage.clips import Pixels
from tui.footage.picture import Colours, Orientation, Painter, fitted, no_picture

# Luma and the two colour differences (Y, Cb, Cr) of red, green and blue in 8 bits, limited range:
# ITU-R BT.601-7 and BT.709-6, quantised.
BT601 = ((81, 90, 240), (145, 54, 34), (41, 240, 110))
BT709 = ((63, 102, 240), (173, 42, 26), (32, 240, 118))
RGB = ((255, 0, 0), (0, 255, 0), (0, 0, 255))
UNSPECIFIED, MATRIX_709, MATRIX_601, MATRIX_2020 = 2, 1, 5, 9  # ITU-T H.273, table 4
LIMITED, FULL = 1, 2


def flat(
    samples: tuple[int, int, int],
    *,
    matrix: int,
    size: tuple[int, int] = (64, 32),
    pixel_format: str = "yuv420p",
    colour_range: int = 0,
) -> av.VideoFrame:
    """A frame of one colour with the tags given."""
    frame = av.VideoFrame(*size, pixel_format)
    deep = pixel_format.endswith("10le")
    for plane, value in zip(frame.planes, samples, strict=True):
        dtype = np.dtype("<u2") if deep else np.dtype("u1")
        plane.update(np.full(plane.buffer_size // dtype.itemsize, value, dtype).tobytes())
    frame.colorspace, frame.color_range = matrix, colour_range
    return frame


def centre(pixels: Pixels) -> list[int]:
    height, width = pixels.shape[:2]
    return [int(v) for v in pixels[height // 2, width // 2]]


def near(found: list[int], wanted: tuple[int, int, int], within: int) -> bool:
    return all(abs(f - w) <= within for f, w in zip(found, wanted, strict=True))


@pytest.mark.parametrize("whole", [True, False])
@pytest.mark.parametrize(
    ("matrix", "size", "table"),
    [
        (MATRIX_601, (64, 32), BT601),
        (MATRIX_601, (1280, 720), BT601),
        (MATRIX_709, (64, 32), BT709),
        (MATRIX_709, (1280, 720), BT709),
        (UNSPECIFIED, (720, 576), BT601),
        (UNSPECIFIED, (1280, 720), BT709),
    ],
)
def test_primary_colours_come_back(
    matrix: int,
    size: tuple[int, int],
    table: tuple[tuple[int, int, int], ...],
    whole: bool,
) -> None:
    painter = Painter()
    for samples, rgb in zip(table, RGB, strict=True):
        frame = flat(samples, matrix=matrix, size=size)
        pixels = painter.full(frame) if whole else painter.small(frame, (16, 16))
        # the tables are rounded to whole steps of about 1.2 in RGB
        assert near(centre(pixels), rgb, within=3), centre(pixels)


def test_reading_bt709_by_the_other_matrix_would_show() -> None:
    """The check value by which an untagged file read wrongly is known: red at 230."""
    wrong = Painter().full(flat(BT709[0], matrix=MATRIX_601))
    assert near(centre(wrong), (230, 0, 0), within=3)


def test_ten_bits_give_the_same_colours() -> None:
    for samples, rgb in zip(BT709, RGB, strict=True):
        deep = tuple(4 * v for v in samples)
        frame = flat(deep, matrix=MATRIX_709, pixel_format="yuv420p10le")  # type: ignore[arg-type]
        assert near(centre(Painter().full(frame)), rgb, within=3)


@pytest.mark.parametrize(
    ("pixel_format", "colour_range", "black", "white"),
    [
        ("yuv420p", 0, 16, 235),
        ("yuv420p", LIMITED, 16, 235),
        ("yuv420p", FULL, 0, 255),
        ("yuvj420p", 0, 0, 255),
    ],
)
def test_black_and_white_lie_where_the_range_says(
    pixel_format: str, colour_range: int, black: int, white: int
) -> None:
    for luma, grey in ((black, 0), (white, 255)):
        frame = flat(
            (luma, 128, 128),
            matrix=MATRIX_709,
            pixel_format=pixel_format,
            colour_range=colour_range,
        )
        assert near(centre(Painter().full(frame)), (grey,) * 3, within=1)


def test_what_is_assumed_is_said() -> None:
    untagged = Colours.of(flat((0, 0, 0), matrix=UNSPECIFIED))
    assert (untagged.matrix, untagged.matrix_assumed, untagged.range_assumed) == (
        "BT.601",
        True,
        True,
    )
    tagged = Colours.of(flat((0, 0, 0), matrix=MATRIX_2020, colour_range=LIMITED))
    assert (tagged.matrix, tagged.matrix_assumed, tagged.range_assumed) == ("BT.2020", False, False)
    assert not Colours.of(flat((0, 0, 0), matrix=1, pixel_format="yuvj420p")).range_assumed


QUADRANTS = np.array([[[10] * 3, [20] * 3], [[30] * 3, [40] * 3]], np.uint8)


@pytest.mark.parametrize(
    ("rotation", "mirrored", "corners"),
    [
        (0, False, [[10, 20], [30, 40]]),
        (90, False, [[30, 10], [40, 20]]),
        (180, False, [[40, 30], [20, 10]]),
        (270, False, [[20, 40], [10, 30]]),
        (0, True, [[30, 40], [10, 20]]),
        (180, True, [[20, 10], [40, 30]]),
    ],
)
def test_pictures_are_turned_clockwise(
    rotation: int, mirrored: bool, corners: list[list[int]]
) -> None:
    turned = Orientation(rotation, mirrored).apply(QUADRANTS)
    assert turned[:, :, 0].tolist() == corners


@given(
    st.tuples(st.integers(1, 8000), st.integers(1, 8000)),
    st.fractions(Fraction(1, 2), 2),
    st.tuples(st.integers(1, 2000), st.integers(1, 2000)),
)
def test_a_fitted_picture_is_inside_its_box_and_never_enlarged(
    source: tuple[int, int], aspect: Fraction, box: tuple[int, int]
) -> None:
    width, height = fitted(source, float(aspect), box)
    assert 1 <= width <= box[0]
    assert 1 <= height <= box[1]
    assert width <= max(1, round(source[0] * aspect))
    assert height <= source[1]


def test_pixels_that_are_not_square_are_made_so() -> None:
    assert fitted((720, 576), 16 / 11, (1000, 1000)) == (1000, 550)
    assert fitted((1920, 1080), 1.0, (640, 640)) == (640, 360)


def test_the_stand_in_for_a_missing_picture_is_a_cross_on_grey() -> None:
    pixels = no_picture((90, 60))
    assert pixels.shape == (60, 90, 3)
    assert pixels[0, 0, 0] == pixels[59, 89, 0] > pixels[0, 45, 0]
