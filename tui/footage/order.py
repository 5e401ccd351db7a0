"""The order in which frames are shown, where the container does not tell it: found by decoding."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING, cast

import av
import numpy as np
from av.bitstream import BitStreamFilterContext
from av.packet import Packet
from av.video.codeccontext import VideoCodecContext
from av.video.frame import VideoFrame
from av.video.stream import VideoStream

from tui.footage.cache import Progress
from tui.footage.intake import READ_ERRORS, Source
from tui.footage.recordings import NO_STAMP, Booleans, Integers

if TYPE_CHECKING:
    CodedPacket = Packet[VideoStream]
else:
    CodedPacket = Packet  # generic for the type checker only

LOST = "no picture comes of it, so its place among the frames is not known"

# Codecs whose pictures may be coded in another order than they are shown in.
_REORDERING = frozenset(
    {
        "h264", "hevc", "vvc", "mpeg4", "mpeg1video", "mpeg2video", "msmpeg4v3", "vc1", "wmv3",
        "rv40", "svq3", "cavs",
    }
)  # fmt: skip
_PROBED_GROUPS, _PROBED_PICTURES = 3, 100

_PACKED = b"\0\0\1\xb6"  # start code of a picture of MPEG-4 (ISO/IEC 14496-2, 6.3.1)
_QUICKLY = {"skip_loop_filter": "all", "skip_idct": "all"}  # neither changes the order


@dataclass(frozen=True)
class Told:
    """What a container tells of the order of its pictures."""

    container: str
    codec: str
    delays: bool
    """Whether the decoder expects to put pictures in another order."""
    pts: Integers
    keys: Integers

    def needs_decoding(self, source: Source, unpacks: bool) -> bool:
        """Whether only decoding tells the order.

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
            return self._comes_in_another_order(source, unpacks)
        return False

    def _comes_in_another_order(self, source: Source, unpacks: bool) -> bool:
        groups = self.keys[_PROBED_GROUPS] if len(self.keys) > _PROBED_GROUPS else len(self.pts)
        most = int(min(_PROBED_PICTURES, groups))
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
                    progress("index", packet.pos, total)
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
