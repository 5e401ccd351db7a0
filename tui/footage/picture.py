"""One frame as a picture, with what is held against it."""

from dataclasses import dataclass

from av.video.frame import VideoFrame

from tui.footage.colour import Painter, Pixels, fitted, no_picture
from tui.footage.footage import Footage


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
    """Makes the pictures of one clip; a frame of None means that there is no picture of it."""

    def __init__(self, footage: Footage) -> None:
        self._footage = footage
        self._size = (footage.width, footage.height)

    def fitted(self, box: tuple[int, int]) -> tuple[int, int]:
        """The (width, height) in pixels of small pictures that fit ``box``."""
        return fitted(self._size, float(self._footage.pixel_aspect), box)

    def small(
        self, frame: int, whole: VideoFrame | None, painter: Painter, size: tuple[int, int]
    ) -> Picture:
        """The picture of ``frame`` at (width, height) ``size``."""
        pixels = no_picture(size) if whole is None else painter.small(whole, size)
        return self._picture(frame, whole, pixels)

    def full(self, frame: int, whole: VideoFrame | None, painter: Painter) -> Picture:
        """The picture of ``frame`` with all its pixels."""
        pixels = no_picture(self._size) if whole is None else painter.full(whole)
        return self._picture(frame, whole, pixels)

    def _picture(self, frame: int, whole: VideoFrame | None, pixels: Pixels) -> Picture:
        pixels.setflags(write=False)
        turned = self._footage.orientation.turned
        return Picture(
            frame=frame,
            pts=self._footage.pts(frame),
            pixels=pixels,
            source_size=turned((whole.width, whole.height)) if whole else self._size,
            flaw=self._footage.ledger.flaw(frame),
        )
