"""Carried clips: every frame, asked for in any order, is the one of a plain decode."""

from collections.abc import Callable, Sequence
from contextlib import closing
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from random import Random
from zlib import crc32

import pytest
from av.video.frame import VideoFrame

from tests.real_footage.clips import CLIPS, CarriedClip
from tests.real_footage.plain_decode import (
    Pixels,
    difference,
    plain_decode,
    plain_pixels,
    plain_stamps,
)
from tui.footage.footage import Footage
from tui.footage.reader import FrameStore

pytestmark = pytest.mark.proof

SIZE = (160, 90)
"""The size that small pictures fit, in pixels."""

SAME = 2.5
"""Levels. Ways to spread colour between pixels differ by up to 1.7 in these clips."""


@dataclass(frozen=True)
class Opened:
    """A carried clip that is open."""

    clip: CarriedClip
    path: Path
    footage: Footage


@pytest.fixture(scope="module", params=CLIPS, ids=lambda clip: clip.name)
def opened(
    request: pytest.FixtureRequest,
    carried_clip: Callable[[CarriedClip], Path],
    open_footage: Callable[..., Footage],
) -> Opened:
    path = carried_clip(request.param)
    return Opened(request.param, path, open_footage(path))


def test_the_index_has_the_frames_and_stamps_of_a_plain_decode(opened: Opened) -> None:
    footage, stamps = opened.footage, plain_stamps(opened.path)
    assert footage.frames == len(stamps) == opened.clip.frames
    assert footage.time_base == opened.clip.time_base
    assert [footage.pts(frame) for frame in range(footage.frames)] == stamps
    assert [footage.time(frame) for frame in range(footage.frames)] == [
        stamp * opened.clip.time_base for stamp in stamps
    ]


def test_every_frame_forward_is_exactly_that_of_a_plain_decode(opened: Opened) -> None:
    decoded: dict[int, int] = {}
    with closing(opened.footage.decoder()) as decoder:
        for number in range(opened.footage.frames):
            assert decoder.fetch(number, lambda n, frame: decoded.update({n: checksum(frame)}))
    assert list(decoded.values()) == [checksum(frame) for frame in plain_decode(opened.path)]
    assert [n for n in range(opened.footage.frames) if opened.footage.ledger.flaw(n)] == [
        *range(opened.footage.frames)[opened.clip.doubted_from or opened.footage.frames :]
    ]


def checksum(frame: VideoFrame) -> int:
    return crc32(frame.to_ndarray(format="rgb24").tobytes())


def forward(frames: int) -> list[int]:
    return list(range(min(frames, 20)))


def backward(frames: int) -> list[int]:
    return list(range(frames - 1, max(frames - 21, -1), -1))


def jumps_and_steps_back(frames: int) -> list[int]:
    ends = [Random(3 + jump).randrange(3, frames) for jump in range(5)]
    return [end - step for end in ends for step in range(4)]


orders = pytest.mark.parametrize("order", [forward, backward, jumps_and_steps_back])


@orders
def test_whole_pictures_are_those_of_a_plain_decode_in_any_order(
    order: Callable[[int], list[int]], opened: Opened
) -> None:
    numbers = order(opened.footage.frames)
    truth = plain_pictures(opened.path, numbers)
    with closing(FrameStore(opened.footage, SIZE)) as store:
        for number in numbers:
            store.get(number)  # moves the playhead, as showing the frame does
            picture = store.full(number)
            doubted = opened.clip.doubted_from is not None and number >= opened.clip.doubted_from
            assert (picture.frame, picture.flaw is not None) == (number, doubted)
            assert picture.pts == opened.footage.pts(number)
            own = difference(picture.pixels, truth[number])
            assert own < SAME
            assert own <= difference(picture.pixels, truth[max(0, number - 1)])


def plain_pictures(path: Path, numbers: Sequence[int]) -> dict[int, Pixels]:
    """The pictures of these frames and of those before them."""
    needed = {*numbers, *(number - 1 for number in numbers)}
    return {n: plain_pixels(frame) for n, frame in enumerate(plain_decode(path)) if n in needed}


def test_small_pictures_are_the_same_in_any_order(opened: Opened) -> None:
    numbers = Random(5).choices(range(opened.footage.frames), k=8)
    asked: dict[int, bytes] = {}
    for order in (numbers, sorted(numbers), sorted(numbers, reverse=True)):
        with closing(FrameStore(opened.footage, SIZE, bound_mb=1)) as store:
            for number in order:
                picture = store.get(number)
                assert (picture.frame, picture.pts) == (number, opened.footage.pts(number))
                shown = picture.pixels.tobytes()
                assert asked.setdefault(number, shown) == shown


def test_the_facts_tell_what_the_file_claims(opened: Opened) -> None:
    facts = opened.footage.facts
    assert facts.frames == opened.clip.frames
    assert facts.declared_frames == (opened.clip.declared or None)
    assert facts.sample_aspect_ratio == (opened.clip.pixel_aspect or 1)
    assert facts.first_pts == opened.clip.first_pts
    assert facts.demux_error is None


def test_each_gap_of_half_an_interval_or_more_is_told(opened: Opened) -> None:
    gaps = opened.clip.gaps
    usual = max(gaps, key=lambda step: gaps[step])
    long = {step: count for step, count in gaps.items() if step >= usual * Fraction(3, 2)}
    assert len(opened.footage.facts.gaps) == sum(long.values())
