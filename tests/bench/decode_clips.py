"""Clips to decode, written by the tests' clip writer: each frame carries its number as blocks."""

from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, field
from fractions import Fraction
from multiprocessing import get_context
from pathlib import Path

from tests.tui.footage.clips import h264, irregular, write

FULL_HD, HD = (1920, 1080), (1280, 720)


@dataclass(frozen=True)
class BenchClip:
    """How one clip is made: H.264, ``frames`` pictures of ``size`` (width, height) in pixels."""

    name: str
    frames: int
    size: tuple[int, int]
    rate: int
    """Frames a second."""
    options: dict[str, str]
    """Of the encoder."""
    uneven: bool = field(default=False)
    """Whether the frames come at uneven times."""


CLIPS = {
    clip.name: clip
    for clip in (
        BenchClip("1080p60", 1000, FULL_HD, 60, h264(250, 3, "b-adapt=0")),
        BenchClip("720p240", 960, HD, 240, h264(240, 0)),
        BenchClip("all-intra", 400, FULL_HD, 60, h264(1, 0)),
        BenchClip("uneven", 600, HD, 60, h264(120, 3, "b-adapt=0"), uneven=True),
    )
}


def made(clip: BenchClip, folder: Path) -> Path:
    """The file of the clip in ``folder``, where it is written if it is not there yet."""
    path = folder / f"{clip.name}.mp4"
    if not path.exists():
        # in a process of its own, so that the encoder's memory is not counted with a decoder's
        with ProcessPoolExecutor(1, get_context("spawn")) as pool:
            pool.submit(_write, clip, path).result()
    return path


def _write(clip: BenchClip, path: Path) -> None:
    numbers, options = range(clip.frames), clip.options
    if clip.uneven:
        stamps, unit = irregular(clip.frames), Fraction(1, 90000)
        pts = stamps.__getitem__
        write(path, numbers, size=clip.size, pts=pts, time_base=unit, options=options)
    else:
        write(path, numbers, rate=clip.rate, size=clip.size, options=options)
