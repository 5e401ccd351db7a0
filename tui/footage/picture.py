"""From decoded frames to upright RGB pictures, with what is held against each."""

import math
from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt
from av.sidedata.sidedata import SideData
from av.video.frame import VideoFrame
from av.video.reformatter import ColorRange, Colorspace, Interpolation, VideoReformatter

from tui.footage.fields import field_alone

if TYPE_CHECKING:
    from tui.footage.footage import Footage

Pixels = npt.NDArray[np.uint8]

# AVFrame.colorspace (ITU-T H.273, matrix coefficients) to what the scaler calls it
_MATRICES = {
    1: ("BT.709", Colorspace.ITU709),
    4: ("FCC", Colorspace.FCC),
    5: ("BT.601", Colorspace.ITU601),
    6: ("BT.601", Colorspace.ITU601),
    7: ("SMPTE 240M", Colorspace.SMPTE240M),
    9: ("BT.2020", Colorspace.BT2020),
    10: ("BT.2020", Colorspace.BT2020),
}
_HD = (1280, 720)  # wide pictures have fewer lines: 1280 x 536


@dataclass(frozen=True)
class Colours:
    """How luma and colour difference are to be read as RGB."""

    matrix: str
    matrix_assumed: bool
    full_range: bool
    range_assumed: bool
    code: Colorspace

    @classmethod
    def of(cls, frame: VideoFrame) -> "Colours":
        """As tagged; untagged pictures of 1280 columns or 720 lines are BT.709, smaller BT.601.

        An untagged range is limited unless the pixel format itself says full. The rule by size is
        common practice, no source.
        """
        tagged = _MATRICES.get(frame.colorspace)
        high = frame.width >= _HD[0] or frame.height >= _HD[1]
        matrix, code = tagged or _MATRICES[1 if high else 5]
        full = frame.format.name.startswith("yuvj")
        told = frame.color_range in (ColorRange.MPEG, ColorRange.JPEG)
        return cls(
            matrix=matrix,
            matrix_assumed=tagged is None,
            full_range=full or frame.color_range == ColorRange.JPEG,
            range_assumed=not (told or full),
            code=code,
        )


@dataclass(frozen=True)
class Orientation:
    """How the stored picture is turned for display: first mirrored, then rotated clockwise."""

    rotation: int = 0
    """0, 90, 180 or 270 degrees."""
    mirrored: bool = False
    """Top and bottom change places before the rotation."""

    @classmethod
    def of(cls, frame: VideoFrame) -> "Orientation":
        """From the display matrix (ISO/IEC 14496-12, track header), to the nearest quarter."""
        data = frame.side_data.get("DISPLAYMATRIX")
        if not isinstance(data, SideData):
            return cls()
        a, b, _, c, d = np.frombuffer(bytes(data), np.int32)[:5].tolist()
        quarters = round(math.degrees(math.atan2(b, a)) / 90) % 4
        return cls(90 * quarters, a * d - b * c < 0)

    def turned(self, size: tuple[int, int]) -> tuple[int, int]:
        """The (width, height) that a picture of ``size`` has before, or after, turning."""
        return (size[1], size[0]) if self.rotation % 180 else size

    def apply(self, pixels: Pixels) -> Pixels:
        """The picture as it is to be seen."""
        if self.mirrored:
            pixels = pixels[::-1]
        return np.ascontiguousarray(np.rot90(pixels, -self.rotation // 90))


class Painter:
    """Makes upright RGB pixels of frames; one for each thread."""

    def __init__(self) -> None:
        self._small, self._full = VideoReformatter(), VideoReformatter()

    def full(
        self,
        frame: VideoFrame,
        orientation: Orientation | None = None,
        size: tuple[int, int] | None = None,
    ) -> Pixels:
        """All the pixels of the frame, turned as ``orientation``, else as it says itself.

        Where ``size`` (width, height of the upright picture) is given, they are made to fit it.
        """
        orientation = orientation or Orientation.of(frame)
        flags = Interpolation.BILINEAR | Interpolation.ACCURATE_RND | Interpolation.FULL_CHR_H_INT
        stored = (frame.width, frame.height) if size is None else orientation.turned(size)
        return orientation.apply(self._paint(self._full, frame, stored, flags))

    def small(
        self, frame: VideoFrame, size: tuple[int, int], orientation: Orientation | None = None
    ) -> Pixels:
        """The frame averaged down to ``size`` (width, height of the upright picture)."""
        orientation = orientation or Orientation.of(frame)
        flags = Interpolation.AREA | Interpolation.ACCURATE_RND
        return orientation.apply(self._paint(self._small, frame, orientation.turned(size), flags))

    def _paint(
        self,
        scaler: VideoReformatter,
        frame: VideoFrame,
        size: tuple[int, int],
        flags: Interpolation,
    ) -> Pixels:
        colours = Colours.of(frame)
        painted = scaler.reformat(
            frame,
            *size,
            "rgb24",
            src_colorspace=colours.code,
            dst_colorspace=colours.code,
            src_color_range=ColorRange.JPEG if colours.full_range else ColorRange.MPEG,
            dst_color_range=ColorRange.JPEG,
            interpolation=flags,
            threads=1,
        )
        return np.asarray(painted.to_ndarray(), np.uint8)


def fitted(source: tuple[int, int], aspect: float, box: tuple[int, int]) -> tuple[int, int]:
    """The size of a picture of ``source`` (width, height) made to fit ``box``, at least 1 x 1.

    ``aspect`` is width by height of one source pixel as displayed. Never larger than the source.
    """
    width, height = source[0] * aspect, float(source[1])
    share = min(box[0] / width, box[1] / height, 1.0)
    return max(1, round(width * share)), max(1, round(height * share))


def no_picture(size: tuple[int, int]) -> Pixels:
    """The stand-in for a picture that cannot be had: dark grey with a lighter cross."""
    width, height = size
    x = np.linspace(0, 1, width)[None]
    y = np.linspace(0, 1, height)[:, None]
    cross = (np.abs(x - y) < 0.02) | (np.abs(x + y - 1) < 0.02)
    return np.where(cross, 110, 45).astype(np.uint8)[..., None].repeat(3, axis=2)


@dataclass(frozen=True, eq=False)
class Picture:
    """One frame as displayed: upright RGB pixels, read-only."""

    frame: int
    pts: int
    """Presentation time stamp in units of the footage's time base."""
    pixels: Pixels
    """(height, width, 3), 8 bits each of red, green and blue."""
    source_size: tuple[int, int]
    """(width, height) in pixels of the whole frame, as displayed after rotation."""
    flaw: str | None
    """Why the picture is not to be trusted; None if nothing is known against it."""


class PictureMaker:
    """Makes the pictures of one clip; a frame of None means that there is no picture of it.

    All pictures are of one size. One that is of another shape than the first, as where a recorder
    was turned, is fitted into that of the first, with black beside it.
    """

    def __init__(self, footage: "Footage") -> None:
        self._footage = footage
        self._size = (footage.width, footage.height)

    def fitted(self, box: tuple[int, int]) -> tuple[int, int]:
        """The (width, height) in pixels of small pictures that fit ``box``."""
        return fitted(self._size, float(self._footage.pixel_aspect), box)

    def small(
        self,
        frame: int,
        whole: VideoFrame | None,
        painter: Painter,
        size: tuple[int, int],
        *,
        woven: bool = False,
    ) -> Picture:
        """The picture of ``frame`` at (width, height) ``size``; ``woven`` shows both its fields."""
        if whole is None:
            return self._picture(frame, whole, no_picture(size))
        shown, shape = self._shown(frame, whole, woven=woven), self._shape(whole)
        if not shape.is_other:
            return self._picture(frame, whole, painter.small(shown, size, shape.orientation))
        inner = shape.fitted(size, Fraction(1))
        pixels = painter.small(shown, inner, shape.orientation)
        return self._picture(frame, whole, _framed(pixels, size), shape)

    def full(
        self, frame: int, whole: VideoFrame | None, painter: Painter, *, woven: bool = False
    ) -> Picture:
        """The picture of ``frame`` with all its pixels; ``woven`` shows both its fields."""
        if whole is None:
            return self._picture(frame, whole, no_picture(self._size))
        shown, shape = self._shown(frame, whole, woven=woven), self._shape(whole)
        if not shape.is_other:
            return self._picture(frame, whole, painter.full(shown, shape.orientation))
        inner = shape.fitted(self._size, self._footage.pixel_aspect)
        pixels = painter.full(shown, shape.orientation, inner)
        return self._picture(frame, whole, _framed(pixels, self._size), shape)

    def _shown(self, frame: int, whole: VideoFrame, *, woven: bool) -> VideoFrame:
        """What is painted of a decoded picture: all of it, or the field that the frame is."""
        lines = None if woven else self._footage.lines(frame)
        return whole if lines is None else field_alone(whole, lines)

    def _shape(self, whole: VideoFrame) -> "_Shape":
        footage, orientation = self._footage, Orientation.of(whole)
        stored = footage.facts.sample_aspect_ratio
        return _Shape(
            orientation,
            orientation.turned((whole.width, whole.height)),
            1 / stored if orientation.rotation % 180 else stored,
            (orientation, whole.width, whole.height)
            != (footage.orientation, *footage.orientation.turned(self._size)),
        )

    def _picture(
        self,
        frame: int,
        whole: VideoFrame | None,
        pixels: Pixels,
        shape: "_Shape | None" = None,
    ) -> Picture:
        pixels.setflags(write=False)
        if shape is not None:
            self._footage.shapes[frame] = shape.words(self._size)
        return Picture(
            frame=frame,
            pts=self._footage.pts(frame),
            pixels=pixels,
            source_size=self._size if whole is None or shape is None else shape.size,
            flaw=self._footage.ledger.flaw(frame),
        )


@dataclass(frozen=True)
class _Shape:
    """The shape of one picture."""

    orientation: Orientation
    size: tuple[int, int]
    """(width, height) in pixels, as displayed after rotation."""
    aspect: Fraction
    """Width by height of one of its pixels, as displayed."""
    is_other: bool
    """Whether it is not that of the first picture."""

    def fitted(self, box: tuple[int, int], aspect: Fraction) -> tuple[int, int]:
        """The size, in pixels of that ``aspect``, in which it fills ``box`` as far as it can."""
        width, height = self.size[0] * self.aspect / aspect, Fraction(self.size[1])
        share = min(box[0] / width, box[1] / height)
        across, down = round(width * share), round(height * share)
        return max(1, min(across, box[0])), max(1, min(down, box[1]))

    def words(self, box: tuple[int, int]) -> str:
        """In what shape the picture is, and how large it is shown among those of the first one."""
        turned = self.orientation.rotation
        share = self.fitted(box, Fraction(1))[1] / self.size[1]
        return (
            f"picture of {self.size[0]} x {self.size[1]} pixels, "
            f"{f'turned by {turned} degrees' if turned else 'not turned'}"
            f"{', mirrored' if self.orientation.mirrored else ''}, shown at {share:.2f} of its size"
        )


def _framed(pixels: Pixels, size: tuple[int, int]) -> Pixels:
    """The pixels in the middle of a black picture of (width, height) ``size``."""
    framed = np.zeros((size[1], size[0], 3), np.uint8)
    height, width = pixels.shape[:2]
    top, left = (size[1] - height) // 2, (size[0] - width) // 2
    framed[top : top + height, left : left + width] = pixels
    return framed
