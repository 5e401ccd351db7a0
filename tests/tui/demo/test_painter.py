"""Drawing only what changed gives the same picture as drawing everything."""

import numpy as np
import pytest

from tests.tui.demo.filming import score
from tui.demo import drawings
from tui.demo.painter import ScenePainter
from tui.demo.performance import perform
from tui.demo.score import RunScore


@pytest.mark.parametrize("fault", ["contact", "wrist", "held cup"])
def test_a_frame_drawn_after_others_equals_the_frame_drawn_alone(fault: str) -> None:
    performance = perform(score(RunScore(fault=fault, frames=3)))
    for number, planes in enumerate(ScenePainter(performance, 0.25).frames()):
        if number % 61 == 0:
            alone = next(ScenePainter(performance, 0.25).frames(number))
            assert np.array_equal(planes, alone), number


def test_a_frame_has_the_planes_of_yuv420p() -> None:
    planes = next(ScenePainter(perform(score()), 0.25).frames())
    assert planes.shape == (180 * 3 // 2, 320)
    assert planes.dtype == np.uint8


@pytest.mark.parametrize(
    ("colour", "encoded"),
    [((255, 0, 0), (63, 102, 240)), ((0, 255, 0), (173, 42, 26)), ((0, 0, 255), (32, 240, 118))],
)
def test_colours_are_encoded_as_bt_709_says(
    colour: tuple[int, int, int], encoded: tuple[int, int, int]
) -> None:
    # 8-bit values of ITU-R BT.709 in limited range, as a reference library gives them
    assert drawings.encoded_colour(colour) == encoded
