"""Encoding pictures to a video file; used for invented footage and for the tests."""

import os
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from fractions import Fraction
from pathlib import Path
from types import TracebackType
from typing import Self, cast

import av
import numpy as np
import numpy.typing as npt
from av.video.reformatter import ColorRange, Colorspace, Interpolation
from av.video.stream import VideoStream

# Slices of one picture that are coded in parallel let damage in one slice go unnoticed in the
# others; one slice a picture is also what cameras write.
_X264 = {"preset": "veryfast", "crf": "20", "bf": "3"}
_ONE_SLICE = "sliced-threads=0"

_MATRICES = {
    "bt601": (Colorspace.SMPTE170M, "smpte170m"),
    "bt709": (Colorspace.ITU709, "bt709"),
}


class VideoWriter:
    """Write RGB pictures to ``path``; the file appears there only when it is complete.

    ``size`` is (width, height) in pixels, both even; ``rate`` is the nominal rate in frames a
    second; ``time_base`` is the unit of the time stamps in seconds (default ``1 / rate``).
    ``options`` go to the encoder and ``container_options`` to the container writer. ``matrix``
    is "bt601" or "bt709" and is written into the file's tags, or None to convert by BT.601 and
    tag nothing. ``rotation`` is the display rotation in degrees clockwise.

    Left by an exception, the writer removes what it has written. Raises ValueError for an odd
    size and for pixels of another shape, OSError for what encoder or disk refuse.
    """

    def __init__(
        self,
        path: str | os.PathLike[str],
        size: tuple[int, int],
        rate: int | Fraction,
        *,
        codec: str = "libx264",
        options: Mapping[str, str] | None = None,
        pixel_format: str = "yuv420p",
        time_base: Fraction | None = None,
        container_options: Mapping[str, str] | None = None,
        matrix: str | None = "bt709",
        full_range: bool = False,
        rotation: int = 0,
    ) -> None:
        width, height = size
        if width % 2 or height % 2:
            raise ValueError(f"video needs an even width and height, not {width}x{height}")
        self.path = Path(path)
        self.size = size
        self.time_base = time_base or 1 / Fraction(rate)
        self._next_pts = 0
        # the container is chosen by the suffix, which the temporary name therefore keeps
        self._partial = self.path.with_name(f".{self.path.stem}.partial{self.path.suffix}")
        self._container = av.open(
            os.fspath(self._partial), "w", options=dict(container_options or {})
        )
        self._stream = cast("VideoStream", self._container.add_stream(codec, rate=Fraction(rate)))
        self._stream.width, self._stream.height = size
        self._stream.pix_fmt = pixel_format
        self._stream.codec_context.time_base = self.time_base
        self._stream.time_base = self.time_base
        self._pixel_format = pixel_format
        self._colorspace, self._range = Colorspace.SMPTE170M, ColorRange.MPEG
        self._tag_colours(matrix, full_range)
        self._stream.options = {**_encoder_options(codec, options)}
        if rotation:
            self._stream.set_display_rotation(-rotation)

    def write(self, pixels: npt.NDArray[np.uint8], pts: int | None = None) -> None:
        """Encode one picture, (height, width, 3) RGB, shown from ``pts`` (units of time_base).

        Without ``pts`` it follows the picture before it by one unit.
        """
        width, height = self.size
        if pixels.shape != (height, width, 3):
            raise ValueError(f"expected pixels of shape {(height, width, 3)}, got {pixels.shape}")
        frame = av.VideoFrame.from_ndarray(np.ascontiguousarray(pixels), "rgb24").reformat(
            format=self._pixel_format,
            dst_colorspace=self._colorspace,
            dst_color_range=self._range,
            interpolation=Interpolation.AREA | Interpolation.ACCURATE_RND,
        )
        self.write_frame(frame, pts)

    def write_frame(self, frame: av.VideoFrame, pts: int | None = None) -> None:
        """Encode one picture that is already in the pixel format of the file."""
        frame.pts = self._next_pts if pts is None else pts
        frame.time_base = self.time_base
        self._next_pts = frame.pts + 1
        with _os_errors():
            self._container.mux(self._stream.encode(frame))

    def write_planes(self, planes: npt.NDArray[np.uint8], pts: int | None = None) -> None:
        """Encode one picture given as yuv420p planes below each other, (height * 3 / 2, width).

        Spares converting and copying it; only for a file whose pixel format is yuv420p, and for an
        encoder that copies what it is given, as x264 does. The array is the caller's again at once.
        """
        self.write_frame(av.VideoFrame.from_numpy_buffer(planes, format="yuv420p"), pts)

    def close(self) -> None:
        """Finish the file and move it to its name; what cannot be finished is removed."""
        try:
            with _os_errors():
                self._container.mux(self._stream.encode(None))
                self._container.close()
            os.replace(self._partial, self.path)
        except OSError:
            self._partial.unlink(missing_ok=True)
            raise

    def discard(self) -> None:
        """Give up: close and remove what has been written."""
        self._container.close()
        self._partial.unlink(missing_ok=True)

    def _tag_colours(self, matrix: str | None, full_range: bool) -> None:
        context = self._stream.codec_context
        if full_range:
            self._range = ColorRange.JPEG
        if matrix is not None:
            self._colorspace, _ = _MATRICES[matrix]
            context.colorspace = int(self._colorspace)
            context.color_range = int(self._range)

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        if kind is None:
            self.close()
        else:
            self.discard()


@contextmanager
def _os_errors() -> Iterator[None]:
    """Errors of the library as OSError, so that callers need not know the library."""
    try:
        yield
    except av.FFmpegError as error:
        raise OSError(error.errno, error.strerror) from None


def _encoder_options(codec: str, options: Mapping[str, str] | None) -> dict[str, str]:
    chosen = dict(options or {})
    if codec != "libx264":
        return chosen
    params = [_ONE_SLICE, *filter(None, [chosen.pop("x264-params", "")])]
    return {**_X264, **chosen, "x264-params": ":".join(params)}
