"""What the container and the decoder say about a clip, and where its time has gaps."""

from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

import av
import numpy as np
from av.container import InputContainer
from av.video.frame import VideoFrame
from av.video.stream import VideoStream

from sessions.errors import FootageError
from tui.footage.colour import Colours, Orientation
from tui.footage.index import FootageIndex
from tui.footage.intake import READ_ERRORS, open_container, video_stream

_PROBE_PACKETS = 300
_LONG = Fraction(3, 2)  # an interval this many times the usual one is a gap


@dataclass(frozen=True)
class Facts:
    """The technical facts of a clip; what a file declares is a claim, not a finding."""

    container: str
    codec: str
    decoder: str
    """The decoder and the version of its library."""
    nominal_rate: Fraction | None
    """Frames a second as the container declares or averages them."""
    declared_frames: int | None
    """How many frames the container declares, if it does."""
    packets: int
    """How many coded pictures were found, those hidden by an edit list included."""
    frames: int
    """How many frames are shown."""
    pixel_format: str
    matrix: str
    matrix_assumed: bool
    full_range: bool
    range_assumed: bool
    scan: str
    """"progressive" or "interlaced", as the first picture is flagged."""
    sample_aspect_ratio: Fraction
    """Width by height of one pixel as displayed."""
    rotation: int
    """Degrees clockwise by which the stored picture is turned for display."""
    mirrored: bool
    first_pts: int
    gaps: tuple[tuple[int, Fraction], ...]
    """(first frame after the gap, seconds beyond the usual interval)."""
    demux_error: str | None
    """What kept the file from being read to its end."""


@dataclass(frozen=True)
class Probe:
    """What opening a clip and decoding its first whole picture tells."""

    container: str
    codec: str
    decoder: str
    nominal_rate: Fraction | None
    declared_frames: int | None
    sample_aspect_ratio: Fraction
    pixel_format: str
    size: tuple[int, int]
    """(width, height) in pixels as stored."""
    interlaced: bool
    colours: Colours
    orientation: Orientation


def probe(path: Path) -> Probe:
    """Open the clip and decode one picture; FootageError if that cannot be done."""
    with open_container(path) as container:
        stream = video_stream(container, path)
        stream.thread_type = "SLICE"
        frame = _first_frame(container, stream, path)
        version = ".".join(map(str, av.library_versions["libavcodec"]))
        return Probe(
            container=container.format.long_name,
            codec=stream.codec_context.codec.canonical_name,
            decoder=f"{stream.codec_context.name}, libavcodec {version}",
            nominal_rate=stream.average_rate or stream.guessed_rate,
            declared_frames=stream.frames or None,
            sample_aspect_ratio=stream.sample_aspect_ratio or Fraction(1),
            pixel_format=frame.format.name,
            size=(frame.width, frame.height),
            interlaced=frame.interlaced_frame,
            colours=Colours.of(frame),
            orientation=Orientation.of(frame),
        )


def facts_of(seen: Probe, index: FootageIndex) -> Facts:
    """The facts of a clip from its probe and its index."""
    return Facts(
        container=seen.container,
        codec=seen.codec,
        decoder=seen.decoder,
        nominal_rate=seen.nominal_rate,
        declared_frames=seen.declared_frames,
        packets=index.packets,
        frames=index.frames,
        pixel_format=seen.pixel_format,
        matrix=seen.colours.matrix,
        matrix_assumed=seen.colours.matrix_assumed,
        full_range=seen.colours.full_range,
        range_assumed=seen.colours.range_assumed,
        scan="interlaced" if seen.interlaced else "progressive",
        sample_aspect_ratio=seen.sample_aspect_ratio,
        rotation=seen.orientation.rotation,
        mirrored=seen.orientation.mirrored,
        first_pts=int(index.pts[0]),
        gaps=gaps_in(index),
        demux_error=index.error,
    )


def gaps_in(index: FootageIndex) -> tuple[tuple[int, Fraction], ...]:
    """(frame, missing seconds) wherever the time from the frame before is one and a half times
    the median interval or more; the missing time is what goes beyond the median.
    """
    steps = np.diff(index.pts)
    if not len(steps):
        return ()
    usual = int(np.sort(steps)[len(steps) // 2])
    long = np.flatnonzero(steps * _LONG.denominator >= usual * _LONG.numerator)
    return tuple(
        (int(at) + 1, (int(steps[at]) - usual) * index.time_base) for at in long if steps[at] > 0
    )


def _first_frame(container: InputContainer, stream: VideoStream, path: Path) -> VideoFrame:
    """The first picture that decodes within the first packets."""
    try:
        for count, packet in enumerate(container.demux(stream)):
            frames = _decoded(stream, packet if packet.size else None)
            if frames:
                return frames[0]
            if count >= _PROBE_PACKETS:
                break
    except READ_ERRORS:
        pass  # no picture came before the unreadable part: the same refusal
    raise FootageError(
        f"no picture of {path} can be decoded; ask for the original, or check that the copy is "
        "complete."
    )


def _decoded(stream: VideoStream, packet: "av.Packet[VideoStream] | None") -> list[VideoFrame]:
    try:
        return stream.codec_context.decode(packet)
    except av.FFmpegError:
        return []
