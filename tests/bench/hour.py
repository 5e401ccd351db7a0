"""An hour of invented footage, made in seconds by repeating a clip's packets."""

from collections.abc import Iterator
from fractions import Fraction
from pathlib import Path
from typing import cast

import av
from av.packet import Packet
from av.video.stream import VideoStream

HOUR = 216_000
"""Frames of an hour at 60 a second."""


def write_hour(clip: Path, path: Path, frames: int = HOUR) -> None:
    """Write at least so many frames, whole copies of the clip one after the other, not encoded."""
    with av.open(str(clip)) as source, av.open(str(path), "w") as target:
        stream = source.streams.video[0]
        assert stream.time_base is not None
        copy = target.add_stream_from_template(stream)
        copy.time_base = stream.time_base
        packets = [packet for packet in source.demux(stream) if packet.size]
        length = _length(packets)
        for packet in _repeated(packets, length, -(-frames // len(packets)), stream.time_base):
            packet.stream = copy
            target.mux(packet)


def _length(packets: "list[Packet[VideoStream]]") -> int:
    """Units of the time base from the first frame of the clip to where the next copy begins."""
    stamps = sorted(packet.pts for packet in packets if packet.pts is not None)
    return stamps[-1] - stamps[0] + stamps[1] - stamps[0]


def _repeated(
    packets: "list[Packet[VideoStream]]", length: int, copies: int, time_base: Fraction
) -> "Iterator[Packet[VideoStream]]":
    contents = [bytes(packet) for packet in packets]
    for number in range(copies):
        for packet, content in zip(packets, contents, strict=True):
            made = cast("Packet[VideoStream]", Packet(content))
            assert packet.pts is not None
            assert packet.dts is not None
            made.pts, made.dts = packet.pts + number * length, packet.dts + number * length
            made.duration, made.time_base = packet.duration, time_base
            made.is_keyframe = packet.is_keyframe
            yield made
