"""Evidence clips: a short loop around each finding, its frame numbers and times in the margin.

The MP4 shows the loop once at real speed and then slowed, because slow motion alone makes what is
seen look more deliberate (Caruso, Burns and Converse 2016, PNAS 113:9250, from memory). The WebP
is slowed only: viewers do not keep times shorter than some hundredths of a second.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from io import BytesIO
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np
from PIL import Image, ImageDraw, ImageFont

from sessions.errors import DocumentError
from sessions.ruling.timing import clock_text
from tui.documents.exhibits import WHOLE_WIDTH, WholePictures, displayed
from tui.documents.pages import Exhibit
from tui.footage.footage import Footage
from tui.footage.writer import VideoWriter

SLOWED = 8
"""How many times slower than the footage a clip runs."""

_LEAD = Fraction(1, 4)
"""Seconds shown before the first frame of an exhibit and after its last."""

_MOST = 30
"""Frames shown at most on either side, whatever the frame rate."""

_WEBP_WIDTH = 640


@dataclass(frozen=True, slots=True)
class Clip:
    """A loop over frames ``first`` to ``last``, both included, in two formats."""

    first: int
    last: int
    mp4: bytes
    webp: bytes


def clip(exhibit: Exhibit, footage: Footage, source: WholePictures, slowed: int = SLOWED) -> Clip:
    """Make the clip of an exhibit, ``slowed`` times slower.

    Raises FootageError as the source, and DocumentError where there is no room to make it in.
    """
    first, last = frame_range(exhibit, footage)
    maker = _Maker(exhibit, footage, source, slowed)
    try:
        return Clip(first, last, maker.mp4(first, last), maker.webp(first, last))
    except OSError as error:
        raise DocumentError(
            f"An evidence clip cannot be made ({error.strerror or error}); make room in the folder "
            "for temporary files, or leave --clips out."
        ) from None


def frame_range(exhibit: Exhibit, footage: Footage) -> tuple[int, int]:
    """The first and last frame of an exhibit's clip, both included."""
    first, last = (shot.place.frame for shot in exhibit.shots)
    begin = footage.frame_at(footage.time(first) - _LEAD)
    end = footage.frame_at(footage.time(last) + _LEAD)
    return max(begin, first - _MOST), min(end, last + _MOST)


class _Maker:
    def __init__(
        self, exhibit: Exhibit, footage: Footage, source: WholePictures, slowed: int
    ) -> None:
        self.exhibit, self.footage, self.source, self.slowed = exhibit, footage, source, slowed
        self.aspect = footage.pixel_aspect
        self.says = {shot.place.frame: "; ".join(shot.says) for shot in exhibit.shots}

    def mp4(self, first: int, last: int) -> bytes:
        """Once at real speed, then slowed, by the time stamps of the footage."""
        frames = [(n, speed) for speed in (1, self.slowed) for n in range(first, last + 1)]
        size = self._picture(first, 1, WHOLE_WIDTH).size
        rate = self.footage.facts.nominal_rate or Fraction(30)
        with TemporaryDirectory() as folder:
            path = Path(folder) / "clip.mp4"
            with VideoWriter(path, size, rate, time_base=self.footage.time_base) as writer:
                pts = 0
                for frame, speed in frames:
                    writer.write(np.asarray(self._picture(frame, speed, WHOLE_WIDTH)), pts)
                    pts += self._duration(frame) * speed
            return path.read_bytes()

    def webp(self, first: int, last: int) -> bytes:
        """Slowed, in an endless loop; times are rounded so that the loop keeps its length."""
        frames = range(first, last + 1)
        pictures = [self._picture(frame, self.slowed, _WEBP_WIDTH) for frame in frames]
        data = BytesIO()
        pictures[0].save(
            data,
            "WEBP",
            save_all=True,
            append_images=pictures[1:],
            duration=list(self._milliseconds(frames)),
            loop=0,
            quality=80,
        )
        return data.getvalue()

    def _milliseconds(self, frames: range) -> Iterator[int]:
        shown, told = Fraction(0), 0
        for frame in frames:
            shown += self._duration(frame) * self.footage.time_base * self.slowed * 1000
            yield round(shown) - told
            told = round(shown)

    def _duration(self, frame: int) -> int:
        """How long a frame is shown, in units of the time base; the last as the one before."""
        at = min(frame, self.footage.frames - 2)
        return max(1, self.footage.pts(at + 1) - self.footage.pts(at))

    def _picture(self, frame: int, speed: int, most: int) -> Image.Image:
        """The frame over a black margin that says which it is; both sides are even."""
        shown = self.source.full(frame)
        whole = displayed(shown.pixels, self.aspect)
        width = max(2, min(whole.width, most) // 2 * 2)
        height = max(2, whole.height * width // whole.width // 2 * 2)
        margin = _margin(self._lines(frame, speed, shown.flaw is not None), width)
        picture = Image.new("RGB", (width, height + margin.height))
        picture.paste(whole.resize((width, height)), (0, 0))
        picture.paste(margin, (0, height))
        return picture

    def _lines(self, frame: int, speed: int, damaged: bool) -> tuple[str, str]:
        seconds = self.footage.time(frame) - self.footage.time(0)
        pace = "real speed" if speed == 1 else f"{speed} times slower"
        mark = "DAMAGED, not to be trusted. " if damaged else ""
        said = self.says.get(frame, "")
        return f"frame {frame}   {clock_text(seconds)}   {pace}", mark + said


def _margin(lines: tuple[str, str], width: int) -> Image.Image:
    """Lines of white on black, each as large as fits the width; the height is always the same."""
    largest = max(8, width // 32)
    row = largest * 3 // 2
    margin = Image.new("RGB", (width, (2 * row + largest) // 2 * 2))
    draw = ImageDraw.Draw(margin)
    for number, line in enumerate(lines):
        draw.text((largest // 2, largest // 2 + row * number), line, "white", _font(line, width))
    return margin


def _font(line: str, width: int) -> ImageFont.FreeTypeFont | ImageFont.ImageFont:
    """The largest font, down to the least that can be read, in which a line fits the width."""
    for size in range(max(8, width // 32), 8, -1):
        font = ImageFont.load_default(size)
        if font.getlength(line) <= width - 2 * (size // 2):
            return font
    return ImageFont.load_default(8)
