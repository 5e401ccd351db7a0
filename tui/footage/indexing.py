"""Making the index, or recalling it: every packet is read, and order, joints and losses are found.

Indexes are kept in the cache folder under the fingerprint of the footage.
"""

import time
from collections.abc import Callable, Iterable
from copy import deepcopy
from dataclasses import dataclass, field, replace
from fractions import Fraction
from itertools import pairwise
from math import gcd
from pathlib import Path
from typing import Any, Literal

import numpy as np
from av.packet import Packet
from av.video.stream import VideoStream

from sessions.errors import FootageError
from tui.footage.cache import Progress
from tui.footage.fields import UNTOLD, FieldHeaders, field_headers_of
from tui.footage.headers import Counter, H264Counter, counter_of
from tui.footage.index import FootageIndex, IndexPart, keep_index, kept_index
from tui.footage.intake import READ_ERRORS, Source, boxes
from tui.footage.order import (
    LOST,
    NO_STAMP,
    PROBED_PICTURES,
    Booleans,
    ContainerOrder,
    Heads,
    Integers,
    PacketClock,
    byte_parts,
    is_packed,
    places_shown,
    ranks,
    riff_is_cut,
    times_by_rank,
)

_DERIVING = frozenset({"avi", "mpeg"})  # mpeg: several pictures may share one stored time

# Codecs of which each picture stands by itself.
_INTRA = frozenset(
    {
        "mjpeg", "prores", "dnxhd", "dvvideo", "ffv1", "huffyuv", "ffvhuff", "utvideo", "png",
        "rawvideo", "jpeg2000", "magicyuv", "v210", "cfhd",
    }
)  # fmt: skip
# Codecs whose own counter, or whose decoder, tells of each missing picture that others build on.
_TELLING = frozenset({"h264", "hevc"})
_REAL_DTS = ("mpegts", "mpeg", "mov", "flv")
"""Containers whose decoding times are stored, not guessed by the library."""
_FIRST_PACKETS = PROBED_PICTURES + 32
_MOST_AHEAD = 16
"""Pictures are coded at most so many places ahead of where they are shown (ITU-T H.264 A.3.1, H.265
A.4.1, from memory)."""
_MARGIN = 2 * _MOST_AHEAD  # packets that the numbers of frames stay behind those that were read
_FIRST_PROBED = _MOST_AHEAD + 4  # pictures decoded before the first frames are numbered, and shown
_SECONDS_BETWEEN = 0.25
_ODD_STEPS = 2
_AFTER_MARK = "the container marks the data before it as damaged, which may have been its own"


def index_of(
    path: Path, sha256: str, folder: Path,
    progress: Progress | None = None, track: int | None = None, whole: bool = False,
) -> FootageIndex:  # fmt: skip
    """The index of the footage, from the cache folder or built afresh and kept there."""
    index = kept_index(sha256, folder, track, whole)
    if index is None:
        index = build_index(path, progress, track, whole=whole)
        keep_index(index, sha256, folder, track, whole)
    return index


Publish = Callable[[FootageIndex], None]
"""Is given the index of what was read so far: its ``final`` frames have their numbers for good."""


def build_index(
    path: Path, progress: Progress | None = None, track: int | None = None,
    publish: Publish | None = None, whole: bool = False,
) -> FootageIndex:  # fmt: skip
    """Read every packet of the picture track; FootageError if the file cannot be judged.

    Where the container does not tell the order of frames, the clip is also decoded once. Where it
    does, ``publish`` is given the index of the first recording again and again as it grows.
    """
    source, begun = Source(path, track, whole=whole), None
    if publish is not None:
        begun = _Found.by_reading(source, progress, _Front(path, publish))
    ranges = byte_parts(path)
    if begun is None or len(ranges) > 1:
        begun = _Found.by_reading(source.of(ranges[0] if len(ranges) > 1 else None), progress)
    found = [begun]
    for part in ranges[1:]:
        try:
            found.append(_Found.by_reading(source.of(part), progress))
        except FootageError:
            found[-1].error = found[-1].error or "what follows in the file cannot be read"
    index = _joined(found)
    if progress:
        progress("index", path.stat().st_size, path.stat().st_size)
    return index


@dataclass
class _Found:
    """What was found in one file, or in one of several that were written one after the other."""

    source: Source
    container: str
    codec: str
    delays: bool
    time_base: Fraction
    counter: Counter | None
    declared: int
    field_headers: FieldHeaders | None
    rows: list[tuple[int, ...]] = field(default_factory=list)
    flaws: list[tuple[int, str]] = field(default_factory=list)
    losses: list[tuple[int, str]] = field(default_factory=list)
    empty: int = 0
    unpacks: bool = False
    error: str | None = None
    found_by_decoding: bool = False
    probed: int = 0
    """How many of the first pictures were decoded to see that the stamps tell their order."""
    recordings: list[int] = field(init=False)
    pts: Integers = field(init=False)
    dts: Integers = field(init=False)
    size: Integers = field(init=False)
    pos: Integers = field(init=False)
    scanned: Integers = field(init=False)
    key: Booleans = field(init=False)
    hidden: Booleans = field(init=False)
    times: Integers = field(init=False)

    @classmethod
    def by_reading(
        cls, source: Source, progress: Progress | None, front: "_Front | None" = None
    ) -> "_Found":
        """All packets of a track; then their order, and what is missing among them.

        ``front`` looks on as they come.
        """
        container, stream = source.open()
        with container:
            context = stream.codec_context
            found = cls(
                source,
                container.format.name,
                context.codec.canonical_name,
                bool(context.has_b_frames),
                stream.time_base or Fraction(1),
                counter_of(context),
                stream.frames,
                field_headers_of(context),
            )
            total = source.path.stat().st_size
            try:
                for packet in container.demux(stream):
                    found._add(packet)
                    if front is not None:
                        front.look(found)
                    if progress and packet.pos is not None and len(found.rows) % 256 == 0:
                        progress("index", packet.pos, total)
            except READ_ERRORS as failure:
                found.error = getattr(failure, "strerror", None) or str(failure)
        found._arrange(progress)
        return found

    def _add(self, packet: "Packet[VideoStream]") -> None:
        if not packet.size:
            # it ends the stream or, in AVI, repeats a picture
            self.empty += packet.dts is not None
            return
        place = len(self.rows)
        headers = self.field_headers
        self.rows.append((*_row(packet), headers.read(bytes(packet)) if headers else UNTOLD))
        if packet.is_corrupt:
            self._mark(place)
        if self.counter is not None or self.codec == "mpeg4":
            data = bytes(packet)
            self.unpacks = self.unpacks or is_packed(self.codec, data)
            if isinstance(self.counter, H264Counter):
                self.counter.follow(place, data, packet.is_keyframe)
            elif self.counter is not None:
                self.counter.follow(place, data)

    def _mark(self, place: int) -> None:
        """Note the container's mark; of what is lost, the picture after may lack its beginning."""
        self.flaws.append((place, "the container marks its data as damaged"))
        if self.container == "mpegts":  # but not across a joint, where nothing need be lost
            self.flaws.append((place + 1, _AFTER_MARK))

    def so_far(self) -> FootageIndex | None:
        """The index of the packets read until now; None where what comes may change it all.

        That is so at a joint, and where only decoding tells the order of frames.
        """
        front = replace(
            self,
            rows=self.rows[:],
            flaws=self.flaws[:],
            losses=[],
            counter=deepcopy(self.counter),
            declared=0,  # what is counted in the end is not known yet
        )
        clock = front._tabulate()
        if not clock.is_straight or (front.pts == NO_STAMP).any():
            return None
        asked = ContainerOrder(
            self.container, self.codec, self.delays, front.pts, np.flatnonzero(front.key)
        )
        probed = PROBED_PICTURES if self.probed else _FIRST_PROBED
        if self.probed < probed and asked.needs_decoding(self.source, self.unpacks, probed):
            return None
        front._arrange(None, found_by_stamps=True)
        final = front._final()
        if not self.probed:  # none of those yet whose place a picture not decoded could take
            final = min(final, int(np.count_nonzero(~front.hidden[: _FIRST_PROBED - _MOST_AHEAD])))
        self.probed = probed
        return replace(_joined([front]), final=final)

    def _final(self) -> int:
        """How many frames come before all that is still to be read.

        Pictures are decoded no later than they are shown, so what is to come is shown after the
        time at which the last packets are decoded.
        """
        last = slice(-_MARGIN, None)
        stamps = np.concatenate([self.times[last], self.dts[last][self.dts[last] != NO_STAMP]])
        return int(np.count_nonzero(self.times[~self.hidden] < stamps.min()))

    def _arrange(self, progress: Progress | None, *, found_by_stamps: bool = False) -> None:
        """Find the recordings, the order of the frames in each, and what is missing.

        ``found_by_stamps`` is whether it is known already that stamps tell the order.
        """
        clock = self._tabulate()
        self.recordings, off = clock.recordings()
        if len(self.recordings) > 1 and self._is_fragmented:
            # the edit list of the head is about the first recording only
            self.hidden[self.recordings[1] :] = False
        told = self.pts.copy()
        told[sorted(off)] = NO_STAMP
        ends = [*self.recordings[1:], len(told)]
        spans = list(zip(self.recordings, ends, strict=True))
        for first, end in spans:
            told[first:end] = clock.unwrapped(told[first:end])
        if found_by_stamps:
            self.times = told
        else:
            self._order(told, spans, clock, progress)
        self._find_losses(spans, clock)

    def _tabulate(self) -> PacketClock:
        """Put what was read in columns; the clock by which the packets go."""
        columns = np.array(self.rows, np.int64).reshape(-1, 7)
        self.pts, self.dts, self.size, self.pos, self.scanned = (
            np.ascontiguousarray(columns[:, i]) for i in (0, 1, 2, 5, 6)
        )
        self.key, self.hidden = columns[:, 3].astype(bool), columns[:, 4].astype(bool)
        tables = self.container.startswith("mov") and not self._is_fragmented
        return PacketClock(self.container, self.time_base, self.pts, self.dts, self.key, tables)

    @property
    def _is_fragmented(self) -> bool:
        return self.container.startswith("mov") and any(
            kind == b"moof" for _, _, kind in boxes(self.source.path, *(self.source.part or ()))
        )

    def _order(
        self,
        told: Integers,
        spans: list[tuple[int, int]],
        clock: PacketClock,
        progress: Progress | None,
    ) -> None:
        """Set when each picture is shown, by decoding once where the container does not tell."""
        self.times = told
        asked = ContainerOrder(
            self.container, self.codec, self.delays, told, np.flatnonzero(self.key)
        )
        first_span = spans[0][1] if spans else 0
        asked = replace(
            asked, pts=told if len(spans) < 2 or NO_STAMP in told else told[:first_span]
        )
        if not self.rows or not asked.needs_decoding(self.source, self.unpacks):
            return
        self.found_by_decoding = True
        cuts = set(self.recordings[1:])
        shown = list(places_shown(self.source, cuts, self.unpacks, progress))
        for first, end in spans:
            own = [place - first for place in shown if first <= place < end]
            rank, lost = ranks(own, end - first)
            shows = ~self.hidden[first:end]
            self.flaws.extend((first + place, LOST) for place in lost if shows[place])
            dts = clock.unwrapped(self.dts[first:end])
            self.times[first:end] = times_by_rank(rank, told[first:end], dts, self.container)

    def _find_losses(self, spans: list[tuple[int, int]], clock: PacketClock) -> None:
        """Note before which packets pictures are missing that others may build on."""
        if self.counter is not None:
            words = "the codec's own counter skips there"
            starts = set(self.recordings)
            self.losses.extend((p, words) for p in self.counter.skips() if p not in starts)
        if self.codec in _TELLING or self.codec in _INTRA:
            return
        if self.container == "avi":  # it stores no times, only pictures and how often each is shown
            lost = self.lost_somewhere
            after_keys = (key + 1 for key in np.flatnonzero(self.key).tolist() if lost)
            self.losses.extend((place, lost) for place in after_keys if place < len(self.rows))
            return
        stored = self.container.startswith(_REAL_DTS) and bool((self.dts != NO_STAMP).all())
        for first, end in spans:
            steps = self.dts[first:end] if stored else self.times[first:end]
            steps = clock.unwrapped(steps) if stored else steps
            for place, missing in _holes(steps, in_order=stored):
                milliseconds = round(missing * self.time_base * 1000)
                self.losses.append(
                    (first + place, f"no picture was recorded in {milliseconds} ms before it")
                )

    @property
    def lost_somewhere(self) -> str:
        """How it is known that pictures are missing, although not where; empty where none are.

        AVI keeps time by counting pictures: it declares how many there are, and what is lost makes
        all that comes after it too early. A file that was cut off lacks those at its end.
        """
        if self.container != "avi" or not self.declared or not len(self.dts):
            return ""
        slots = int(self.dts.max()) + 1
        if slots >= self.declared or riff_is_cut(self.source.path, self.source.part):
            return ""
        return (
            f"its container counts {self.declared} pictures and {slots} were found, so some are "
            "missing at places that are not known"
        )

    @property
    def part(self) -> IndexPart:
        """How its packets are read; the number of its first is not known here."""
        joined = len(self.recordings) > 1
        unstamped = bool((self.pts == NO_STAMP).any())
        by_byte = self.container == "mpegts" and bool((self.pos >= 0).all())
        seeks: Literal["stamp", "byte", "count"] = "stamp"
        if joined or unstamped:
            seeks = "byte" if by_byte else "count"
        return IndexPart(0, self.source.part, seeks, self.unpacks)


class _Front:
    """Publishes what was read so far, first after a hundred packets, then ever more seldom.

    It ends at the first thing that only the whole file tells: what has no number yet then waits.
    """

    def __init__(self, path: Path, publish: Publish) -> None:
        self._heads, self._publish = Heads(path), publish
        self._next, self._at, self._ended, self._unpacks = _FIRST_PACKETS, 0.0, False, False

    def look(self, found: _Found) -> None:
        """Publish, if it is time to."""
        read = len(found.rows)
        if self._ended or read < self._next or time.monotonic() < self._at:
            return
        index = None if self._another_begins(found) else found.so_far()
        self._ended = index is None or (self._unpacks != found.unpacks and read > _FIRST_PACKETS)
        if index is None or self._ended:
            return
        self._unpacks = found.unpacks
        if index.numbered:
            self._publish(index)
        self._next, self._at = read + read // 4, time.monotonic() + _SECONDS_BETWEEN

    def _another_begins(self, found: _Found) -> bool:
        """Whether another file begins before the end of the packets that were read."""
        pos, size = found.rows[-1][5], found.rows[-1][2]
        return pos < 0 or self._heads.one_before(pos + size)


def _joined(found: list[_Found]) -> FootageIndex:
    """One index of all that was found, with the times of each recording after those before."""
    base = found[0].time_base
    for other in found[1:]:
        base = _common(base, other.time_base)
    times, recordings, parts = [], list[int](), list[IndexPart]()
    flaws, losses, refreshing = list[tuple[int, str]](), list[tuple[int, str]](), list[int]()
    first, end = 0, None
    for one in found:
        scale = int(one.time_base / base)
        own = one.times * scale
        usual = _usual_step([own[a:b] for a, b in pairwise([*one.recordings, len(own)])])
        for start, stop in pairwise([*one.recordings, len(own)]):
            shown = own[start:stop][~one.hidden[start:stop]]
            if end is not None and len(shown):
                own[start:stop] += end + usual - int(shown.min())
            end = int(own[start:stop][~one.hidden[start:stop]].max()) if len(shown) else end
        times.append(own)
        parts.append(replace(one.part, first=first))
        recordings += [first + start for start in one.recordings]
        flaws += [
            (first + place, words)
            for place, words in one.flaws
            if place < len(own) and (words != _AFTER_MARK or place not in one.recordings)
        ]
        losses += [(first + place, words) for place, words in one.losses]
        if isinstance(one.counter, H264Counter):
            refreshing += [first + place for place in one.counter.refreshing]
        first += len(own)

    def column(name: str) -> Any:
        return np.concatenate([getattr(one, name) for one in found])

    all_times = np.concatenate(times)
    ends = [*recordings[1:], first]
    return FootageIndex(
        time_base=base,
        packet_pts=column("pts"),
        packet_dts=column("dts"),
        packet_size=column("size"),
        key=column("key"),
        hidden=column("hidden"),
        times=all_times,
        scanned=column("scanned"),
        packet_pos=column("pos"),
        recordings=tuple(recordings),
        parts=tuple(parts),
        flaws=tuple(sorted(flaws)),
        losses=tuple(sorted(losses)),
        refreshing=tuple(refreshing),
        empty=sum(one.empty for one in found),
        lost_somewhere=next((one.lost_somewhere for one in found if one.lost_somewhere), ""),
        error=next((one.error for one in found if one.error), None),
        stamps_derived=any(one.container in _DERIVING for one in found),
        found_by_decoding=any(one.found_by_decoding for one in found),
        known_by_dts=any(one.found_by_decoding and one.container == "avi" for one in found),
        usual_step=_usual_step([all_times[a:b] for a, b in zip(recordings, ends, strict=True)]),
    )


def _row(packet: "Packet[VideoStream]") -> tuple[int, int, int, bool, bool, int]:
    return (
        NO_STAMP if packet.pts is None else packet.pts,
        NO_STAMP if packet.dts is None else packet.dts,
        packet.size,
        packet.is_keyframe,
        packet.is_discard,
        -1 if packet.pos is None else packet.pos,
    )


def _common(one: Fraction, other: Fraction) -> Fraction:
    """The greatest unit of time of which both are whole multiples."""
    bottom = one.denominator * other.denominator
    return Fraction(
        gcd(one.numerator * other.denominator, other.numerator * one.denominator), bottom
    )


def _usual_step(recordings: Iterable[Integers]) -> int:
    """The median interval between times, or 1 where there is none."""
    steps = np.concatenate([np.zeros(0, np.int64), *(np.diff(np.sort(t)) for t in recordings)])
    steps = np.sort(steps[steps > 0])
    return int(steps[len(steps) // 2]) if len(steps) else 1


def _holes(times: Integers, *, in_order: bool) -> list[tuple[int, int]]:
    """(packet, missing units of time) after each interval that is out of keeping with the others.

    Where all but two intervals are alike, one and a half times the usual is too long; else five
    times, and half as much again as 99 in 100 last. Tried on 31,747 frames without loss: no false
    one. ``in_order`` is whether the times rise in decode order; else the packet is the first that
    may build on what is missing.
    """
    order = np.arange(len(times)) if in_order else np.argsort(times, kind="stable")
    steps = np.diff(times[order])
    rising = steps[steps > 0]
    if not len(rising):
        return []
    usual = float(np.median(rising))
    limit = 1.5 * usual + 1.01
    if int((steps >= limit).sum()) > _ODD_STEPS:
        limit = max(5 * usual, 1.5 * float(np.percentile(rising, 99)))
    back = 0
    if not in_order and len(order):
        rank = np.empty(len(order), np.int64)
        rank[order] = np.arange(len(order))
        back = int(max(0, (np.arange(len(rank)) - rank).max()))
    return [
        (max(0, int(order[at + 1 :].min()) - back), int(steps[at] - usual))
        for at in np.flatnonzero(steps >= limit).tolist()
    ]
