"""The facts of a clip are what container and decoder say, and what was counted."""

from fractions import Fraction
from pathlib import Path

import av
import numpy as np
import pytest

from tests.tui.footage import clips
from tests.tui.footage.clips import Clip
from tests.tui.footage.conftest import MakeClip, OpenClip
from tests.tui.footage.test_index import of
from tui.footage.facts import gaps_in
from tui.footage.writer import VideoWriter


def test_the_facts_of_an_ordinary_clip(clip: MakeClip, opened: OpenClip) -> None:
    facts = opened(clip("mp4")).facts
    assert "QuickTime" in facts.container
    assert facts.codec == "h264"
    assert facts.decoder.startswith("h264, libavcodec ")
    assert facts.nominal_rate == 60
    assert (facts.declared_frames, facts.packets, facts.frames) == (300, 300, 300)
    assert facts.pixel_format == "yuv420p"
    assert (facts.matrix, facts.matrix_assumed) == ("BT.709", False)
    assert (facts.full_range, facts.range_assumed) == (False, False)
    assert facts.scan == "progressive"
    assert facts.sample_aspect_ratio == 1
    assert (facts.rotation, facts.mirrored) == (0, False)
    assert (facts.first_pts, facts.gaps, facts.demux_error) == (0, (), None)


def test_a_rotated_clip_is_as_wide_as_it_is_shown(clip: MakeClip, opened: OpenClip) -> None:
    footage = opened(clip("rotated by 90"))
    assert footage.facts.rotation == 90
    assert (footage.width, footage.height) == clips.SIZE


def test_frames_hidden_by_an_edit_list_are_counted_as_packets_only(
    clip: MakeClip, opened: OpenClip
) -> None:
    facts = opened(clip("edit list")).facts
    assert (facts.packets, facts.frames) == (300, 263)


def test_a_cut_off_file_declares_more_than_it_holds(
    clip: MakeClip, tmp_path: Path, opened: OpenClip
) -> None:
    cut = clips.truncate(clip("mp4"), tmp_path / "cut.mp4", Fraction(6, 10))
    facts = opened(cut).facts
    assert facts.declared_frames == 300
    assert facts.packets < 300


def test_a_late_start_is_kept(clip: MakeClip, opened: OpenClip) -> None:
    footage = opened(clip("late start, mkv"))
    assert footage.facts.first_pts == footage.pts(0)
    assert footage.time(0) == Fraction(3, 2)


def test_gaps_in_time_are_named_by_frame_and_missing_time(clip: MakeClip, opened: OpenClip) -> None:
    gaps = opened(clip("dropped frames")).facts.gaps
    assert gaps == ((51, Fraction(3, 60)), (91, Fraction(1, 60)))


@pytest.mark.parametrize(
    ("stamps", "gaps"),
    [
        ([0], ()),
        ([0, 1, 2, 3], ()),
        ([0, 1, 2, 4, 5, 6], ((3, Fraction(1, 60)),)),
        ([0, 2, 4, 7, 9, 11], ((3, Fraction(1, 60)),)),  # one and a half times the usual
        ([0, 3, 6, 10, 13, 16], ()),
        ([5, 5, 5, 5], ()),  # no time passes at all
    ],
)
def test_a_gap_is_one_and_a_half_times_the_usual_interval(
    stamps: list[int], gaps: tuple[tuple[int, Fraction], ...]
) -> None:
    assert gaps_in(of(stamps, [True] * len(stamps))) == gaps


def test_interlaced_footage_is_said_to_be_so(tmp_path: Path, opened: OpenClip) -> None:
    path = tmp_path / "a.mpg"
    options = {"flags": "+ildct+ilme", "b": "4M"}
    with VideoWriter(path, (64, 64), 25, codec="mpeg2video", options=options) as writer:
        for _ in range(5):
            frame = av.VideoFrame.from_ndarray(np.zeros((96, 64), np.uint8), "yuv420p")
            writer.write_frame(frame)
    assert opened(Clip(path, (), ())).facts.scan == "interlaced, the bottom one first"


def test_pixels_that_are_not_square_are_said_to_be_so(tmp_path: Path, opened: OpenClip) -> None:
    path = tmp_path / "a.mp4"
    with VideoWriter(path, (64, 32), 25) as writer:
        writer._stream.sample_aspect_ratio = Fraction(16, 11)
        writer.write(np.zeros((32, 64, 3), np.uint8))
    assert opened(Clip(path, (), ())).facts.sample_aspect_ratio == Fraction(16, 11)


@pytest.mark.parametrize(
    ("size", "matrix"), [((1280, 536), "BT.709"), ((720, 576), "BT.601"), ((960, 720), "BT.709")]
)
def test_untagged_colours_are_taken_by_the_size_of_the_picture(
    size: tuple[int, int], matrix: str, tmp_path: Path, opened: OpenClip
) -> None:
    path = tmp_path / "a.mp4"
    with VideoWriter(path, size, 25, matrix=None) as writer:
        writer.write(np.zeros((size[1], size[0], 3), np.uint8))
    facts = opened(Clip(path, (), ())).facts
    assert (facts.matrix, facts.matrix_assumed) == (matrix, True)


@pytest.mark.parametrize(
    ("code", "rate"), [("10:20:30:05", Fraction(30)), ("01:00:00;02", Fraction(30000, 1001))]
)
def test_the_start_time_code_of_the_recorder_is_read(
    code: str, rate: Fraction, tmp_path: Path, opened: OpenClip
) -> None:
    source, path = tmp_path / "a.mov", tmp_path / "b.mov"
    with VideoWriter(source, clips.SIZE, rate, options=clips.h264()) as writer:
        for number in range(12):
            writer.write(clips.picture(number))
    with av.open(str(source)) as inp, av.open(str(path), "w") as out:
        out.metadata["timecode"] = code
        made = out.add_stream_from_template(inp.streams.video[0])
        for packet in inp.demux(inp.streams.video[0]):
            if packet.size:
                packet.stream = made
                out.mux(packet)
    footage = opened(Clip(path, (), ()))
    assert footage.facts.start_timecode == code
    assert footage.steady_rate == rate
