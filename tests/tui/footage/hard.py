"""Hard footage: recordings with pictures missing, joined, or wrongly stamped, and what comes of it.

Each is made from a sound clip, so that the truth is known: which picture of that clip each frame
is, and what it looks like there.
"""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

import av
import numpy as np
from av.packet import Packet
from av.video.frame import VideoFrame
from av.video.stream import VideoStream

from tests.tui.footage.clips import Clip, Pixels, h264, irregular, packets, read_number, write
from tui.footage.footage import Footage
from tui.footage.picture import Painter

WRONG = 1.0
"""Levels of mean difference in luma from which a picture is another than that of the sound clip."""

_TS_PACKET = 188


@dataclass(frozen=True)
class Tally:
    """What came of a clip: how many frames, and how many of them were not as they should be."""

    frames: int
    wrong: int
    """Frames whose picture is another than the truth, with nothing said against them."""
    missing: int
    """Frames that the truth has and the footage has not, or the other way round."""
    flagged: int
    """Frames that something is said against although their picture is right."""
    told: int
    """Frames that are not right, and are said not to be."""
    late: Fraction
    """The greatest error of a frame's time, from the first frame on, in seconds."""


def luma(frame: VideoFrame) -> Pixels:
    """The frame in grey, made small."""
    return np.asarray(frame.reformat(format="gray", width=160, height=90).to_ndarray(), np.uint8)


def sound_pictures(path: Path) -> list[Pixels]:
    """Every picture of a sound clip, decoded plainly from the first to the last."""
    with av.open(str(path)) as container:
        stream = container.streams.video[0]
        stream.thread_type, stream.codec_context.thread_count = "SLICE", 1
        return [luma(frame) for frame in container.decode(stream)]


def tally(footage: Footage, truth: Iterable[Pixels], seconds: Iterable[Fraction] = ()) -> Tally:
    """Decode all frames, forward and by jumps back, and compare each with the truth.

    Frames are compared in turn or, with ``seconds`` of each of the truth, by their times.
    """
    expected, times = list(truth), list(seconds)
    decoder = footage.decoder()
    came: dict[int, Pixels] = {}

    def keep(number: int, frame: VideoFrame) -> None:
        seen = luma(frame)
        assert (
            number not in came or differ(came[number], seen) < WRONG or footage.ledger.flaw(number)
        )
        came[number] = seen

    for frame in (*range(footage.frames - 1, 0, -23), *range(footage.frames)):
        if frame not in came:
            decoder.fetch(frame, keep)
    decoder.close()
    places = list(range(min(footage.frames, len(expected))))
    if times:
        began = footage.time(0) - times[0]
        places = [_nearest(times, footage.time(n) - began) for n in range(footage.frames)]
    counts = {"wrong": 0, "flagged": 0, "told": 0}
    for number, place in enumerate(places):
        flawed = footage.ledger.flaw(number) is not None
        right = number in came and differ(came[number], expected[place]) < WRONG
        kind = ("told" if flawed else "wrong") if not right else ("flagged" if flawed else "")
        if kind:
            counts[kind] += 1
    late = max(
        (abs(footage.time(n) - began - times[place]) for n, place in enumerate(places) if times),
        default=Fraction(0),
    )
    return Tally(footage.frames, missing=abs(footage.frames - len(expected)), late=late, **counts)


def _nearest(times: list[Fraction], wanted: Fraction) -> int:
    return min(range(len(times)), key=lambda place: abs(times[place] - wanted))


def differ(one: Pixels, other: Pixels) -> float:
    """The mean difference of two pictures in levels."""
    return float(np.abs(one.astype(np.int16) - other.astype(np.int16)).mean())


Remade = Callable[[int, "Packet[VideoStream]"], bool]


def remux(source: Path, path: Path, change: Remade, **options: str) -> Path:
    """Copy the packets of a clip; ``change`` may alter each, and drops those it gives False for."""
    with av.open(str(source)) as inp, av.open(str(path), "w", options=options) as out:
        stream = inp.streams.video[0]
        made = out.add_stream_from_template(stream, opaque=True)
        coded = (packet for packet in inp.demux(stream) if packet.size)
        for place, packet in enumerate(coded):
            if change(place, packet):
                packet.stream = made
                out.mux(packet)
    return path


def without(source: Path, path: Path, at: int, count: int) -> Path:
    """The clip without ``count`` packets from ``at`` on, in decode order, the time left open."""
    return remux(source, path, lambda place, _: not at <= place < at + count)


def shown_without(source: Path, at: int, count: int) -> list[int]:
    """Which pictures of the clip are left, in the order shown."""
    with av.open(str(source)) as container:
        stamps = [packet.pts for packet in container.demux(video=0) if packet.size]
    order = sorted(range(len(stamps)), key=lambda place: stamps[place] or 0)
    return [n for n, place in enumerate(order) if not at <= place < at + count]


def joined(path: Path, *sources: Path) -> Path:
    """The bytes of files, one after the other."""
    path.write_bytes(b"".join(source.read_bytes() for source in sources))
    return path


def fragments_again(source: Path, path: Path) -> Path:
    """A fragmented mp4 with its fragments a second time, without a second head."""
    data, at, again = source.read_bytes(), 0, b""
    while at + 8 <= len(data):
        size = int.from_bytes(data[at : at + 4], "big")
        if data[at + 4 : at + 8] in (b"moof", b"mdat"):
            again += data[at : at + size]
        at += size
    path.write_bytes(data + again)
    return path


def stamped_as_decoded(source: Path, path: Path) -> Path:
    """The clip with stamps that only count up in the order of decoding, as some writers do it."""
    step = 0

    def restamp(place: int, packet: "Packet[VideoStream]") -> bool:
        nonlocal step
        step = step or int(1 / (60 * (packet.time_base or Fraction(1, 60))))
        packet.pts = packet.dts = place * step
        return True

    return remux(source, path, restamp)


def without_stamps(source: Path, path: Path, places: Iterable[int]) -> Path:
    """A transport stream with the stamps of these packets painted over (ISO/IEC 13818-1, 2.4.3.7).

    The two bits that announce them are cleared, and their bytes become stuffing.
    """
    data = bytearray(source.read_bytes())
    spans = packets(source)
    for place in places:
        at = data.index(b"\0\0\1", spans[place][0] + 4)  # the head of the PES packet
        assert data[at + 7] & 0x80
        data[at + 7] &= 0x3F
        data[at + 9 : at + 9 + data[at + 8]] = b"\xff" * data[at + 8]
    path.write_bytes(data)
    return path


def one_piece_lost(source: Path, path: Path, piece: int) -> Path:
    """A transport stream without one of its pieces of 188 bytes."""
    data = source.read_bytes()
    path.write_bytes(data[: piece * _TS_PACKET] + data[(piece + 1) * _TS_PACKET :])
    return path


def video_pieces(source: Path) -> list[int]:
    """The pieces of a transport stream that carry its picture track, by their number."""
    data = source.read_bytes()
    heads = range(0, len(data) - _TS_PACKET + 1, _TS_PACKET)
    numbers = [(data[at + 1] & 31) << 8 | data[at + 2] for at in heads]
    return [n for n, number in enumerate(numbers) if number == 0x100]


_PICTURE = b"\0\0\1\xb6"
_NOT_CODED = _PICTURE + bytes((0b01010000, 0b00100111))
"""A picture of MPEG-4 that repeats the one before, at 60 a second (ISO/IEC 14496-2, 6.2.5)."""


def packed(source: Path, path: Path) -> Path:
    """MPEG-4 in AVI with each reordered picture in the packet before it, a dummy in its place."""
    with av.open(str(source)) as container:
        coded = [bytes(packet) for packet in container.demux(video=0) if packet.size]
    kinds = [data[data.index(_PICTURE) + 4] >> 6 for data in coded]  # 2: reordered
    together: dict[int, bytes] = {}
    for place, kind in enumerate(kinds):
        if kind == 2:
            together[place - 1] = coded[place - 1] + coded[place]
            together[place] = _NOT_CODED

    with av.open(str(source)) as inp, av.open(str(path), "w") as out:
        made = out.add_stream_from_template(inp.streams.video[0], opaque=True)
        for place, data in enumerate(coded):
            packet = Packet(together.get(place, data))
            packet.pts = packet.dts = place
            packet.time_base, packet.stream = Fraction(1, 60), made
            packet.is_keyframe = kinds[place] == 0
            out.mux(packet)
    return path


def without_chunks(source: Path, path: Path, places: Iterable[int]) -> Path:
    """An AVI whose chunks of these pictures bear another name, so that no reader takes them.

    Its index is cut off, as where a damaged card was rescued.
    """
    data = bytearray(source.read_bytes())
    for place in places:
        at = packets(source)[place][0]
        assert data[at : at + 4] == b"00dc" or data[at - 8 : at - 4] == b"00dc"
        head = at if data[at : at + 4] == b"00dc" else at - 8
        data[head : head + 4] = b"JUNK"
    index = data.rfind(b"idx1")
    data[index : index + 4] = b"JUNK"
    path.write_bytes(data)
    return path


def numbers(footage: Footage) -> list[int | None]:
    """The number that each frame carries; None where it carries none."""
    decoder, painter = footage.decoder(), Painter()
    came: dict[int, int | None] = {}
    for frame in range(footage.frames):
        if frame not in came:
            decoder.fetch(frame, lambda n, f: came.update({n: read_number(painter.full(f))}))
    decoder.close()
    return [came.get(n) for n in range(footage.frames)]


_X265 = "keyint=30:min-keyint=30:scenecut=0:bframes=3:log-level=none:pools=none"
_TS = {"time_base": Fraction(1, 90000), "pts": lambda i: 90000 + 1500 * i}
_VFR = {"time_base": Fraction(1, 90000), "pts": irregular(150).__getitem__}
_VPX = {"deadline": "realtime", "cpu-used": "8", "b": "3M", "g": "60", "lag-in-frames": "0"}

SOURCES: dict[str, tuple[str, dict[str, object]]] = {
    "H.264, mp4": (".mp4", {"options": h264()}),
    "H.264, mkv": (".mkv", {"options": h264()}),
    "H.264, ts": (".ts", {"options": h264(), **_TS}),
    "H.264, open GOP, mp4": (".mp4", {"options": h264(30, 3, "open-gop=1:b-pyramid=2")}),
    "H.264, refresh, mp4": (".mp4", {"options": h264(40, 0, "intra-refresh=1")}),
    "H.264, variable, mp4": (".mp4", {"options": h264(), **_VFR}),
    "H.264, fragments": (
        ".mp4",
        {"options": h264(), "container_options": {"movflags": "frag_keyframe+empty_moov"}},
    ),
    "H.264, avi": (".avi", {"options": h264()}),
    "HEVC, mp4": (
        ".mp4",
        {"codec": "libx265", "options": {"preset": "ultrafast", "x265-params": _X265}},
    ),
    "HEVC, ts": (
        ".ts",
        {"codec": "libx265", "options": {"preset": "ultrafast", "x265-params": _X265}, **_TS},
    ),
    "VP8, webm": (".webm", {"codec": "libvpx", "options": _VPX}),
    "VP9, webm": (".webm", {"codec": "libvpx-vp9", "options": {**_VPX, "crf": "30"}}),
    "AV1, mp4": (
        ".mp4",
        {"codec": "libsvtav1", "options": {"preset": "12", "crf": "35", "g": "60"}},
    ),
    "MPEG-4, mp4": (".mp4", {"codec": "mpeg4", "options": {"g": "30", "bf": "2", "b": "4M"}}),
    "MPEG-4, avi": (".avi", {"codec": "mpeg4", "options": {"g": "30", "bf": "1", "b": "4M"}}),
    "MPEG-2, ts": (
        ".ts",
        {"codec": "mpeg2video", "options": {"g": "15", "bf": "2", "b": "6M"}},
    ),
    "MPEG-2, ps": (".mpg", {"codec": "mpeg2video", "options": {"g": "15", "bf": "2", "b": "6M"}}),
}
"""The sound clips that hard ones are made from: suffix, and how they are written."""


def sound(name: str, folder: Path, frames: int = 120) -> Clip:
    """Make the sound clip of that name."""
    suffix, options = SOURCES[name]
    path = folder / f"{name.replace(' ', '-').replace(',', '')}{suffix}"
    return write(path, range(frames), **options)  # type: ignore[arg-type]
