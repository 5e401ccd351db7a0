"""The index of footage: which packet holds which frame, and when each frame is shown."""

import hashlib
import io
import json
from dataclasses import astuple, dataclass, field, replace
from fractions import Fraction
from pathlib import Path
from typing import Any, Literal

import av
import numpy as np
from av.packet import Packet
from av.video.stream import VideoStream

from tui.footage.cache import keep
from tui.footage.fields import BOTTOM_FIRST, REPEATS, TOP_FIRST, WHOLE
from tui.footage.order import NO_STAMP, Booleans, Integers

NOT_SHOWN = -1
"""The frame number of a packet that an edit list hides."""

_VERSION = 5  # of what is kept of an index
_ARRAYS = (
    "packet_pts", "packet_dts", "packet_size", "key", "hidden", "times", "scanned",
    "packet_pos",
)  # fmt: skip

_FIELD_PARTS = 6
"""Parts of a unit of time that fields are told in: half and a third of a picture are whole."""

Flaws = tuple[tuple[int, str], ...]


@dataclass(frozen=True)
class IndexPart:
    """Packets from ``first`` on, and how they are read.

    ``bytes`` is their range of the file, None for all of it. By ``seeks`` a packet is found: by
    its time stamp, by its place in the file or, where neither tells it, by counting.
    """

    first: int
    bytes: tuple[int, int] | None = None
    seeks: Literal["stamp", "byte", "count"] = "stamp"
    unpacks: bool = False
    """Whether pictures that share a packet are to be taken apart before they are decoded."""


@dataclass(frozen=True, eq=False)
class FootageIndex:
    """Everything that is known of the frames before one is painted.

    Arrays named ``packet_*`` go by packet, in decode order; ``pts``, ``packet_of`` and
    ``start_of`` go by frame, in display order. Time stamps count ``time_base`` seconds.
    """

    time_base: Fraction
    packet_pts: Integers
    packet_dts: Integers
    packet_size: Integers
    key: Booleans
    hidden: Booleans
    times: Integers | None = None
    """When the picture of each packet is shown; None where the stamps of the packets tell it.
    After a joint they go on by one usual interval."""
    scanned: Integers | None = None
    """How the picture of each packet says that it is scanned (see :mod:`tui.footage.fields`)."""
    fields: Integers | None = None
    """How the picture of each packet is shown: whole, or as two frames of one field each."""
    second_after: Integers | None = None
    """By how much the second field of each packet's picture is later than the first."""
    packet_pos: Integers | None = None
    """Where each packet lies in its part of the file; -1 where that is not told."""
    recordings: tuple[int, ...] = (0,)
    """The first packet of each recording."""
    parts: tuple[IndexPart, ...] = (IndexPart(0),)
    flaws: Flaws = ()
    """(packet, what is wrong with it) for each packet that the container marks or misdescribes."""
    losses: Flaws = ()
    """(packet, how it is known) for each packet before which pictures are missing."""
    refreshing: tuple[int, ...] = ()
    """Key packets that hold no whole picture: it is whole only at the next key."""
    empty: int = 0
    """How many packets without content there are, which repeat the picture before (AVI)."""
    lost_somewhere: str = ""
    """How it is known that pictures are missing at places that are not known; empty where none."""
    error: str | None = None
    """What ended the pass before the end of the file."""
    stamps_derived: bool = False
    """The container stores no presentation times; they were worked out from the coded pictures."""
    found_by_decoding: bool = False
    """Only decoding told the order of the frames."""
    known_by_dts: bool = False
    """Packets are known by their decoding times: the others are not stored, and change."""
    final: int | None = None
    """How many frames have their numbers for good while packets are still read; None once all
    were."""
    usual_step: int = 0
    """The median interval between frames, in units of ``time_base``."""

    pts: Integers = field(init=False)
    packet_of: Integers = field(init=False)
    start_of: Integers = field(init=False)
    """The key packet from which each frame can be decoded."""
    frame_of: Integers = field(init=False)
    """The frame each packet holds, the first of two fields, or NOT_SHOWN."""
    settled_by: Integers = field(init=False)
    """The frame by whose coming out all that was decoded before each frame has come out."""
    keys: Integers = field(init=False)
    """The packets from which decoding can begin: the key packets, and the first of recordings."""
    lines: Integers = field(init=False)
    """Which lines each frame shows: all (WHOLE), or those of the top or bottom field."""
    stamps: Integers = field(init=False)
    """The time stamp by which each packet is known: when it is shown or, where that is not told,
    when it is decoded."""
    _stamp_order: Integers = field(init=False, repr=False)
    """All packets by their time stamps; those that share one in decode order."""

    def __post_init__(self) -> None:
        known = np.where(self.packet_pts == NO_STAMP, self.packet_dts, self.packet_pts)
        stamps = self.packet_dts if self.known_by_dts else known
        times = known if self.times is None else self.times
        shown = np.flatnonzero(~self.hidden)
        order = shown[np.argsort(times[shown], kind="stable")]
        packet_of, firsts, lines = _by_field(order, self.fields)
        frame_of = np.full(len(stamps), NOT_SHOWN, np.int64)
        frame_of[order] = firsts
        pts = times[packet_of]
        if self.second_after is not None:
            seconds = np.setdiff1d(np.arange(len(pts)), firsts, assume_unique=True)
            pts[seconds] += self.second_after[packet_of[seconds]]
        begins = self.key.copy()
        begins[[first for first in self.recordings if 0 < first < len(begins)]] = True
        keys = np.flatnonzero(begins)
        derived: dict[str, Any] = {
            "pts": pts,
            "packet_of": packet_of,
            "lines": lines,
            "frame_of": frame_of,
            "keys": keys,
            "start_of": _start_packets(packet_of, times, keys, self.recordings),
            "settled_by": _settled_by(packet_of, frame_of, begins),
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
    def numbered(self) -> int:
        """How many frames have their numbers for good: all of them, once all packets were read."""
        return self.frames if self.final is None else self.final

    @property
    def packets(self) -> int:
        """How many packets were found, hidden ones included."""
        return len(self.packet_pts)

    @property
    def joints(self) -> tuple[int, ...]:
        """The first frame of each recording but the first."""
        firsts = (self.frames_before(packet) for packet in self.recordings[1:])
        return tuple(sorted({frame for frame in firsts if 0 < frame < self.frames}))

    def recording_of(self, packet: int) -> tuple[int, int]:
        """The first packet of the recording of ``packet``, and the first of the next one."""
        at = int(np.searchsorted(self.recordings, packet, "right")) - 1
        following = self.recordings[at + 1 : at + 2]
        return self.recordings[max(0, at)], following[0] if following else self.packets

    def frames_before(self, packet: int) -> int:
        """How many frames are shown of the packets before this one, the first of a recording."""
        return int(np.count_nonzero(self.packet_of < packet))

    def frames_of(self, packet: int) -> range:
        """The frames that the picture of a packet is shown as: one, or two of a field each."""
        first = int(self.frame_of[packet])
        if first == NOT_SHOWN:
            return range(0)
        return range(first, first + (2 if self.lines[first] else 1))

    def by_field(self, scanned: Integers) -> "FootageIndex":
        """The index by which each picture of two fields is two frames.

        ``scanned`` says of each packet how its picture is scanned. Both fields last half as long
        as their picture, or a third where it is held for three. A field shown once more is no
        frame of its own: it shows an instant that has passed.
        """
        known = np.where(self.packet_pts == NO_STAMP, self.packet_dts, self.packet_pts)
        times = known if self.times is None else self.times
        held = np.where(scanned >= REPEATS, 3, 2)
        order = self.packet_of
        steps = np.diff(self.pts, append=self.pts[-1:] + self.usual_step)
        steps = steps * _FIELD_PARTS // held[order]
        usual = int(np.median(steps)) if len(steps) else _FIELD_PARTS
        long = (steps * 2 > usual * 3) | (steps <= 0)  # up to a gap, a field lasts no longer
        second_after = np.zeros(len(times), np.int64)
        second_after[order] = np.where(long, usual, steps)
        index = replace(
            self,
            time_base=self.time_base / _FIELD_PARTS,
            times=times * _FIELD_PARTS,
            fields=scanned % REPEATS,
            second_after=second_after,
        )
        rising = np.diff(index.pts)
        rising = rising[rising > 0]
        final = self.final
        if final is not None and final < self.frames:
            final = int(index.frame_of[order[final]])
        elif final is not None:
            final = index.frames
        return replace(
            index, usual_step=int(np.median(rising)) if len(rising) else usual, final=final
        )

    def part_of(self, packet: int) -> int:
        """Which of the parts a packet is in."""
        return max(0, sum(part.first <= packet for part in self.parts) - 1)

    def last_key(self, packet: int) -> int:
        """The last key packet at or before ``packet``, or the first packet if there is none."""
        at = int(np.searchsorted(self.keys, packet, "right")) - 1
        return int(self.keys[at]) if at >= 0 else 0

    def next_key(self, packet: int) -> int:
        """The first key packet after ``packet``, or the number of packets if there is none."""
        at = int(np.searchsorted(self.keys, packet, "right"))
        return int(self.keys[at]) if at < len(self.keys) else self.packets

    def next_whole(self, packet: int) -> int:
        """The packet from which on pictures build on nothing before ``packet`` any more.

        That is the next key at or after it; where that one only begins to refresh the picture, the
        key after that.
        """
        key = packet if packet in self.keys else self.next_key(packet)
        if key in self.refreshing and key not in self.recordings:
            return self.next_key(key)
        return key

    def earlier_start(self, packet: int, back: int) -> int:
        """The key packet ``back`` keys before the key ``packet``, within its recording."""
        first, _ = self.recording_of(packet)
        at = int(np.searchsorted(self.keys, packet)) - back
        return max(first, int(self.keys[at])) if at >= 0 and len(self.keys) else first

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

    def at_byte(self, packet: "Packet[VideoStream]", expected: int) -> int | None:
        """Which packet of the index this one is, by its place in the file; None if it is none."""
        places = self.packet_pos
        if places is None or packet.pos is None:
            return None
        if not (0 <= expected < self.packets and places[expected] == packet.pos):
            expected = next(iter(np.flatnonzero(places == packet.pos).tolist()), -1)
        return expected if expected >= 0 and self.packet_size[expected] == packet.size else None

    def _is_at(self, place: int, packet: "Packet[VideoStream]") -> bool:
        return (
            self.stamps[place] == self._stamp(packet)
            and self.packet_size[place] == packet.size
            and (packet.dts is None or self.packet_dts[place] in (NO_STAMP, packet.dts))
        )

    def _stamp(self, packet: "Packet[VideoStream]") -> int:
        shown = None if self.known_by_dts else packet.pts
        stamp = packet.dts if shown is None else shown
        return NO_STAMP if stamp is None else stamp

    def _sharing_stamp(self, packet: "Packet[VideoStream]") -> list[int]:
        """The packets that have the time stamp of this one, in decode order."""
        order, stamp = self._stamp_order, self._stamp(packet)
        first = np.searchsorted(self.stamps, stamp, "left", sorter=order)
        last = np.searchsorted(self.stamps, stamp, "right", sorter=order)
        return [int(place) for place in order[first:last]]


def _by_field(order: Integers, fields: Integers | None) -> tuple[Integers, Integers, Integers]:
    """The packet of each frame, the first frame of each picture, and the lines of each frame."""
    if fields is None:
        return order, np.arange(len(order)), np.zeros(len(order), np.int64)
    count = np.where(fields[order] == WHOLE, 1, 2)
    packet_of = np.repeat(order, count)
    firsts = np.cumsum(count) - count
    lines = fields[packet_of]
    seconds = np.ones(len(lines), bool)
    seconds[firsts] = False
    lines = np.where(seconds, TOP_FIRST + BOTTOM_FIRST - lines, lines)
    return packet_of, firsts, lines


def _start_packets(
    order: Integers, times: Integers, keys: Integers, recordings: tuple[int, ...]
) -> Integers:
    """The last key packet at or before each frame's packet that is not shown after the frame.

    A picture that follows a key in decode order but comes before it in display order leads the
    key's group and builds on the group before (open GOP), so its start is an earlier key of the
    same recording.
    """
    if not len(keys):
        return np.zeros(len(order), np.int64)
    begins = np.isin(keys, recordings)
    at = np.searchsorted(keys, order, "right") - 1
    while True:
        leads = (at > 0) & ~begins[at] & (times[keys[at]] > times[order])
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


# -- as it is kept


def kept_index(
    sha256: str, folder: Path, track: int | None, whole: bool = False
) -> FootageIndex | None:
    """The index of the footage from the cache folder; None where none is kept there."""
    try:
        return _decoded(_place(sha256, folder, track, whole).read_bytes())
    except (OSError, ValueError):
        return None


def keep_index(
    index: FootageIndex, sha256: str, folder: Path, track: int | None, whole: bool = False
) -> None:
    """Keep an index in the cache folder."""
    keep(_place(sha256, folder, track, whole), _encoded(index))


def _place(sha256: str, folder: Path, track: int | None, whole: bool) -> Path:
    name = (sha256 if track is None else f"{sha256}-{track}") + ("-whole" if whole else "")
    return folder / "indexes" / f"{name}.npz"


def _encoded(index: FootageIndex) -> bytes:
    """The index as it is kept in the cache folder, with a checksum before it."""
    head = {
        "version": _VERSION,
        "library": _library(),
        "time_base": str(index.time_base),
        "recordings": index.recordings,
        "parts": [astuple(part) for part in index.parts],
        "flaws": index.flaws,
        "losses": index.losses,
        "refreshing": index.refreshing,
        "empty": index.empty,
        "lost_somewhere": index.lost_somewhere,
        "error": index.error,
        "stamps_derived": index.stamps_derived,
        "found_by_decoding": index.found_by_decoding,
        "known_by_dts": index.known_by_dts,
        "usual_step": index.usual_step,
    }
    buffer = io.BytesIO()
    arrays = {name: getattr(index, name) for name in _ARRAYS}
    np.savez_compressed(buffer, head=np.array(json.dumps(head)), **arrays)
    content = buffer.getvalue()
    return hashlib.sha256(content).digest() + content


def _decoded(content: bytes) -> FootageIndex:
    """The index kept in ``content``; ValueError if that is damaged or of another version."""
    digest, arrays = content[:32], content[32:]
    if hashlib.sha256(arrays).digest() != digest:
        raise ValueError("damaged")
    with np.load(io.BytesIO(arrays), allow_pickle=False) as kept:
        head = json.loads(str(kept["head"]))
        if (head.pop("version"), head.pop("library")) != (_VERSION, _library()):
            raise ValueError("written by another version")
        columns = {name: kept[name] for name in _ARRAYS}
    head["time_base"] = Fraction(head["time_base"])
    head["parts"] = tuple(
        IndexPart(first, None if span is None else tuple(span), *rest)
        for first, span, *rest in head["parts"]
    )
    for name in ("recordings", "refreshing"):
        head[name] = tuple(head[name])
    for name in ("flaws", "losses"):
        head[name] = tuple((int(packet), str(words)) for packet, words in head[name])
    return FootageIndex(**columns, **head)


def _library() -> list[int]:
    """The demuxer's version: another one may find other time stamps."""
    return list(av.library_versions["libavformat"])
