"""What the container and the decoder say about a clip, and where its time has gaps."""

import re
from dataclasses import dataclass, replace
from fractions import Fraction
from pathlib import Path

import av
import numpy as np
from av.container import InputContainer
from av.video.frame import VideoFrame
from av.video.stream import VideoStream

from sessions.errors import FootageError
from tui.footage.fields import REPEATS, UNTOLD, WHOLE, field_order, scan_words
from tui.footage.index import FootageIndex
from tui.footage.intake import READ_ERRORS, Source, tracks_of
from tui.footage.order import Integers
from tui.footage.picture import Colours, Orientation

_PROBE_PACKETS = 300
_LONG = Fraction(3, 2)  # an interval this many times the usual one is a gap
_MOST_BITS = 1 << 62
_FINE = 4  # stamps are rounded to a unit if it is at most this part of an interval

USUAL_RATES = tuple(
    Fraction(rate)
    for rate in (
        "24000/1001", "24", "25", "30000/1001", "30", "48", "50", "60000/1001", "60", "100",
        "120000/1001", "120", "240000/1001", "240",
    )
)  # fmt: skip
"""Rates of cameras, in frames a second."""

# Metadata by which recorders tell the rate of capture, and programs that they wrote the file.
_CAPTURE_KEYS = ("capture.fps", "capture_fps", "capture.rate")
_PROGRAM_KEYS = ("encoder", "software", "writing_application", "writing application", "tool")
_RECORDED_KEYS = ("creation_time", "creationdate", "date_recorded")
_RECORDED = re.compile(r"(\d{4}-\d\d-\d\d)[T ](\d\d:\d\d:\d\d)")
_TIMECODE = re.compile(r"(\d\d:\d\d:\d\d)([:;.])(\d\d)")


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
    """What the pictures say of themselves, in words."""
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
    track: int
    """Which of the picture tracks is judged, from 1."""
    tracks: int
    """How many picture tracks the file has."""
    sound: tuple[str, ...]
    """What each sound track is coded in."""
    declared_seconds: Fraction | None
    """How long the container says that it lasts."""
    start_timecode: str | None
    """The label of the first frame of the recording, as the recorder wrote it."""
    capture_rate: Fraction | None
    """Frames a second at which the pictures were taken, where the file tells it."""
    programs: tuple[str, ...]
    """The programs that the file names as having written it."""
    recorded: str | None
    """When the file says that it was recorded (ISO 8601), as the recorder's clock had it."""


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
    scanned: int
    """How the first picture is scanned (see :mod:`tui.footage.fields`)."""
    colours: Colours
    orientation: Orientation
    track: int
    tracks: int
    sound: tuple[str, ...]
    declared_seconds: Fraction | None
    start_timecode: str | None
    capture_rate: Fraction | None
    programs: tuple[str, ...]
    recorded: str | None
    cut_out: int
    """How many pictures an edit list hides so that they are not even read."""


def probe(path: Path, track: int | None = None, *, whole: bool = False) -> Probe:
    """Open the clip and decode one picture; FootageError if that cannot be done."""
    container, stream = Source(path, track, whole=whole).open()
    with container:
        tracks = tracks_of(container)
        told = _metadata(container)
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
            scanned=_scanned(frame, stream.codec_context.codec.canonical_name),
            colours=Colours.of(frame),
            orientation=Orientation.of(frame),
            track=1 + [one.index for one in tracks].index(stream.index),
            tracks=len(tracks),
            sound=tuple(s.codec_context.name for s in container.streams.audio if s.codec_context),
            declared_seconds=_length(container),
            start_timecode=_start_timecode(told),
            capture_rate=_capture_rate(told),
            cut_out=_cut_out(Source(path, track), stream) if not whole else 0,
            programs=tuple(
                dict.fromkeys(v for k, v in told if k.endswith(_PROGRAM_KEYS) and v.strip())
            ),
            recorded=_recorded(told),
        )


def _scanned(frame: VideoFrame, codec: str) -> int:
    """How a picture is scanned; HEVC codes each field as a picture, so there is nothing to part."""
    return WHOLE if codec == "hevc" else field_order(frame)


def _cut_out(source: Source, stream: VideoStream) -> int:
    """How many pictures more there are where edit lists are left out of account."""
    read = len(stream.index_entries)
    if not 0 < read < stream.frames:
        return 0
    container, whole = replace(source, whole=True).open()
    with container:
        return max(0, len(whole.index_entries) - read)


def _metadata(container: InputContainer) -> list[tuple[str, str]]:
    """Names, in small letters, and values of all that the file says of itself and its tracks."""
    sources = [container.metadata, *(stream.metadata for stream in container.streams)]
    return [(key.lower(), value) for source in sources for key, value in source.items()]


def _length(container: InputContainer) -> Fraction | None:
    duration = container.duration
    return Fraction(duration, 1_000_000) if duration is not None and duration > 0 else None


def _start_timecode(told: list[tuple[str, str]]) -> str | None:
    for key, value in told:
        found = _TIMECODE.fullmatch(value.strip()) if key == "timecode" else None
        if found:
            mark = ":" if found[2] == ":" else ";"
            return f"{found[1]}{mark}{found[3]}"
    return None


def _capture_rate(told: list[tuple[str, str]]) -> Fraction | None:
    for key, value in told:
        if key.endswith(_CAPTURE_KEYS):
            try:
                rate = Fraction(value.strip())
            except (ValueError, ZeroDivisionError):
                continue
            return rate if 1 <= rate <= 100_000 else None
    return None


def _recorded(told: list[tuple[str, str]]) -> str | None:
    for key, value in told:
        found = _RECORDED.match(value.strip()) if key.endswith(_RECORDED_KEYS) else None
        if found:
            return f"{found[1]} {found[2]}"
    return None


def scanned_of(index: FootageIndex, first: int) -> Integers:
    """How the picture of each packet is scanned; as the ``first`` where a packet does not tell."""
    if index.scanned is None:
        return np.full(index.packets, first, np.int64)
    return np.where(index.scanned == UNTOLD, first, index.scanned)


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
        scan=scan_words(scanned_of(index, seen.scanned)),
        sample_aspect_ratio=seen.sample_aspect_ratio,
        rotation=seen.orientation.rotation,
        mirrored=seen.orientation.mirrored,
        first_pts=int(index.pts[0]),
        gaps=gaps_in(index),
        demux_error=index.error,
        track=seen.track,
        tracks=seen.tracks,
        sound=seen.sound,
        declared_seconds=seen.declared_seconds,
        start_timecode=seen.start_timecode,
        capture_rate=seen.capture_rate,
        programs=seen.programs,
        recorded=seen.recorded,
    )


def steady_rate(index: FootageIndex, declared: Fraction | None) -> Fraction | None:
    """The rate in frames a second that every time stamp keeps, if there is one.

    Containers round stamps, some to a whole millisecond, so that over a short time several rates
    fit: of those of cameras the one that the container declares is then taken, else the one that
    fits best. There is none across a joint.
    """
    if index.joints or index.frames < 2:
        return None
    if declared is not None and index.fields is not None:
        declared *= 2  # pictures are declared, and fields counted
    stamps = index.pts - index.pts[0]
    common = int(np.gcd.reduce(np.diff(stamps)))
    unit = common if 0 < common * _FINE <= index.usual_step else 1
    spreads = {rate: _spread(stamps, index.time_base, rate) for rate in USUAL_RATES}
    if declared is not None:
        spreads[declared] = _spread(stamps, index.time_base, declared)
    for most in (unit, 2 * unit):  # writers round each stamp, or each interval
        fitting = [rate for rate, spread in spreads.items() if spread <= most]
        if declared in fitting and declared in USUAL_RATES:
            return declared
        usual = [rate for rate in fitting if rate in USUAL_RATES]
        if fitting:
            return min(usual or fitting, key=lambda rate: spreads[rate])
    return None


def _spread(stamps: Integers, time_base: Fraction, rate: Fraction) -> Fraction:
    """How far stamps lie from those of a rate, from the earliest to the latest, in their units."""
    step = 1 / (rate * time_base)
    numbers = np.arange(len(stamps))
    if max(int(stamps[-1]) * step.denominator, len(stamps) * step.numerator) >= _MOST_BITS:
        stamps, numbers = stamps.astype(object), numbers.astype(object)  # Python's whole numbers
    off = stamps * step.denominator - numbers * step.numerator
    return Fraction(int(off.max()) - int(off.min()), step.denominator)


def gaps_in(index: FootageIndex) -> tuple[tuple[int, Fraction], ...]:
    """(frame, missing seconds) wherever the time from the frame before is one and a half times
    the median interval or more; the missing time is what goes beyond the median.
    """
    firsts = np.flatnonzero(np.diff(index.packet_of, prepend=-1))  # fields are no pictures
    steps = np.diff(index.pts[firsts])
    if not len(steps):
        return ()
    # how many fields each picture is to last: film shown at 30 a second has two and three
    held = np.full(len(steps), 2)
    if index.scanned is not None:
        held[index.scanned[index.packet_of[firsts[:-1]]] >= REPEATS] = 3
    each = np.sort(steps * 2 // held)
    usual = int(each[len(each) // 2]) * held // 2
    long = np.flatnonzero(steps * _LONG.denominator >= usual * _LONG.numerator)
    return tuple(
        (int(firsts[at + 1]), (int(steps[at]) - int(usual[at])) * index.time_base)
        for at in long
        if steps[at] > 0
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
