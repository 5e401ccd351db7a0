"""Coded packets of a clip, read from any key packet on."""

import os
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

from av.packet import Packet
from av.video.codeccontext import VideoCodecContext
from av.video.stream import VideoStream

from sessions.errors import FootageError
from tui.footage.fingerprint import FileIdentity
from tui.footage.index import NO_STAMP, FootageIndex
from tui.footage.intake import READ_ERRORS, open_container, video_stream
from tui.footage.units import UnitHeaders

if TYPE_CHECKING:
    CodedPacket = Packet[VideoStream]
else:
    CodedPacket = Packet  # generic for the type checker only

_EARLIER_LANDINGS = 3


class PacketSource:
    """The packets of one clip, and the decoder they are for; for one thread at a time.

    The decoder has one thread of its own where it ``hurries`` not. Raises FootageError where the
    file at ``path`` is not that of ``identity``, also where it must be opened anew.
    """

    def __init__(
        self, path: Path, index: FootageIndex, identity: FileIdentity, *, hurries: bool = True
    ) -> None:
        self._path, self._index, self.identity = path, index, identity
        self._kind, self.threads = _threads(index) if hurries else ("SLICE", 1)
        self._open()

    @property
    def context(self) -> VideoCodecContext:
        """The decoder; another one after a seek that had to open the file anew."""
        return self._context

    def close(self) -> None:
        """Close the file."""
        self._container.close()

    def disposable(self, packet: CodedPacket) -> bool:
        """Whether the packet says that no other picture builds on its own."""
        return self._headers is not None and self._headers.disposable(bytes(packet))

    def read(self) -> CodedPacket | None:
        """The next packet with content; None at the end of what can be read."""
        try:
            return next((packet for packet in self._packets if packet.size), None)
        except READ_ERRORS:
            return None

    def seek(self, start: int) -> CodedPacket:
        """Go to packet ``start`` and give it; the decoder is emptied.

        Where a seek lands is checked by the time stamps of the packets, as containers seek by
        other stamps, or less exactly, than they say. Raises FootageError if the packet is not in
        the file any more, or another file lies in its place.
        """
        for stamp in self._landings(start):
            packet = self._seek_by(stamp, start)
            if packet is not None:
                return packet
        self.close()
        self._open()
        packet = self._walk_to(start)
        if packet is None:
            raise FootageError(
                f"{self._path} is not the file it was when it was opened; close it and open it "
                "again."
            )
        return packet

    def _open(self) -> None:
        self._container = open_container(self._path)
        self._check_same()
        self._stream = video_stream(self._container, self._path)
        self._context = self._stream.codec_context
        self._context.thread_type, self._context.thread_count = self._kind, self.threads
        self._headers = UnitHeaders.of(self._context)
        self._packets = self._container.demux(self._stream)

    def _check_same(self) -> None:
        """Made of the file once it is open: what comes in its place later is not read from."""
        try:
            self.identity.check(self._path)
        except FootageError:
            self.close()
            raise

    def _seek_by(self, stamp: int, start: int) -> CodedPacket | None:
        try:
            self._container.seek(stamp, stream=self._stream)
            return self._walk_to(start)
        except READ_ERRORS:
            return None

    def _landings(self, start: int) -> Iterator[int]:
        """Time stamps to seek to, the likeliest first."""
        index = self._index
        yield int(index.stamps[start])
        for back in range(_EARLIER_LANDINGS):
            packet = index.earlier_start(start, back)
            if index.packet_dts[packet] != NO_STAMP:
                yield int(min(index.stamps[packet], index.packet_dts[packet]))

    def _walk_to(self, start: int) -> CodedPacket | None:
        self._packets = self._container.demux(self._stream)
        for packet in self._packets:
            place = self._index.locate(packet, start) if packet.size else None
            if place == start:
                return packet
            if place is not None and place > start:
                return None
        return None


def _threads(index: FootageIndex) -> tuple[str, int]:
    """Kind and number of decoder threads, by the mean number of packets from key to key.

    Measured: frame threads pay where a jump decodes many frames, and cost where it decodes one.
    Each also holds its frame back by one, so more than the processor's cores and one only cost.
    """
    group = index.packets / max(1, len(index.keys))
    if group <= 2:
        return "SLICE", 1
    return "FRAME", min(4 if group <= 60 else 8, (os.cpu_count() or 1) + 1)
