"""Every frame asked for is the frame that comes, whatever the file and the order of asking."""

import random
import zlib

import numpy as np
import pytest
from av.video.frame import VideoFrame

from tests.proofs import mostly_proofs
from tests.tui.footage.clips import Clip, read_number
from tests.tui.footage.conftest import HEALTHY, START, MakeClip, OpenClip
from tui.footage.decoder import Decoder
from tui.footage.footage import Footage
from tui.footage.packets import PacketSource
from tui.footage.picture import Painter


def digest(frame: VideoFrame) -> int:
    """A checksum of every sample of the decoded frame."""
    value = 0
    for plane in frame.planes:
        value = zlib.crc32(np.ascontiguousarray(np.from_dlpack(plane)).data, value)
    return value


def decode(decoder: Decoder, frame: int, first: int = 0) -> dict[int, VideoFrame]:
    """What comes out on the way to ``frame``, with all from ``first`` on if it begins anew."""
    came: dict[int, VideoFrame] = {}
    assert decoder.fetch(frame, came.__setitem__, first=first)
    return came


def in_order(footage: Footage) -> dict[int, VideoFrame]:
    """Every frame, decoded from the first to the last."""
    decoder = footage.decoder()
    came: dict[int, VideoFrame] = {}
    for frame in range(footage.frames):
        if frame not in came:
            came |= decode(decoder, frame)
    decoder.close()
    return came


def requests(count: int) -> list[int]:
    """Jumps, steps back over a key frame, steps forward, and both ends."""
    jumps = random.Random(7).sample(range(count), 12)
    middle = count // 2
    return [*jumps, *range(middle + 8, middle - 8, -1), *range(5, 12), 0, count - 1, count - 2, 0]


EVERY_DAY = (
    "mp4", "every frame a key", "open GOP, mpeg-ts", "variable frame rate", "rotated by 90",
    "HEVC, 10 bits", "MPEG-2, program stream",
)  # fmt: skip
"""Clips that every run of the tests asks for their frames; the rest is for the proofs."""


@pytest.mark.parametrize("name", mostly_proofs(HEALTHY, EVERY_DAY))
def test_every_frame_is_the_one_asked_for(name: str, clip: MakeClip, opened: OpenClip) -> None:
    made = clip(name)
    footage = opened(made)
    assert footage.frames == len(made.numbers)
    painter = Painter()
    frames = in_order(footage)
    shown = [read_number(painter.full(frames[n])) for n in range(footage.frames)]
    assert shown == list(made.numbers)
    digests = {n: digest(frame) for n, frame in frames.items()}
    decoder = footage.decoder()
    for number, wanted in enumerate(requests(footage.frames) * 2):
        first = (0, wanted, wanted - 5)[number % 3]
        for n, frame in decode(decoder, wanted, first).items():
            assert digest(frame) == digests[n], f"frame {n} on the way to {wanted}"
    decoder.close()
    assert footage.ledger.flaws() == ()


@pytest.mark.parametrize(
    "name",
    mostly_proofs(
        [
            "mp4", "mkv", "mpeg-ts", "flv", "fragmented mp4", "open GOP, mp4", "open GOP, mpeg-ts",
            "H.264, avi",
        ],
        ["mp4", "open GOP, mpeg-ts", "H.264, avi"],
    ),
)  # fmt: skip
def test_what_no_other_frame_builds_on_is_left_out_on_the_way(
    name: str, clip: MakeClip, opened: OpenClip
) -> None:
    footage = opened(clip(name))
    wanted = int(footage.index.first_frame(int(footage.index.keys[1]))) + 27
    decoder = footage.decoder()
    came = decode(decoder, wanted, wanted - 10)
    assert set(range(wanted - 10, wanted + 1)) <= set(came)
    assert 0 < len([n for n in came if n < wanted - 10]) <= 10
    # and what was left out is there when it is wanted itself
    assert set(decode(decoder, wanted - 1, wanted - 20)) >= set(range(wanted - 20, wanted))
    decoder.close()


@pytest.mark.parametrize(
    "name",
    mostly_proofs(
        ["no B-frames", "every frame a key", "HEVC, 10 bits", "VP9, webm"],
        ["no B-frames", "HEVC, 10 bits"],
    ),
)
def test_nothing_is_left_out_that_may_be_built_on(
    name: str, clip: MakeClip, opened: OpenClip
) -> None:
    footage = opened(clip(name))
    decoder = footage.decoder()
    came = decode(decoder, 50, 50)
    decoder.close()
    assert min(came) == footage.index.first_frame(int(footage.index.start_of[50]))
    assert len(came) == 51 - min(came)


@pytest.mark.parametrize("name", mostly_proofs(HEALTHY, (*EVERY_DAY, "edit list")))
def test_every_frame_has_its_own_time(name: str, clip: MakeClip, opened: OpenClip) -> None:
    made = clip(name)
    footage = opened(made)
    start = START.get(made.path.suffix, 0) - (made.seconds[0] if made.path.suffix == ".ts" else 0)
    if made.path.suffix == ".flv":
        start = footage.time(0) - made.seconds[0]  # counted from the first decoding time
    if name.startswith("H.264"):
        start = 0  # the order is found by decoding; nothing is put off for it
    if name == "fragmented mp4":
        start = footage.time(0)  # no edit list takes the reordering delay off again
    for frame in range(footage.frames):
        # a container may round to its own unit, a millisecond at most
        assert abs(footage.time(frame) - start - made.seconds[frame]) <= footage.time_base


@pytest.mark.parametrize("name", ["mp4", "variable frame rate", "dropped frames", "mkv"])
def test_a_time_finds_the_frame_that_is_shown_then(
    name: str, clip: MakeClip, opened: OpenClip
) -> None:
    footage = opened(clip(name))
    for frame in range(footage.frames):
        assert footage.frame_at(footage.time(frame)) == frame
    for frame in range(1, footage.frames):
        assert footage.frame_at(footage.time(frame) - footage.time_base / 2) == frame - 1
    assert footage.frame_at(footage.time(0) - 1) == 0
    assert footage.frame_at(footage.time(footage.frames - 1) + 1) == footage.frames - 1


def test_a_frame_that_is_not_there_is_refused(clip: MakeClip, opened: OpenClip) -> None:
    footage = opened(clip("mp4"))
    for frame in (-1, footage.frames):
        with pytest.raises(IndexError, match="frames 0 to 299"):
            footage.pts(frame)


def test_the_order_of_frames_in_avi_is_found_by_decoding(clip: MakeClip, opened: OpenClip) -> None:
    """AVI stores no times, and those worked out for reordered H.264 are those of decoding."""
    index = opened(clip("H.264, avi")).index
    assert np.all(np.diff(index.packet_pts) == 1)
    assert np.any(np.diff(index.packet_of) < 0)
    assert index.found_by_decoding
    assert index.pts.tolist() == sorted(index.packet_dts.tolist())


def test_a_seek_that_the_container_refuses_still_finds_the_frame(
    clip: MakeClip, opened: OpenClip, monkeypatch: pytest.MonkeyPatch
) -> None:
    made = clip("mkv")
    footage = opened(made)
    monkeypatch.setattr(PacketSource, "_landings", lambda self, start: iter(()))
    decoder = footage.decoder()
    frame = decode(decoder, 100)[100]
    decoder.close()
    assert read_number(Painter().full(frame)) == 100


def test_repeated_pictures_keep_their_own_numbers(clip: MakeClip, opened: OpenClip) -> None:
    made: Clip = clip("repeated pictures")
    assert len(set(made.numbers)) < len(made.numbers) == opened(made).frames


def test_a_run_that_was_stopped_tells_nothing_against_its_frame(
    clip: MakeClip, opened: OpenClip
) -> None:
    footage = opened(clip("mp4"))
    decoder = footage.decoder()
    answers = iter([False] * 5 + [True])  # and false again, as when it is wanted once more
    assert not decoder.fetch(90, lambda *_: None, lambda: next(answers, False))
    assert footage.ledger.flaws() == ()
    assert 90 in decode(decoder, 90)
    decoder.close()
