"""Odd test clips, each picture carrying the number of its frame as a pattern of blocks.

The pattern is two rows of sixteen blocks across the top of the picture: the upper row spells the
number in binary, the lower row is its complement, so that a picture put together from two frames
reads as no number at all.
"""

import os
import struct
from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field
from fractions import Fraction
from functools import lru_cache
from pathlib import Path
from random import Random
from typing import cast

import av
import numpy as np
import numpy.typing as npt
from av.audio.stream import AudioStream
from av.filter import Graph
from av.packet import Packet
from av.video.reformatter import Interpolation
from av.video.stream import VideoStream

from tui.footage.writer import VideoWriter

Pixels = npt.NDArray[np.uint8]
Spans = list[tuple[int, int]]
"""Position and size, in bytes, of packets in decode order."""
Patch = Callable[[bytearray, Spans], None]

SIZE = (320, 180)
BITS = 16


@dataclass(frozen=True)
class Clip:
    """A clip and the truth about it: number and time stamp (seconds) of each frame shown."""

    path: Path
    numbers: tuple[int, ...]
    seconds: tuple[Fraction, ...]


def stamp(pixels: Pixels, number: int) -> Pixels:
    """Paint the pattern of ``number`` over the top of the picture, in place."""
    height, width = pixels.shape[:2]
    block, row = width // BITS, height // 9
    for bit in range(BITS):
        on = number >> (BITS - 1 - bit) & 1
        columns = slice(bit * block, (bit + 1) * block)
        pixels[:row, columns] = 225 if on else 30
        pixels[row : 2 * row, columns] = 30 if on else 225
    return pixels


def read_number(pixels: Pixels) -> int | None:
    """The number that a picture of any size carries, or None where the pattern is broken."""
    height, width = pixels.shape[:2]
    block, row = width / BITS, height / 9
    luma = pixels.mean(axis=2)
    number = 0
    for bit in range(BITS):
        columns = slice(round((bit + 0.3) * block), round((bit + 0.7) * block))
        upper = luma[round(0.3 * row) : round(0.7 * row), columns].mean()
        lower = luma[round(1.3 * row) : round(1.7 * row), columns].mean()
        if abs(upper - lower) < 90:
            return None
        number = number << 1 | int(upper > lower)
    return number


def picture(number: int, size: tuple[int, int] = SIZE) -> Pixels:
    """A textured ground that pans, a block that crosses it, and the number."""
    return _small_picture(number) if size == SIZE else _drawn(number, size)


@lru_cache(maxsize=400)
def _small_picture(number: int) -> Pixels:
    return _drawn(number, SIZE)


def _drawn(number: int, size: tuple[int, int]) -> Pixels:
    width, height = size
    ground = _ground(width, height)
    pixels = np.roll(ground, (number // 2, 2 * number), axis=(0, 1)).copy()
    left = 5 * number % (width - 40)
    pixels[height // 2 : height // 2 + 40, left : left + 40] = (200, 40, 40)
    stamp(pixels, number)
    pixels.setflags(write=False)
    return pixels


@lru_cache(maxsize=8)
def _ground(width: int, height: int) -> Pixels:
    rng = np.random.default_rng(1)
    coarse = rng.integers(40, 200, (-(-height // 10), -(-width // 10), 3))
    ground = coarse.repeat(10, axis=0).repeat(10, axis=1)[:height, :width] + rng.integers(
        -12, 12, (height, width, 1)
    )
    return np.asarray(ground, np.uint8)


@contextmanager
def _as_urgent_as_before() -> Iterator[None]:
    """Keep the process as urgent as it is.

    The AV1 encoder makes it a real-time one where it may, as for root: all tests after it, and all
    that they start, would then take the cores from everything else.
    """
    policy, parameters = os.sched_getscheduler(0), os.sched_getparam(0)
    try:
        yield
    finally:
        os.sched_setscheduler(0, policy, parameters)


def write(
    path: Path,
    numbers: Iterable[int],
    *,
    rate: int = 60,
    pts: Callable[[int], int] | None = None,
    size: tuple[int, int] = SIZE,
    **options: object,
) -> Clip:
    """Encode the pictures of ``numbers``; ``pts(i)`` is the time stamp of the i-th of them."""
    shown = tuple(numbers)
    stamps = [pts(i) if pts else i for i in range(len(shown))]
    turn = int(str(options.get("rotation", 0))) // 90
    stored = size[::-1] if turn % 2 else size
    with (
        _as_urgent_as_before(),
        VideoWriter(path, stored, rate, **options) as writer,  # type: ignore[arg-type]
    ):
        for number, at in zip(shown, stamps, strict=True):
            # stored turned the other way, so that it is upright when displayed
            writer.write(np.rot90(picture(number, size), turn), at)
        time_base = writer.time_base
    return Clip(path, shown, tuple(at * time_base for at in stamps))


def h264(gop: int = 30, bframes: int = 3, extra: str = "") -> dict[str, str]:
    """Options of libx264 for key frames exactly ``gop`` apart."""
    params = f"keyint={gop}:min-keyint={gop}:scenecut=0{':' if extra else ''}{extra}"
    return {"g": str(gop), "bf": str(bframes), "x264-params": params}


def packets(path: Path) -> Spans:
    """Position and size, in bytes, of each video packet in decode order."""
    with av.open(str(path)) as container:
        return [(p.pos or 0, p.size) for p in container.demux(video=0) if p.size]


def damage(
    source: Clip, path: Path, patch: Callable[[bytearray, list[tuple[int, int]]], None]
) -> Clip:
    """A copy of ``source`` whose bytes ``patch`` has changed in place."""
    data = bytearray(source.path.read_bytes())
    patch(data, packets(source.path))
    path.write_bytes(data)
    return Clip(path, source.numbers, source.seconds)


def scramble(indices: Iterable[int], seed: int = 1) -> Patch:
    """Overwrite every seventh byte in the last two thirds of the packets named."""

    def patch(data: bytearray, spans: Spans) -> None:
        random = Random(seed)
        for index in indices:
            start, size = spans[index]
            for offset in range(start + size // 3, start + size, 7):
                data[offset] = random.randrange(256)

    return patch


def zero(indices: Iterable[int]) -> Patch:
    """Overwrite the packets named with zeros."""

    def patch(data: bytearray, spans: Spans) -> None:
        for index in indices:
            start, size = spans[index]
            data[start : start + size] = bytes(size)

    return patch


def truncate(source: Clip, path: Path, share: Fraction) -> Clip:
    """The first ``share`` of the bytes of ``source``."""
    data = source.path.read_bytes()
    path.write_bytes(data[: int(len(data) * share)])
    return Clip(path, source.numbers, source.seconds)


def trim_by_edit_list(source: Clip, path: Path, hidden: int) -> Clip:
    """A copy of an mp4 whose edit list hides the first ``hidden`` frames."""
    data = bytearray(source.path.read_bytes())
    with av.open(str(source.path)) as container:
        time_base = container.streams.video[0].time_base or Fraction(1)
    shift = int(source.seconds[hidden] / time_base)
    at = data.index(b"elst") + 12  # past the type, version, flags and entry count
    duration, start = struct.unpack(">Ii", data[at : at + 8])
    data[at : at + 8] = struct.pack(">Ii", duration, start + shift)
    path.write_bytes(data)
    seconds = tuple(t - source.seconds[hidden] for t in source.seconds[hidden:])
    return Clip(path, source.numbers[hidden:], seconds)


def with_sound(source: Clip, path: Path, seconds: int) -> Clip:
    """A copy of ``source`` with a sound track ``seconds`` long."""
    with av.open(str(source.path)) as inp, av.open(str(path), "w") as out:
        picture_in = inp.streams.video[0]
        picture_out = out.add_stream_from_template(picture_in)
        sound = out.add_stream("aac", rate=48000, layout="mono")
        for packet in inp.demux(picture_in):
            if packet.dts is not None:
                packet.stream = picture_out
                out.mux(packet)
        out.mux(list(tone(sound, seconds)))
    return Clip(path, source.numbers, source.seconds)


def tone(stream: AudioStream, seconds: int) -> "Iterator[Packet[AudioStream]]":
    """A steady tone as packets of ``stream``."""
    wave = (np.sin(np.arange(1024) * 0.05) * 0.1).astype(np.float32)[None]
    for start in range(0, seconds * 48000, 1024):
        block = av.AudioFrame.from_ndarray(wave, "fltp", "mono")
        block.sample_rate, block.pts, block.time_base = 48000, start, Fraction(1, 48000)
        yield from stream.encode(block)
    yield from stream.encode(None)


def sound_only(path: Path) -> Path:
    """A file with a sound track and no picture."""
    with av.open(str(path), "w") as out:
        stream = out.add_stream("aac", rate=48000, layout="mono")
        for packet in tone(stream, 1):
            out.mux(packet)
    return path


def irregular(count: int) -> list[int]:
    """Time stamps in 1/90000 s: 60 frames a second with jitter and a few long intervals."""
    random = Random(5)
    stamps = [0]
    while len(stamps) < count:
        step = 1500 + random.randint(-250, 250)
        stamps.append(
            stamps[-1] + step * (random.choice((2, 3, 5)) if random.random() < 0.02 else 1)
        )
    return stamps


def repeated(count: int) -> list[int]:
    """Numbers of a recording that shows some frames twice."""
    random = Random(6)
    numbers, number = [], 0
    for _ in range(count):
        numbers.append(number)
        number += random.random() > 0.1
    return numbers


@dataclass(frozen=True)
class Kind:
    """How one kind of healthy clip is made: its suffix, its encoder and what is odd about it."""

    suffix: str
    frames: int = 150
    options: Mapping[str, object] = field(default_factory=dict)


_TS = {"time_base": Fraction(1, 90000), "pts": lambda i: 90000 + 1500 * i}
_X265 = "keyint=30:min-keyint=30:scenecut=0:bframes=3:log-level=none:pools=none"

HEALTHY: dict[str, Kind] = {
    "mp4": Kind(
        ".mp4", 300, {"options": h264(100), "container_options": {"movflags": "faststart"}}
    ),
    "mkv": Kind(".mkv", options={"options": h264()}),
    "mpeg-ts": Kind(".ts", options={"options": h264(), **_TS}),
    "flv": Kind(".flv", options={"options": h264()}),
    "fragmented mp4": Kind(
        ".mp4",
        options={"options": h264(), "container_options": {"movflags": "frag_keyframe+empty_moov"}},
    ),
    "every frame a key": Kind(".mp4", options={"options": h264(1, 0)}),
    "no B-frames": Kind(".mp4", options={"options": h264(60, 0)}),
    "variable frame rate": Kind(
        ".mp4",
        options={
            "options": h264(),
            "time_base": Fraction(1, 90000),
            "pts": irregular(150).__getitem__,
        },
    ),
    "late start, mp4": Kind(".mp4", options={"options": h264(), "pts": lambda i: i + 90}),
    "late start, mkv": Kind(".mkv", options={"options": h264(), "pts": lambda i: i + 90}),
    "open GOP, mp4": Kind(".mp4", options={"options": h264(30, 3, "open-gop=1:b-pyramid=2")}),
    "open GOP, mpeg-ts": Kind(
        ".ts", options={"options": h264(30, 3, "open-gop=1:b-pyramid=2"), **_TS}
    ),
    "HEVC, open GOP": Kind(
        ".mp4",
        options={
            "codec": "libx265",
            "options": {"preset": "ultrafast", "x265-params": f"{_X265}:open-gop=1"},
        },
    ),
    "HEVC, 10 bits": Kind(
        ".mkv",
        90,
        {
            "codec": "libx265",
            "pixel_format": "yuv420p10le",
            "options": {"preset": "ultrafast", "x265-params": _X265},
        },
    ),
    "intra refresh": Kind(".mp4", 200, {"options": h264(40, 0, "intra-refresh=1")}),
    "intra refresh, mpeg-ts": Kind(".ts", 200, {"options": h264(40, 0, "intra-refresh=1"), **_TS}),
    "dropped frames": Kind(
        ".mp4", options={"options": h264(), "pts": lambda i: i + (3 if i > 50 else 0) + (i > 90)}
    ),
    "rotated by 90": Kind(".mp4", 60, {"options": h264(), "rotation": 90}),
    "rotated by 180": Kind(".mp4", 60, {"options": h264(), "rotation": 180}),
    "rotated by 270": Kind(".mp4", 60, {"options": h264(), "rotation": 270}),
    "MPEG-4, avi": Kind(
        ".avi", options={"codec": "mpeg4", "options": {"g": "30", "bf": "2", "b": "4M"}}
    ),
    "MPEG-4, mp4": Kind(
        ".mp4", options={"codec": "mpeg4", "options": {"g": "30", "bf": "2", "b": "4M"}}
    ),
    "MPEG-2, program stream": Kind(
        ".mpg",
        options={
            "codec": "mpeg2video",
            "options": {"g": "15", "bf": "2", "b": "6M"},
        },
    ),
    "H.264, avi": Kind(".avi", options={"options": h264()}),
    "H.264, open GOP, avi": Kind(
        ".avi", options={"options": h264(30, 3, "open-gop=1:b-pyramid=2:b-adapt=0")}
    ),
    "MJPEG, mov": Kind(
        ".mov",
        options={
            "codec": "mjpeg",
            "pixel_format": "yuvj420p",
            "full_range": True,
            "options": {"qmin": "2", "qmax": "5"},
        },
    ),
    "VP8, webm": Kind(
        ".webm",
        options={
            "codec": "libvpx",
            "options": {
                "deadline": "good",
                "cpu-used": "8",
                "b": "3M",
                "g": "60",
                "auto-alt-ref": "1",
                "lag-in-frames": "16",
            },
        },
    ),
    "VP9, webm": Kind(
        ".webm",
        options={
            "codec": "libvpx-vp9",
            "options": {
                "deadline": "good",
                "cpu-used": "8",
                "crf": "30",
                "b": "0",
                "g": "60",
                "auto-alt-ref": "1",
                "lag-in-frames": "16",
            },
        },
    ),
    "AV1, mp4": Kind(
        ".mp4",
        options={"codec": "libsvtav1", "options": {"preset": "12", "crf": "35", "g": "60"}},
    ),
}


def healthy(name: str, folder: Path) -> Clip:
    """Make the healthy clip of that name."""
    kind = HEALTHY[name]
    path = folder / f"{name.replace(' ', '-').replace(',', '')}{kind.suffix}"
    numbers = range(kind.frames)
    return write(path, numbers, **kind.options)  # type: ignore[arg-type]


ORDERS = {"top": "tff", "bottom": "bff", "": "prog"}


def weave(first: Pixels, second: Pixels, order: str) -> Pixels:
    """A picture of two fields; ``order`` is which lines are of the first one: top or bottom."""
    woven = first.copy()
    others = slice(1, None, 2) if order == "top" else slice(0, None, 2)
    woven[others] = second[others]
    return woven


def interlaced(
    path: Path,
    pictures: Iterable[tuple[str, str]],
    *,
    codec: str = "libx264",
    size: tuple[int, int] = SIZE,
    rate: int = 25,
    pixel_format: str = "yuv420p",
    options: Mapping[str, str] | None = None,
) -> Clip:
    """Encode pictures given as (how it is taken, how it is flagged): top, bottom or nothing.

    One of fields carries two numbers, that of its first field and the next one.
    """
    numbers, seconds = list[int](), list[Fraction]()
    graph = {order: _flagging(size, pixel_format, rate, order) for order in ORDERS}
    out = av.open(str(path), "w")
    stream = cast("VideoStream", out.add_stream(codec, rate=rate, options=dict(options or {})))
    stream.width, stream.height = size
    stream.pix_fmt = pixel_format
    for at, (taken, flagged) in enumerate(pictures):
        shown = [len(numbers), len(numbers) + 1] if taken else [len(numbers)]
        pixels = picture(shown[0], size)
        if taken:
            pixels = weave(pixels, picture(shown[1], size), taken)
        # the nearest: no line takes from another
        frame = av.VideoFrame.from_ndarray(pixels, "rgb24").reformat(
            format=pixel_format, interpolation=Interpolation.POINT
        )
        frame.pts, frame.time_base = at, Fraction(1, rate)
        graph[flagged].push(frame)
        out.mux(stream.encode(cast("av.VideoFrame", graph[flagged].pull())))
        numbers += shown
        seconds += [Fraction(2 * at + half, 2 * rate) for half in range(len(shown))]
    out.mux(stream.encode(None))
    out.close()
    return Clip(path, tuple(numbers), tuple(seconds))


def _flagging(size: tuple[int, int], pixel_format: str, rate: int, order: str) -> Graph:
    """A filter that says of pictures how they are scanned."""
    graph = Graph()
    source = graph.add_buffer(
        width=size[0],
        height=size[1],
        format=av.VideoFormat(pixel_format, *size),
        time_base=Fraction(1, rate),
    )
    flag, sink = graph.add("setfield", ORDERS[order]), graph.add("buffersink")
    source.link_to(flag)
    flag.link_to(sink)
    graph.configure()
    return graph
