"""The index of a clip: which packet holds which frame, and when each frame is shown."""

from dataclasses import dataclass, field
from fractions import Fraction
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt
from av.packet import Packet
from av.video.stream import VideoStream

from tui.footage.fingerprint import Progress
from tui.footage.intake import READ_ERRORS, open_container, video_stream
from tui.footage.order import shown_order, told_by_decoding

Integers = npt.NDArray[np.int64]
Booleans = npt.NDArray[np.bool_]

NO_STAMP = -(1 << 62)
"""Stands for a time stamp that a packet does not have."""

_DERIVING = frozenset({"avi", "mpeg"})  # mpeg: several pictures may share one stored time

NOT_SHOWN = -1
"""The frame number of a packet that an edit list hides."""


@dataclass(frozen=True, eq=False)
class FootageIndex:
    """Everything that demuxing tells about the frames, without decoding one.

    Arrays named ``packet_*`` go by packet, in decode order; ``pts``, ``packet_of`` and
    ``start_of`` go by frame, in display order. Time stamps count ``time_base`` seconds.
    """

    time_base: Fraction
    packet_pts: Integers
    packet_dts: Integers
    packet_size: Integers
    key: Booleans
    hidden: Booleans
    flaws: tuple[tuple[int, str], ...] = ()
    """(packet, what is wrong with it) for each packet that the container marks or misdescribes."""
    error: str | None = None
    """What ended the pass before the end of the file."""
    stamps_derived: bool = False
    """The container stores no presentation times; they were worked out from the coded pictures."""
    decoded_pts: Integers | None = None
    """The presentation time stamp of each packet where only decoding told it; those that the
    library works out are then false, and packets are known by their decoding time stamps."""

    pts: Integers = field(init=False)
    packet_of: Integers = field(init=False)
    start_of: Integers = field(init=False)
    """The key packet from which each frame can be decoded."""
    frame_of: Integers = field(init=False)
    """The frame each packet holds, or NOT_SHOWN."""
    settled_by: Integers = field(init=False)
    """The frame by whose coming out all that was decoded before each frame has come out."""
    keys: Integers = field(init=False)
    stamps: Integers = field(init=False)
    """The time stamp by which each packet is known: when it is shown or, where that is not told,
    when it is decoded."""
    _stamp_order: Integers = field(init=False, repr=False)
    """All packets by their time stamps; those that share one in decode order."""

    def __post_init__(self) -> None:
        stamps = np.where(self.packet_pts == NO_STAMP, self.packet_dts, self.packet_pts)
        times = stamps
        if self.decoded_pts is not None:
            stamps, times = self.packet_dts, self.decoded_pts
        shown = np.flatnonzero(~self.hidden)
        order = shown[np.argsort(times[shown], kind="stable")]
        frame_of = np.full(len(stamps), NOT_SHOWN, np.int64)
        frame_of[order] = np.arange(len(order))
        keys = np.flatnonzero(self.key)
        derived: dict[str, Any] = {
            "pts": times[order],
            "packet_of": order,
            "frame_of": frame_of,
            "keys": keys,
            "start_of": _start_packets(order, times, keys),
            "settled_by": _settled_by(order, frame_of, self.key),
            "stamps": stamps,
            "_stamp_order": np.argsort(stamps, kind="stable"),
        }
        for name, value in derived.items():
            object.__setattr__(self, name, value)

    @property
    def frames(self) -> int:
        """How many frames are shown."""
        return len(self.pts)

    @property
    def packets(self) -> int:
        """How many packets were found, hidden ones included."""
        return len(self.packet_pts)

    def last_key(self, packet: int) -> int:
        """The last key packet at or before ``packet``, or the first packet if there is none."""
        at = int(np.searchsorted(self.keys, packet, "right")) - 1
        return int(self.keys[at]) if at >= 0 else 0

    def next_key(self, packet: int) -> int:
        """The first key packet after ``packet``, or the number of packets if there is none."""
        at = int(np.searchsorted(self.keys, packet, "right"))
        return int(self.keys[at]) if at < len(self.keys) else self.packets

    def earlier_start(self, packet: int, back: int) -> int:
        """The key packet ``back`` keys before the key ``packet``, or the first packet."""
        at = int(np.searchsorted(self.keys, packet)) - back
        return int(self.keys[at]) if at >= 0 and len(self.keys) else 0

    def first_frame(self, start: int) -> int:
        """The first frame that can be decoded from the key packet ``start``."""
        return int(np.argmax(self.start_of >= start))

    def locate(self, packet: "Packet[VideoStream]", expected: int) -> int | None:
        """Which packet of the index this one is, by its time stamps; None if it is none.

        ``expected`` decides between packets that agree in every stamp.
        """
        if 0 <= expected < self.packets and self._is_at(expected, packet):
            return expected
        return next((i for i in self._sharing_stamp(packet) if self._is_at(i, packet)), None)

    def _is_at(self, place: int, packet: "Packet[VideoStream]") -> bool:
        return (
            self.stamps[place] == self._stamp(packet)
            and self.packet_size[place] == packet.size
            and (packet.dts is None or self.packet_dts[place] in (NO_STAMP, packet.dts))
        )

    def _stamp(self, packet: "Packet[VideoStream]") -> int:
        shown = packet.pts if self.decoded_pts is None else None
        stamp = packet.dts if shown is None else shown
        return NO_STAMP if stamp is None else stamp

    def _sharing_stamp(self, packet: "Packet[VideoStream]") -> list[int]:
        """The packets that have the time stamp of this one, in decode order."""
        order, stamp = self._stamp_order, self._stamp(packet)
        first = np.searchsorted(self.stamps, stamp, "left", sorter=order)
        last = np.searchsorted(self.stamps, stamp, "right", sorter=order)
        return [int(place) for place in order[first:last]]


def build_index(path: Path, progress: Progress | None = None) -> FootageIndex:
    """Read every packet of the picture track; FootageError if the file cannot be judged.

    Where the container does not tell the order of frames, the clip is also decoded once.
    """
    found = _Found.by_reading(path, progress)
    columns = np.array(found.rows, np.int64).reshape(-1, 5)
    pts, dts, size, key, hidden = (np.ascontiguousarray(columns[:, i]) for i in range(5))
    decoded_pts = None
    if found.unordered:
        order, lost = shown_order(path, len(columns), progress)
        decoded_pts = np.sort(dts)[order]
        found.flaws.extend(lost)
    if progress:
        progress("index", path.stat().st_size, path.stat().st_size)
    return FootageIndex(
        found.time_base,
        pts,
        dts,
        size,
        key.astype(bool),
        hidden.astype(bool),
        tuple(found.flaws),
        found.error,
        found.derived,
        decoded_pts,
    )


@dataclass
class _Found:
    """What one pass over the packets found."""

    time_base: Fraction
    derived: bool
    unordered: bool
    rows: list[tuple[int, int, int, bool, bool]] = field(default_factory=list)
    flaws: list[tuple[int, str]] = field(default_factory=list)
    error: str | None = None

    @classmethod
    def by_reading(cls, path: Path, progress: Progress | None) -> "_Found":
        with open_container(path) as container:
            stream, name = video_stream(container, path), container.format.name
            unordered = told_by_decoding(name, stream.codec_context.name)
            found = cls(stream.time_base or Fraction(1), name in _DERIVING, unordered)
            try:
                for packet in container.demux(stream):
                    found._add(packet)
                    if progress and packet.pos is not None and len(found.rows) % 256 == 0:
                        progress("index", packet.pos, path.stat().st_size)
            except READ_ERRORS as failure:
                found.error = getattr(failure, "strerror", None) or str(failure)
        return found

    def _add(self, packet: "Packet[VideoStream]") -> None:
        # a packet without content ends the stream or, in AVI, repeats a picture
        if packet.size:
            words = _flaws_of(packet, self.unordered)
            self.flaws.extend((len(self.rows), flaw) for flaw in words)
            self.rows.append(_row(packet))


def _row(packet: "Packet[VideoStream]") -> tuple[int, int, int, bool, bool]:
    return (
        NO_STAMP if packet.pts is None else packet.pts,
        NO_STAMP if packet.dts is None else packet.dts,
        packet.size,
        packet.is_keyframe,
        packet.is_discard,
    )


def _flaws_of(packet: "Packet[VideoStream]", unordered: bool) -> list[str]:
    words = []
    if packet.is_corrupt:
        words.append("the container marks its data as damaged")
    if (packet.dts if unordered else packet.pts) is None:
        words.append("it has no time stamp")
    return words


def _start_packets(order: Integers, stamps: Integers, keys: Integers) -> Integers:
    """The last key packet at or before each frame's packet that is not shown after the frame.

    A picture that follows a key in decode order but comes before it in display order leads the
    key's group and builds on the group before (open GOP), so its start is an earlier key.
    """
    if not len(keys):
        return np.zeros(len(order), np.int64)
    at = np.searchsorted(keys, order, "right") - 1
    while True:
        leads = (at > 0) & (stamps[keys[at]] > stamps[order])
        if not leads.any():
            return np.where(at >= 0, keys[at], 0)
        at = at - leads


def _settled_by(order: Integers, frame_of: Integers, key: Booleans) -> Integers:
    """The greatest frame among the packets from the last key to each frame's own packet."""
    if not len(order):
        return order
    # a running maximum that starts anew at each key: the number of the group outweighs the frame
    weight = np.cumsum(key) * (len(order) + 1)
    greatest: Integers = np.maximum.accumulate(weight + frame_of) - weight
    return greatest[order]
