"""The countdown clip says in its pictures which frame each of them is."""

from collections.abc import Callable, Iterator
from contextlib import closing
from itertools import islice
from pathlib import Path
from random import Random

import pytest

from tests.real_footage.clips import COUNTDOWN, CarriedClip
from tests.real_footage.countdown import CountdownReader
from tests.real_footage.encoding import Grey
from tests.real_footage.plain_decode import Pixels, plain_decode, plain_pixels
from tui.footage.footage import Footage
from tui.footage.reader import FrameStore

pytestmark = pytest.mark.proof

SIZE = (160, 90)
"""The size that small pictures fit, in pixels."""

LAST = COUNTDOWN.frames - 1


def seconds_left(frame: int) -> int | None:
    """What frame ``frame`` shows: 09:59 in frame 0, 00:01 in the last but one, then nothing."""
    return 599 - frame if frame < LAST else None


@pytest.fixture(scope="module")
def reader(carried_clip: Callable[[CarriedClip], Path]) -> CountdownReader:
    frames = islice(plain_decode(carried_clip(COUNTDOWN)), 10)
    return CountdownReader([grey(plain_pixels(frame)) for frame in frames])


@pytest.fixture
def store(
    carried_clip: Callable[[CarriedClip], Path], open_footage: Callable[..., Footage]
) -> Iterator[FrameStore]:
    with closing(FrameStore(open_footage(carried_clip(COUNTDOWN)), SIZE)) as store:
        yield store


def grey(pixels: Pixels) -> Grey:
    return pixels[..., 1]


def test_a_plain_decode_counts_down(
    carried_clip: Callable[[CarriedClip], Path], reader: CountdownReader
) -> None:
    frames = plain_decode(carried_clip(COUNTDOWN))
    read = [reader.seconds(grey(plain_pixels(frame))) for frame in frames]
    assert read == [seconds_left(frame) for frame in range(COUNTDOWN.frames)]


@pytest.mark.parametrize("order", ["forward", "backward", "jumping"])
def test_frames_count_down_in_every_order(
    order: str, store: FrameStore, reader: CountdownReader
) -> None:
    frames = {
        "forward": range(0, COUNTDOWN.frames, 7),
        "backward": range(LAST, LAST - 70, -1),
        "jumping": Random(1).choices(range(COUNTDOWN.frames), k=40),
    }[order]
    read = {}
    for frame in frames:
        store.get(frame)  # moves the playhead, as showing the frame does
        read[frame] = reader.seconds(grey(store.full(frame).pixels))
    assert read == {frame: seconds_left(frame) for frame in frames}


def test_each_frame_is_shown_a_second_after_the_one_before(store: FrameStore) -> None:
    times = [store.footage.time(frame) for frame in range(COUNTDOWN.frames)]
    assert times == list(range(COUNTDOWN.frames))
