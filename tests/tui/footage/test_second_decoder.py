"""Our frames are, sample for sample, those of another program where that one is exact too.

The other is the ffmpeg command line that the package imageio-ffmpeg carries, decoding in order
from the first frame. Clips that its own output timing would alter are left out.
"""

import subprocess
from pathlib import Path

import imageio_ffmpeg
import numpy as np
import pytest
from av.video.frame import VideoFrame

from tests.proofs import mostly_proofs
from tests.tui.footage.clips import Clip, Pixels
from tests.tui.footage.conftest import MakeClip, OpenClip
from tests.tui.footage.test_exact_frames import EVERY_DAY, in_order
from tui.footage.picture import Orientation
from tui.footage.writer import VideoWriter


def lumas_elsewhere(path: str, size: tuple[int, int]) -> Pixels:
    """The luma of every frame, upright, as the command line gives it."""
    width, height = size
    command = [imageio_ffmpeg.get_ffmpeg_exe(), "-v", "error", "-i", path, "-map", "0:v:0"]
    command += ["-fps_mode", "passthrough", "-pix_fmt", "yuv420p", "-f", "rawvideo", "-"]
    data = subprocess.run(command, check=True, capture_output=True, timeout=60).stdout
    frame = width * height * 3 // 2
    return np.frombuffer(data, np.uint8).reshape(-1, frame)[:, : width * height]


CLIPS = (
    "mp4",
    "mkv",
    "mpeg-ts",
    "flv",
    "edit list",
    "variable frame rate",
    "late start, mp4",
    "open GOP, mp4",
    "open GOP, mpeg-ts",
    "HEVC, open GOP",
    "intra refresh",
    "dropped frames",
    "rotated by 90",
    "rotated by 180",
    "rotated by 270",
    "MPEG-4, mp4",
    "VP9, webm",
    "sound longer than picture",
)


@pytest.mark.parametrize("name", mostly_proofs(CLIPS, EVERY_DAY))
def test_another_program_decodes_the_same_frames(
    name: str, clip: MakeClip, opened: OpenClip
) -> None:
    made = clip(name)
    footage = opened(made)
    theirs = lumas_elsewhere(str(made.path), (footage.width, footage.height))
    frames = in_order(footage)
    assert len(theirs) == footage.frames
    for n in range(footage.frames):
        ours = upright(frames[n], footage.orientation)
        assert np.array_equal(ours.ravel(), theirs[n]), f"frame {n}"


@pytest.mark.parametrize("mirrored", [False, True])
@pytest.mark.parametrize("rotation", [0, 90, 180, 270])
def test_another_program_turns_pictures_the_same_way(
    rotation: int, mirrored: bool, tmp_path: Path, opened: OpenClip
) -> None:
    path = tmp_path / "a.mp4"
    with VideoWriter(path, (64, 32), 30) as writer:
        # flipped top to bottom, if at all, after the rotation
        writer._stream.set_display_rotation(-rotation, vflip=mirrored)
        writer.write(np.random.default_rng(1).integers(0, 255, (32, 64, 3), np.uint8))
    footage = opened(Clip(path, (), ()))
    assert footage.facts.mirrored is mirrored
    theirs = lumas_elsewhere(str(path), (footage.width, footage.height))
    ours = upright(in_order(footage)[0], footage.orientation)
    assert np.array_equal(ours.ravel(), theirs[0])


def upright(frame: VideoFrame, orientation: Orientation) -> Pixels:
    luma = np.asarray(np.from_dlpack(frame.planes[0]), np.uint8)
    return orientation.apply(luma[:, :, None])[:, :, 0]
