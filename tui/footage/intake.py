"""Intake: opening a file for reading, or refusing it with one clear sentence."""

import io
import os
import stat
import time
import weakref
from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path

import av
from av.container import InputContainer
from av.stream import Disposition
from av.video.stream import VideoStream

from sessions.errors import FootageError

MAX_PIXELS = 45_000_000
"""The largest picture taken, in pixels: 8192 x 5460, which cameras record, has 44.7 million."""

# Demuxers that read pictures from the one file they are given. Playlists and concatenation
# lists, which open other files, are not among them.
_FORMATS = "mov,mp4,matroska,webm,avi,mpegts,mpeg,mpegvideo,flv"
# Demuxers of one file that are not taken, and are known only so that the refusal can name them.
_OTHER_FORMATS = (
    "h264,hevc,vvc,av1,obu,ivf,m4v,mjpeg,mjpeg_2000,dv,asf,asf_o,ogg,nut,mxf,gxf,gif,rm,wtv,nsv,"
    "yuv4mpegpipe,vc1,vc1test,dirac,cavsvideo,h263,h261,apng,bink,smk,thp,vivo,ea,4xm"
)
_OPTIONS = {"protocol_whitelist": "file", "max_pixels": str(MAX_PIXELS)}

READ_ERRORS = (av.FFmpegError, IndexError)
"""What reading packets raises: damage can make a stream announce tracks that it did not have when
it was opened, for which the library raises IndexError."""

_PLAYLISTS = (b"#EXTM3U", b"ffconcat", b"[playlist]", b"<?xml")
_JUST_NOW = 20  # seconds since the last change within which a file may still be written


class Window(io.RawIOBase):
    """The bytes from ``start`` to ``end`` of a file, to be read as a file of their own."""

    def __init__(self, path: Path, start: int, end: int) -> None:
        self._file = os.open(path, os.O_RDONLY)
        self._start, self._end, self._at = start, end, 0
        weakref.finalize(self, os.close, self._file)  # whenever the container lets go of it

    def readable(self) -> bool:
        """Always true."""
        return True

    def seekable(self) -> bool:
        """Always true."""
        return True

    def read(self, size: int = -1) -> bytes:
        """The next ``size`` bytes, or fewer at the end."""
        left = max(0, self._end - self._start - self._at)
        data = os.pread(self._file, left if size < 0 else min(size, left), self._start + self._at)
        self._at += len(data)
        return data

    def seek(self, offset: int, whence: int = os.SEEK_SET) -> int:
        """Go to a position, counted from the start of the window."""
        base = (0, self._at, self._end - self._start)[whence]
        self._at = base + offset
        return self._at

    def tell(self) -> int:
        """The position, counted from the start of the window."""
        return self._at


@dataclass(frozen=True)
class Source:
    """A picture track to be read: of which file, which track and which bytes.

    ``track`` counts from 1; None leaves the choice to :func:`chosen`. ``part`` is the range of
    bytes of a file that is one of several written one after the other.
    """

    path: Path
    track: int | None = None
    part: tuple[int, int] | None = None
    whole: bool = False
    """Whether edit lists, which hide part of what was recorded, are left out of account."""

    def open(self) -> tuple[InputContainer, VideoStream]:
        """The container and the track; FootageError where it is no video that can be judged."""
        container = open_container(self.path, self.part, whole=self.whole)
        try:
            return container, video_stream(container, self.path, self.track)
        except FootageError:
            container.close()
            raise

    def of(self, part: tuple[int, int] | None) -> "Source":
        """The same track in other bytes of the file."""
        return replace(self, part=part)


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


def changed_just_now(path: Path) -> bool:
    """Whether the file was written to within the last seconds, as while it is being recorded."""
    return -1 <= time.time() - path.stat().st_mtime < _JUST_NOW


def open_container(
    path: Path, part: tuple[int, int] | None = None, *, whole: bool = False
) -> InputContainer:
    """Open the file for demuxing; FootageError if it is no video that can be judged.

    ``whole`` leaves edit lists out of account.
    """
    check_file(path)
    options = {**_OPTIONS, "format_whitelist": _FORMATS}
    if whole:
        options["ignore_editlist"] = "1"
    # the prefix keeps names such as "pipe:0" from being taken for other protocols
    file = f"file:{path.absolute()}" if part is None else Window(path, *part)
    try:
        return av.open(file, "r", options=options)
    except (av.FFmpegError, ValueError) as error:
        raise FootageError(_reason(path, error)) from None


def tracks_of(container: InputContainer) -> list[VideoStream]:
    """The picture tracks, cover pictures left out."""
    return [s for s in container.streams.video if not s.disposition & Disposition.attached_pic]


def chosen(tracks: list[VideoStream]) -> int:
    """The place of the track to judge where none was named.

    That is the one that the file marks as its default; where it marks none or several, the one
    with the largest picture.
    """
    known = [n for n, track in enumerate(tracks) if track.codec_context is not None]
    marked = [n for n in known if tracks[n].disposition & Disposition.default]
    return max(marked or known or [0], key=lambda n: (_pixels(tracks[n]), -n))


def video_stream(container: InputContainer, path: Path, track: int | None = None) -> VideoStream:
    """The picture track to judge: the one of that number from 1, else as :func:`chosen`.

    Raises FootageError where there is none, where no decoder is known for it, and where its
    picture is larger than MAX_PIXELS.
    """
    tracks = tracks_of(container)
    if not tracks:
        raise FootageError(f"{path} has no picture, only sound or data; open the video itself.")
    if track is not None and not 1 <= track <= len(tracks):
        raise FootageError(
            f"{path} has {len(tracks)} picture track{'s' if len(tracks) > 1 else ''}, and none is "
            f"number {track}; name another with --track, or leave it out."
        )
    stream = tracks[chosen(tracks) if track is None else track - 1]
    if stream.codec_context is None:
        raise FootageError(
            f"{path} is coded in a way that this decoder does not know; ask for the footage in "
            "another format, straight from the recording device."
        )
    if _pixels(stream) > MAX_PIXELS:
        context = stream.codec_context
        raise FootageError(
            f"{path} declares pictures of {context.width} x {context.height} pixels, more than "
            f"the {MAX_PIXELS // 1_000_000} million that are taken; ask for the footage at a "
            "smaller size, or check that the copy is not damaged."
        )
    stream.codec_context.options = {"max_pixels": str(MAX_PIXELS)}
    return stream


def _pixels(track: VideoStream) -> int:
    context = track.codec_context
    return 0 if context is None else context.width * context.height


def _reason(path: Path, error: Exception) -> str:
    with path.open("rb") as file:
        start = file.read(64)
    if start.lstrip().startswith(_PLAYLISTS):
        return f"{path} is a list that names other files; open the video file itself."
    if start[4:8] == b"ftyp":
        unindexed = _unindexed(path)
        if unindexed:
            return unindexed
    other = _other_container(path)
    if other:
        return (
            f"{path} is a video in a container that is not taken ({other}); have its pictures "
            "copied unchanged (remuxed, not encoded again) into a Matroska or MP4 file, and keep "
            "the original."
        )
    detail = getattr(error, "strerror", None) or str(error)
    return f"{path} is not a video that can be read ({detail}); check that it is the right file."


def _unindexed(path: Path) -> str:
    """Why the index of an ISO base media file is not found; empty where it is."""
    total, end, kind = path.stat().st_size, 0, b"ftyp"
    for _, end, kind in boxes(path):  # noqa: B007 - where the walk ends is what matters
        if kind == b"moov":
            return ""
    if end < total:
        return (
            f"{path} is damaged at byte {end}, where its data does not go on as the file says it "
            "does (a hole in the copy looks so), and its index cannot be found behind; ask for "
            "the original recording, or copy it again."
        )
    if changed_just_now(path):
        return (
            f"{path} has no index: either it is still being written, as it changed within the last "
            f"{_JUST_NOW} seconds (wait until that has finished), or it was cut off before its "
            "index was written (ask for the original recording)."
        )
    return (
        f"{path} was cut off before its index was written, so no frame of it can be found; "
        "ask for the original recording."
    )


def _other_container(path: Path) -> str:
    """The name of the container that the file is in, where it is a video that is not taken."""
    options = {**_OPTIONS, "format_whitelist": _OTHER_FORMATS}
    try:
        with av.open(f"file:{path.absolute()}", "r", options=options) as container:
            shows = any(_pixels(track) for track in tracks_of(container))
            return container.format.long_name if shows else ""
    except (av.FFmpegError, ValueError):
        return ""


def boxes(path: Path, start: int = 0, end: int | None = None) -> Iterator[tuple[int, int, bytes]]:
    """(start, end, type) of the top-level boxes of an ISO base media file (ISO/IEC 14496-12).

    The end may lie beyond the end of the file. The walk ends where no box can begin.
    """
    total = path.stat().st_size if end is None else end
    with path.open("rb") as file:
        at = start
        while at + 8 <= total:
            file.seek(at)
            head = file.read(16)
            size, kind = int.from_bytes(head[:4], "big"), head[4:8]
            if not all(32 <= letter < 127 or letter == 0xA9 for letter in kind):
                return
            if size == 1:
                size = int.from_bytes(head[8:16], "big")
            size = size or total - at  # 0: to the end of the file
            if size < 8:
                return
            yield at, at + size, kind
            at += size
