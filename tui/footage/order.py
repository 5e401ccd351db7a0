"""The order in which frames are shown, for containers that do not tell it."""

from pathlib import Path
from typing import TYPE_CHECKING

import av
import numpy as np
import numpy.typing as npt
from av.packet import Packet
from av.video.codeccontext import VideoCodecContext
from av.video.stream import VideoStream

from tui.footage.fingerprint import Progress
from tui.footage.intake import READ_ERRORS, open_container, video_stream

if TYPE_CHECKING:
    CodedPacket = Packet[VideoStream]
else:
    CodedPacket = Packet  # generic for the type checker only

Integers = npt.NDArray[np.int64]

_LOST = "no picture comes of it, so its place among the frames is not known"


def told_by_decoding(container: str, codec: str) -> bool:
    """Whether only decoding tells the order: AVI stores none, and these codecs reorder freely.

    Times that the library works out for them are those of the order of decoding.
    """
    return container == "avi" and codec in ("h264", "hevc")


def shown_order(
    path: Path, packets: int, progress: Progress | None = None
) -> tuple[Integers, list[tuple[int, str]]]:
    """Decode the clip once: the place of each packet's frame among all that are shown.

    A packet of which no picture comes is placed after the one before it; it is also listed, with
    words for that.
    """
    came = np.array(_places_shown(path, progress), np.int64)
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
    return rank, [(place, _LOST) for place in np.flatnonzero(lost).tolist()]


def _places_shown(path: Path, progress: Progress | None) -> list[int]:
    """The places of packets in the file, in the order in which their pictures come out."""
    total, place = path.stat().st_size, 0
    shown: list[int] = []
    with open_container(path) as container:
        stream = video_stream(container, path)
        context = stream.codec_context
        context.thread_type = "AUTO"
        try:
            for packet in container.demux(stream):
                shown.extend(_coming(context, packet, place))
                place += packet.size > 0
                if progress and packet.pos is not None:
                    progress("index", packet.pos, total)
        except READ_ERRORS:
            pass  # the pass that counted the packets ended here too
        shown.extend(_coming(context, None, place))
    return shown


def _coming(context: VideoCodecContext, packet: CodedPacket | None, place: int) -> list[int]:
    """The places of the pictures that come out once the packet at ``place`` has gone in."""
    if packet is not None:
        if not packet.size:
            return []
        packet.pts = place
    try:
        return [picture.pts for picture in context.decode(packet) if picture.pts is not None]
    except av.FFmpegError:
        return []
