"""What is known of each carried clip, read off again by a plain decode."""

from collections import Counter
from collections.abc import Callable
from itertools import pairwise
from pathlib import Path

import av
import numpy as np
import pytest

from tests.real_footage.clips import CLIPS, CarriedClip
from tests.real_footage.encoding import Grey
from tests.real_footage.plain_decode import plain_stamps

pytestmark = pytest.mark.proof

each_clip = pytest.mark.parametrize("clip", CLIPS, ids=lambda clip: clip.name)


@each_clip
def test_a_plain_decode_gives_the_known_stamps(
    clip: CarriedClip, carried_clip: Callable[[CarriedClip], Path]
) -> None:
    stamps = plain_stamps(carried_clip(clip))
    assert len(stamps) == clip.frames
    assert stamps[0] == clip.first_pts
    assert Counter(later - earlier for earlier, later in pairwise(stamps)) == clip.gaps


@each_clip
def test_the_container_tells_the_known_facts(
    clip: CarriedClip, carried_clip: Callable[[CarriedClip], Path]
) -> None:
    with av.open(str(carried_clip(clip))) as container:
        stream = container.streams.video[0]
        assert stream.codec_context.name == clip.codec
        assert (stream.width, stream.height) == clip.size
        assert stream.time_base == clip.time_base
        assert stream.frames == clip.declared
        assert stream.sample_aspect_ratio == clip.pixel_aspect


def test_the_cube_pictures_begin_with_the_same_picture_twice(visp_cube_images: list[Grey]) -> None:
    assert len(visp_cube_images) == 218
    assert {image.shape for image in visp_cube_images} == {(480, 640)}
    same = [n for n, (a, b) in enumerate(pairwise(visp_cube_images)) if np.array_equal(a, b)]
    assert same == [0]
