"""Evidence clips: which frames, how slow, and what the margin says."""

import errno
import os
from collections.abc import Iterator
from fractions import Fraction
from io import BytesIO
from itertools import pairwise

import av
import numpy as np
import pytest
from PIL import Image

from sessions.errors import DocumentError
from sessions.ruling.ruling import Place
from tests.tui.documents.conftest import Case
from tui.documents import clips
from tui.documents.clips import SLOWED, Clip, clip, frame_range
from tui.documents.pages import Exhibit, Shot
from tui.footage.footage import Footage
from tui.footage.reader import FrameStore


def exhibit(first: int, last: int) -> Exhibit:
    shots = (
        Shot(place=Place(frame=first), says=("not yet: " + "a long thing is so " * 9,)),
        Shot(place=Place(frame=last)),
    )
    return Exhibit(name="x", run=1, checkpoint="start.grip", moment="a thing", shots=shots)


@pytest.fixture
def footage(case: Case) -> Footage:
    return Footage.open(case.footage)


@pytest.fixture
def store(footage: Footage) -> Iterator[FrameStore]:
    opened = FrameStore(footage, (64, 36))
    yield opened
    opened.close()


def test_a_clip_shows_a_quarter_of_a_second_on_either_side(footage: Footage) -> None:
    # the demo's footage has 60 frames a second
    assert frame_range(exhibit(100, 101), footage) == (85, 116)


def test_a_clip_stays_within_the_footage(footage: Footage) -> None:
    end = footage.frames - 1
    assert frame_range(exhibit(3, 4), footage)[0] == 0
    assert frame_range(exhibit(end - 1, end), footage)[1] == end


def test_the_mp4_runs_at_real_speed_and_then_slowed(footage: Footage, store: FrameStore) -> None:
    made = clip(exhibit(100, 101), footage, store)
    assert (made.first, made.last) == (85, 116)
    with av.open(BytesIO(made.mp4), "r") as container:
        times = [(frame.pts or 0) * (frame.time_base or 0) for frame in container.decode(video=0)]
    steps = [after - before for before, after in pairwise(times)]
    frame = Fraction(1, 60)
    assert len(times) == 64
    assert set(steps[:32]) == {frame}
    assert set(steps[32:]) == {frame * SLOWED}


def test_the_webp_is_slowed_and_keeps_its_whole_length(footage: Footage, store: FrameStore) -> None:
    made = clip(exhibit(100, 101), footage, store)
    picture = Image.open(BytesIO(made.webp))
    assert getattr(picture, "n_frames", 1) == 32
    assert picture.info["loop"] == 0
    total = 0
    for number in range(32):
        picture.seek(number)
        picture.load()
        total += int(picture.info["duration"])
    assert total == round(32 * SLOWED * 1000 / 60)


def test_the_margin_is_written_and_the_picture_above_is_the_frame(
    footage: Footage, store: FrameStore
) -> None:
    made = clip(exhibit(100, 101), footage, store)
    picture = Image.open(BytesIO(made.webp))
    picture.seek(100 - made.first)
    pixels = np.asarray(picture.convert("RGB"), np.int16)
    whole = store.full(100).pixels.astype(np.int16)
    height = whole.shape[0] // 2 * 2
    assert np.abs(pixels[:height] - whole[:height]).mean() < 12
    margin = pixels[height:]
    assert (margin > 180).any()
    assert (margin < 40).mean() > 0.5


def test_what_is_said_stands_only_under_its_own_frame(footage: Footage, store: FrameStore) -> None:
    made = clip(exhibit(100, 101), footage, store)
    assert written(made, 100, footage) > 2 * written(made, 101, footage)


def written(made: Clip, frame: int, footage: Footage) -> int:
    """How many bright pixels the lower line of the margin has."""
    picture = Image.open(BytesIO(made.webp))
    picture.seek(frame - made.first)
    pixels = np.asarray(picture.convert("L"))
    margin = pixels[footage.height // 2 * 2 :]
    return int((margin[margin.shape[0] // 2 :] > 120).sum()) + 1


def test_a_damaged_frame_is_marked_in_the_margin(footage: Footage, store: FrameStore) -> None:
    sound = clip(exhibit(100, 101), footage, store)
    footage.ledger.lose(103, "damaged: a test")
    damaged = clip(exhibit(100, 101), footage, store)
    assert written(damaged, 103, footage) > 5 * written(sound, 103, footage)


def test_a_full_disk_is_said_in_one_sentence(
    footage: Footage, store: FrameStore, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full() -> None:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr(clips, "TemporaryDirectory", full)
    with pytest.raises(DocumentError, match=r"No space left on device.*--clips"):
        clip(exhibit(100, 101), footage, store)
