"""Intake: refusing, each with one clear sentence, the files that cannot be judged."""

import os
import stat
from collections.abc import Iterator
from pathlib import Path

import av
from av.container import InputContainer
from av.stream import Disposition
from av.video.stream import VideoStream

from sessions.errors import FootageError

MAX_PIXELS = 40_000_000
"""The largest picture taken, in pixels; 8K (7680x4320) has 33 million."""

# Demuxers that read pictures from the one file they are given. Playlists and concatenation
# lists, which open other files, are not among them.
_FORMATS = "mov,mp4,matroska,webm,avi,mpegts,mpeg,mpegvideo,flv"
_OPTIONS = {
    "format_whitelist": _FORMATS,
    "protocol_whitelist": "file",
    "max_pixels": str(MAX_PIXELS),
}

READ_ERRORS = (av.FFmpegError, IndexError)
"""What reading packets raises: damage can make a stream announce tracks that it did not have when
it was opened, for which the library raises IndexError."""

_PLAYLISTS = (b"#EXTM3U", b"ffconcat", b"[playlist]", b"<?xml")


def check_file(path: Path) -> None:
    """Refuse, before any decoder sees it, what is not a readable regular file with content.

    A FIFO or a device would make the reader wait for ever. Raises FootageError.
    """
    try:
        mode = path.stat()
    except FileNotFoundError:
        raise FootageError(f"{path} does not exist; check the path.") from None
    except OSError as error:
        raise FootageError(
            f"{path} cannot be reached ({error.strerror}); check the path and its permissions."
        ) from None
    if stat.S_ISDIR(mode.st_mode):
        raise FootageError(
            f"{path} is a folder; name a video file inside it. A folder with claims.csv is opened "
            f"with `framecall docket {path}`."
        )
    if not stat.S_ISREG(mode.st_mode):
        raise FootageError(f"{path} is not a regular file; copy the footage to a file first.")
    if not mode.st_size:
        raise FootageError(f"{path} is empty; copy the footage again from its source.")
    if not os.access(path, os.R_OK):
        raise FootageError(f"{path} may not be read; ask its owner for permission to read it.")


def open_container(path: Path) -> InputContainer:
    """Open the file for demuxing; FootageError if it is no video that can be judged."""
    check_file(path)
    try:
        # the prefix keeps names such as "pipe:0" from being taken for other protocols
        return av.open(f"file:{path.absolute()}", "r", options=dict(_OPTIONS))
    except (av.FFmpegError, ValueError) as error:
        raise FootageError(_reason(path, error)) from None


def video_stream(container: InputContainer, path: Path) -> VideoStream:
    """The picture track to judge: the first that is not a cover picture.

    Raises FootageError where there is none, where no decoder is known for it, and where its
    picture is larger than MAX_PIXELS.
    """
    tracks = [s for s in container.streams.video if not s.disposition & Disposition.attached_pic]
    if not tracks:
        raise FootageError(f"{path} has no picture, only sound or data; open the video itself.")
    stream = tracks[0]
    if stream.codec_context is None:
        raise FootageError(
            f"{path} is coded in a way that this decoder does not know; ask for the footage in "
            "another format, straight from the recording device."
        )
    width, height = stream.codec_context.width, stream.codec_context.height
    if width * height > MAX_PIXELS:
        raise FootageError(
            f"{path} declares pictures of {width} x {height} pixels, more than any camera "
            "records; the file is damaged or forged, so ask for the original."
        )
    stream.codec_context.options = {"max_pixels": str(MAX_PIXELS)}
    return stream


def _reason(path: Path, error: Exception) -> str:
    with path.open("rb") as file:
        start = file.read(64)
    if start.lstrip().startswith(_PLAYLISTS):
        return f"{path} is a list that names other files; open the video file itself."
    boxes = set(_boxes(path)) if start[4:8] == b"ftyp" else {b"moov"}
    if b"moov" not in boxes:
        return (
            f"{path} was cut off before its index was written, so no frame of it can be found; "
            "ask for the original recording."
        )
    detail = getattr(error, "strerror", None) or str(error)
    return f"{path} is not a video that can be read ({detail}); check that it is the right file."


def _boxes(path: Path) -> Iterator[bytes]:
    """The types of the top-level boxes of an ISO base media file (ISO/IEC 14496-12)."""
    total, at = path.stat().st_size, 0
    with path.open("rb") as file:
        while at + 8 <= total:
            file.seek(at)
            head = file.read(16)
            size = int.from_bytes(head[:4], "big")
            yield head[4:8]
            if size == 1:
                size = int.from_bytes(head[8:16], "big")
            if size < 8:
                return
            at += size
