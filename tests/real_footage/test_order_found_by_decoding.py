"""Real files that do not tell the order of their pictures: every frame is right, none is doubted.

The truth is a plain decode from the first picture to the last, in which pictures come out in the
order shown; of packed pictures, after the library's own filter took them apart.
"""

import gzip
from collections.abc import Callable
from fractions import Fraction
from pathlib import Path

import av
import pytest
from av.bitstream import BitStreamFilterContext

from tests.real_footage.cache import FootageCache
from tests.real_footage.clips import PACKED, STAMPED_AS_DECODED
from tests.real_footage.conftest import files_or_skip
from tests.tui.footage.clips import Pixels
from tests.tui.footage.hard import luma, sound_pictures, tally
from tui.footage.footage import Footage

pytestmark = pytest.mark.proof

Open = Callable[[Path], Footage]


def test_stamps_of_decoding_do_not_make_frames_wrong_or_doubted(
    footage_cache: FootageCache, open_footage: Open, tmp_path: Path
) -> None:
    (packed,) = files_or_skip(footage_cache, STAMPED_AS_DECODED)
    path = tmp_path / "box.mp4"
    path.write_bytes(gzip.decompress(packed.read_bytes()))
    footage = open_footage(path)
    found = tally(footage, sound_pictures(path))
    assert (found.frames, found.wrong, found.missing) == (455, 0, 0)
    assert (found.flagged, found.told) == (0, 0)
    assert footage.index.found_by_decoding


def test_pictures_that_share_a_packet_are_taken_apart(
    footage_cache: FootageCache, open_footage: Open
) -> None:
    (path,) = files_or_skip(footage_cache, PACKED)
    footage = open_footage(path)
    found = tally(footage, taken_apart(path), [Fraction(125, 2997) * n for n in range(270)])
    assert (found.frames, found.wrong, found.missing) == (270, 0, 0)
    assert (found.flagged, found.told) == (0, 0)
    assert found.late == 0


def taken_apart(path: Path) -> list[Pixels]:
    """Every picture in the order in which a plain decoder gives them."""
    with av.open(str(path)) as container:
        stream = container.streams.video[0]
        stream.thread_type, stream.codec_context.thread_count = "SLICE", 1
        apart = BitStreamFilterContext("mpeg4_unpack_bframes", stream)
        return [
            luma(frame)
            for packet in container.demux(stream)
            for one in (apart.filter(packet) if packet.size else [packet])
            for frame in stream.codec_context.decode(one)
        ]
