"""Which recordings footage consists of, and the order in which their frames are shown.

Within one recording the clock of decoding never runs back, and never far ahead. Whole files that
were written one behind the other are told apart by their heads; streams that were joined without
new heads, by their clocks. Limits were tried on 343 clips of one recording without a false joint.

Where the container does not tell the order of frames, it is found by decoding them once.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from typing import TYPE_CHECKING, cast

import av
import numpy as np
import numpy.typing as npt
from av.bitstream import BitStreamFilterContext
from av.packet import Packet
from av.video.codeccontext import VideoCodecContext
from av.video.frame import VideoFrame
from av.video.stream import VideoStream

from tui.footage.cache import Progress
from tui.footage.intake import READ_ERRORS, Source, boxes

if TYPE_CHECKING:
    CodedPacket = Packet[VideoStream]
else:
    CodedPacket = Packet  # generic for the type checker only

# -- recordings

Integers = npt.NDArray[np.int64]
Booleans = npt.NDArray[np.bool_]

NO_STAMP = -(1 << 62)
"""Stands for a time stamp that a packet does not have; it never leaves the index."""

_EBML = b"\x1a\x45\xdf\xa3"
_WRAP = 1 << 33  # program and transport streams count time in 33 bits (ISO/IEC 13818-1, 2.4.3.7)
_AHEAD_SECONDS, _AHEAD_STEPS = 10, 10
_DERIVED_SECONDS = 1
_RETURN = 8  # packets within which a stamp that is off the line comes back to it
_WRAPPING = ("mpegts", "mpeg")


class Heads:
    """Finds where another whole file begins in a file, no further than it was read.

    Only of Matroska whose length was never written must that be looked for byte by byte.
    """

    def __init__(self, path: Path) -> None:
        self._path, self._total, self._looked = path, path.stat().st_size, 0
        self._blind = _is_endless(path)
        self._parts = None if self._blind else byte_parts(path)

    def one_before(self, byte: int) -> bool:
        """Whether the first file has ended by ``byte``."""
        if self._parts is not None:
            return byte > self._parts[0][1]
        found = _next_ebml(self._path, max(12, self._looked - 64), min(byte, self._total))
        self._looked = max(self._looked, byte)
        return found is not None and found < byte


def byte_parts(path: Path) -> tuple[tuple[int, int], ...]:
    """The ranges of bytes of the whole files that a file consists of; one for an ordinary file."""
    total = path.stat().st_size
    with path.open("rb") as file:
        head = file.read(12)
    if head[:4] == _EBML:
        starts = list(_ebml_heads(path, total))
    elif head[:4] == b"RIFF":
        starts = list(_riff_heads(path, total))
    elif head[4:8] in (b"ftyp", b"moov", b"mdat", b"wide", b"free", b"skip"):
        starts = list(_iso_heads(path))
    else:
        starts = []
    starts = starts or [0]
    return tuple(zip(starts, [*starts[1:], total], strict=True))


def _iso_heads(path: Path) -> Iterator[int]:
    """Where files begin: at the first box, and at each head that comes after an index."""
    yield 0
    indexed = headed = False
    for start, _, kind in boxes(path):
        if indexed and (kind == b"ftyp" or (kind == b"moov" and not headed)):
            yield start
            indexed = False
        headed = kind == b"ftyp"
        indexed = indexed or kind == b"moov"


def _riff_heads(path: Path, total: int) -> Iterator[int]:
    """The heads of AVI files; a second one of type AVIX goes on with the first (OpenDML)."""
    at = 0
    with path.open("rb") as file:
        while at + 12 <= total:
            file.seek(at)
            head = file.read(12)
            if head[:4] != b"RIFF":
                return
            if head[8:] == b"AVI ":
                yield at
            size = int.from_bytes(head[4:8], "little")
            at += 8 + size + size % 2


def riff_is_cut(path: Path, part: tuple[int, int] | None) -> bool:
    """Whether an AVI file is shorter than it says, as where a recording or a copy broke off."""
    at, total = part or (0, path.stat().st_size)
    with path.open("rb") as file:
        while at + 12 <= total:
            file.seek(at)
            head = file.read(12)
            if head[:4] != b"RIFF":
                return False
            size = int.from_bytes(head[4:8], "little")
            at += 8 + size + size % 2
    return at > total + 1


def _ebml_heads(path: Path, total: int) -> Iterator[int]:
    """The heads of Matroska files (RFC 8794): elements follow each other, each with its size.

    An element of unknown size, as a live recording writes it, ends at the next head.
    """
    at = 0
    with path.open("rb") as file:
        while at + 12 <= total:
            file.seek(at)
            head = file.read(12)
            if head[:4] == _EBML:
                yield at
            if not head[4]:
                return
            length = 9 - head[4].bit_length()
            size = int.from_bytes(head[4 : 4 + length], "big") & ((1 << 7 * length) - 1)
            if size == (1 << 7 * length) - 1:
                following = _next_ebml(path, at + 12, total)
                if following is None:
                    return
                at = following
            else:
                at += 4 + length + size


def _is_endless(path: Path) -> bool:
    """Whether a file is Matroska in which an element of unknown size comes first or second."""
    total = path.stat().st_size
    with path.open("rb") as file:
        at = 0
        for _ in range(2):
            file.seek(at)
            head = file.read(12)
            if len(head) < 12 or not head[4] or (at == 0 and head[:4] != _EBML):
                return False
            length = 9 - head[4].bit_length()
            size = int.from_bytes(head[4 : 4 + length], "big") & ((1 << 7 * length) - 1)
            if size == (1 << 7 * length) - 1:
                return at < total
            at += 4 + length + size
    return False


def _next_ebml(path: Path, at: int, total: int) -> int | None:
    """The next head of a Matroska file: the mark of one, with the name of its kind behind it."""
    block = 1 << 20
    with path.open("rb") as file:
        while at < total:
            file.seek(at)
            data = file.read(block + 64)
            found = data.find(_EBML)
            while 0 <= found < block:
                if any(name in data[found : found + 64] for name in (b"matroska", b"webm")):
                    return at + found
                found = data.find(_EBML, found + 1)
            at += block
    return None


@dataclass(frozen=True, eq=False)
class PacketClock:
    """The stamps of the packets of one file, in decode order, by which joints are known.

    ``tables`` is whether the times come from an index of the whole file, which cannot run back.
    """

    container: str
    time_base: Fraction
    pts: Integers
    dts: Integers
    key: Booleans
    tables: bool

    def recordings(self) -> tuple[list[int], set[int]]:
        """The first packet of each recording, and the packets whose stamps are off by themselves.

        A stamp that is off, where those behind it are back on the line, is no joint.
        """
        stamps, known = self._line()
        if self.tables or len(known) < 2:
            return [0], set()
        steps = np.diff(stamps[known])
        rising = steps[steps > 0]
        usual = float(np.median(rising)) if len(rising) else 1.0
        most = float(np.percentile(rising, 95)) if len(rising) else usual
        far = max(_AHEAD_SECONDS / float(self.time_base), _AHEAD_STEPS * most)
        starts, off = [0], set[int]()
        at, last = 1, int(stamps[known[0]])
        while at < len(known):
            packet = int(known[at])
            step = self._step(last, int(stamps[packet]))
            ahead = self._ahead(int(known[at - 1]), packet, step)
            if (step < -usual / 2 and not self._is_derived(packet, step)) or ahead > far:
                back = self._back_on_line(stamps, known, at, last, usual, far)
                if back is not None and not self.key[packet]:
                    off.update(known[at:back].tolist())
                    at = back
                    continue
                starts.append(packet)
            last = int(stamps[packet])
            at += 1
        return starts, off

    @property
    def is_straight(self) -> bool:
        """Whether no packet so far can be taken for a joint, whatever comes after them."""
        stamps, known = self._line()
        if self.tables or len(known) < 2:
            return True
        far = _AHEAD_SECONDS / self.time_base
        steps = np.diff(stamps[known])
        if self.container in _WRAPPING:
            steps = (steps + _WRAP // 2) % _WRAP - _WRAP // 2
        if (steps < 0).any():
            return False
        long = np.flatnonzero(steps > far).tolist()
        pairs = ((int(known[at]), int(known[at + 1]), int(steps[at])) for at in long)
        return all(self._ahead(before, packet, step) <= far for before, packet, step in pairs)

    def _ahead(self, before: int, packet: int, step: int) -> int:
        """How far the clock goes ahead to a packet, from the latest picture since ``before``.

        Of Matroska only the keys are compared, and what lies between them is no step.
        """
        if not self.container.startswith("matroska"):
            return step
        between = self.pts[before:packet]
        return step - int((between[between != NO_STAMP]).max() - self.pts[before])

    def unwrapped(self, stamps: Integers) -> Integers:
        """Stamps of one recording that go on where 33 bits were full; those missing stay so."""
        known = stamps != NO_STAMP
        if self.container not in _WRAPPING or not known.any():
            return stamps
        first = int(stamps[known][0])
        near = (stamps - first + _WRAP // 2) % _WRAP - _WRAP // 2 + first
        return np.where(known, near, NO_STAMP)

    def _line(self) -> tuple[Integers, Integers]:
        """The stamps that only rise within a recording, and the packets that have them."""
        if self.container.startswith("matroska"):
            # what is given as decoding time there is guessed: only the keys follow one another
            return self.pts, np.flatnonzero((self.pts != NO_STAMP) & self.key)
        stamps = np.where(self.dts == NO_STAMP, self.pts, self.dts)
        return stamps, np.flatnonzero(stamps != NO_STAMP)

    def _is_derived(self, packet: int, step: int) -> bool:
        """Whether a step back may be one of the stamps that are worked out from the pictures.

        In program streams damage makes them go back by a few pictures; a joint is at a key, or goes
        back by more.
        """
        little = -step * self.time_base < _DERIVED_SECONDS
        return self.container == "mpeg" and little and not self.key[packet]

    def _step(self, last: int, stamp: int) -> int:
        step = stamp - last
        if self.container in _WRAPPING:
            step = (step + _WRAP // 2) % _WRAP - _WRAP // 2
        return step

    def _back_on_line(
        self, stamps: Integers, known: Integers, at: int, last: int, usual: float, far: float
    ) -> int | None:
        """The place in ``known`` of the next stamp that lies where the line before went to."""
        for place in range(at + 1, min(at + 1 + _RETURN, len(known))):
            step = self._step(last, int(stamps[known[place]]))
            passed = int(known[place] - known[at - 1])
            if 0 < step < far and abs(step - usual * passed) < usual * (2 + passed / 2):
                return place
        return None


# -- the order of frames

LOST = "no picture comes of it, so its place among the frames is not known"

# Codecs whose pictures may be coded in another order than they are shown in.
_REORDERING = frozenset(
    {
        "h264", "hevc", "vvc", "mpeg4", "mpeg1video", "mpeg2video", "msmpeg4v3", "vc1", "wmv3",
        "rv40", "svq3", "cavs",
    }
)  # fmt: skip
_PROBED_GROUPS = 3
PROBED_PICTURES = 100
"""How many pictures are decoded at most to see whether they come in the order of their stamps."""

_PACKED = b"\0\0\1\xb6"  # start code of a picture of MPEG-4 (ISO/IEC 14496-2, 6.3.1)
_QUICKLY = {"skip_loop_filter": "all", "skip_idct": "all"}  # neither changes the order


@dataclass(frozen=True)
class ContainerOrder:
    """What a container tells of the order of its pictures."""

    container: str
    codec: str
    delays: bool
    """Whether the decoder expects to put pictures in another order."""
    pts: Integers
    keys: Integers

    def needs_decoding(self, source: Source, unpacks: bool, probed: int = PROBED_PICTURES) -> bool:
        """Whether only decoding tells the order, by the first ``probed`` pictures.

        It does where stamps are missing. AVI stores none, so those that the library makes up are
        of no use once pictures are reordered. Where stamps only rise although the codec may
        reorder, the first pictures are decoded: some writers store decoding times alone.
        """
        if (self.pts == NO_STAMP).any():
            return True
        if self.codec not in _REORDERING:
            return False
        if self.container == "avi":
            return self.delays or self.codec in ("h264", "hevc")
        if len(self.pts) > 1 and bool((np.diff(self.pts) > 0).all()):
            return self._comes_in_another_order(source, unpacks, probed)
        return False

    def _comes_in_another_order(self, source: Source, unpacks: bool, probed: int) -> bool:
        groups = self.keys[_PROBED_GROUPS] if len(self.keys) > _PROBED_GROUPS else len(self.pts)
        most = int(min(probed, groups))
        shown = []
        for place in places_shown(source, set(), unpacks):
            shown.append(place)
            if len(shown) >= most:
                break
        return shown != sorted(shown)


def is_packed(codec: str, data: bytes) -> bool:
    """Whether a packet holds two pictures, as MPEG-4 is kept in AVI to hide its reordering."""
    return codec == "mpeg4" and data.count(_PACKED) > 1


class Unpacker:
    """Takes packets of MPEG-4 that hold two pictures apart; others pass unchanged."""

    def __init__(self, stream: VideoStream, unpacks: bool) -> None:
        self._stream, self._unpacks = stream, unpacks
        self.restart()

    def restart(self) -> None:
        """Forget the picture that was held back."""
        self._filter = (
            BitStreamFilterContext("mpeg4_unpack_bframes", self._stream) if self._unpacks else None
        )

    def decode(self, context: VideoCodecContext, packet: CodedPacket | None) -> list[VideoFrame]:
        """The frames that come out once the packet has gone in; None ends the stream."""
        if self._filter is None or packet is None:
            return context.decode(packet)
        apart = self._filter.filter(packet)
        return [f for one in apart for f in context.decode(cast("CodedPacket", one))]


def unhidden(packet: CodedPacket) -> CodedPacket:
    """The packet without the mark that its picture is not to be shown."""
    return cast("CodedPacket", Packet(bytes(packet)))


def places_shown(
    source: Source, cuts: set[int], unpacks: bool, progress: Progress | None = None
) -> Iterator[int]:
    """The places of packets in the file, in the order in which their pictures come out.

    Before each place of ``cuts`` the decoder is emptied: another recording begins there.
    """
    total, place = source.path.stat().st_size, 0
    container, stream = source.open()
    with container:
        context = stream.codec_context
        context.thread_type = "AUTO"
        context.options = {**context.options, **_QUICKLY}
        unpacker = Unpacker(stream, unpacks)
        try:
            for packet in container.demux(stream):
                if not packet.size:
                    continue
                if place in cuts:
                    yield from _coming(unpacker, context, None)
                    context.flush_buffers()
                    unpacker.restart()
                if progress and packet.pos is not None and place % 64 == 0:
                    progress("order", packet.pos, total)
                if packet.is_discard and cuts:
                    packet = unhidden(packet)  # the edit list is about the first recording only
                packet.pts = packet.dts = place
                yield from _coming(unpacker, context, packet)
                place += 1
        except READ_ERRORS:
            pass  # the pass that counted the packets ended here too
        yield from _coming(unpacker, context, None)


def _coming(
    unpacker: Unpacker, context: VideoCodecContext, packet: CodedPacket | None
) -> list[int]:
    try:
        return [f.pts for f in unpacker.decode(context, packet) if f.pts is not None]
    except av.FFmpegError:
        return []


def ranks(shown: list[int], packets: int) -> tuple[Integers, list[int]]:
    """The place of each packet's frame among all that are shown, and the packets of no picture.

    A packet of which no picture comes is placed after the one before it.
    """
    came = np.array(shown, np.int64)
    _, firsts = np.unique(came, return_index=True)
    came = came[np.sort(firsts)]
    position = np.full(packets, -1, np.int64)
    position[came] = np.arange(len(came))
    lost = position < 0
    # each that is lost takes the position of the last one before it that is not
    known = np.maximum.accumulate(np.where(lost, -1, np.arange(packets)))
    position = np.where(known < 0, -1, position[known])
    rank = np.empty(packets, np.int64)
    rank[np.lexsort((lost, position))] = np.arange(packets)
    return rank, np.flatnonzero(lost).tolist()


def times_by_rank(rank: Integers, pts: Integers, dts: Integers, container: str) -> Integers:
    """The time of each packet of one recording, once the order of its frames is known.

    Stamps of a container that reorders are kept, and those missing put between their neighbours.
    Where it only counts up in the order of decoding, its stamps are given out in the order shown.
    """
    order = np.argsort(rank, kind="stable")
    known = pts[pts != NO_STAMP]
    reorders = container != "avi" and len(known) > 1 and bool((np.diff(known) < 0).any())
    times = np.empty(len(rank), np.int64)
    if reorders:
        own = pts[order]
        # a stamp that does not rise in the order shown is as good as none
        highest = np.maximum.accumulate(own)
        risen = np.concatenate(([True], own[1:] > highest[:-1]))
        times[order] = _filled(np.where((own != NO_STAMP) & risen, own, NO_STAMP))
    else:
        counted = dts if container == "avi" else np.where(pts == NO_STAMP, dts, pts)
        times[order] = np.sort(_filled(counted))
    return times


def _filled(stamps: Integers) -> Integers:
    """The stamps with those missing put evenly between, or beyond, the others."""
    known: Booleans = stamps != NO_STAMP
    if known.all():
        return stamps
    places = np.arange(len(stamps))
    at, values = places[known], stamps[known]
    if len(at) < 2:
        start = int(values[0]) - int(at[0]) if len(at) else 0
        return start + places
    first = int(values[0])
    step = float(np.median(np.diff(values) / np.diff(at)))
    filled = np.interp(places, at, (values - first).astype(float))
    filled[: at[0]] = -step * (at[0] - places[: at[0]])
    filled[at[-1] :] = int(values[-1]) - first + step * (places[at[-1] :] - at[-1])
    made = first + np.rint(filled).astype(np.int64)
    return np.where(known, stamps, made)
