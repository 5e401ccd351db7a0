"""Coded packets of footage, read from any key packet on."""

import os
from collections.abc import Iterator
from pathlib import Path

from av.video.codeccontext import VideoCodecContext
from av.video.frame import VideoFrame

from sessions.errors import FootageError
from tui.footage.cache import FileIdentity
from tui.footage.headers import UnitHeaders
from tui.footage.index import FootageIndex
from tui.footage.intake import READ_ERRORS, Source
from tui.footage.order import NO_STAMP, CodedPacket, Unpacker, unhidden

_EARLIER_LANDINGS = 3

Placed = tuple[int | None, CodedPacket]
"""A packet, and its place in the index; None where it is none of the index."""


class PacketSource:
    """The packets of one picture track, and the decoder they are for; for one thread at a time.

    The decoder has one thread of its own where it ``hurries`` not. Raises FootageError where the
    file at ``path`` is not that of ``identity``, also where it must be opened anew.
    """

    def __init__(
        self,
        path: Path,
        index: FootageIndex,
        identity: FileIdentity,
        *,
        hurries: bool = True,
        track: int | None = None,
        whole: bool = False,
    ) -> None:
        self._path, self._index, self.identity = path, index, identity
        self._source = Source(path, track, whole=whole)
        self._kind, self.threads = _threads(index) if hurries else ("SLICE", 1)
        self._next = 0
        self._open(0)

    def close(self) -> None:
        """Close the file."""
        self._container.close()

    def disposable(self, packet: CodedPacket) -> bool:
        """Whether the packet says that no other picture builds on its own."""
        return self._headers is not None and self._headers.disposable(bytes(packet))

    def decode(self, packet: CodedPacket | None) -> list[VideoFrame]:
        """The frames that come out once the packet has gone in; None ends the recording."""
        return self._unpacker.decode(self._context, packet)

    def read(self) -> Placed | None:
        """The next packet with content; None at the end of what can be read."""
        packet = self._next_packet()
        if packet is None:
            return None
        place = self._place(packet, self._next)
        self._next = (self._next if place is None else place) + 1
        return place, self._shown(place, packet)

    def seek(self, start: int) -> CodedPacket:
        """Go to packet ``start`` and give it; the decoder is emptied.

        Where a seek lands is checked by the packets themselves, as containers seek by other
        stamps, or less exactly, than they say. Raises FootageError if the packet is not in the
        file any more, or another file lies in its place.
        """
        number = self._index.part_of(start)
        if number != self._number:
            self.close()
            self._open(number)
        for landing in self._landings(start):
            packet = self._land(landing, start)
            if packet is not None:
                return self._arrived(start, packet)
        packet = self._counted_to(start)
        if packet is None:
            self.close()
            self._open(number)
            packet = self._counted_to(start)
        if packet is None:
            raise FootageError(
                f"{self._path} is not the file it was when it was opened; close it and open it "
                "again."
            )
        return self._arrived(start, packet)

    def _open(self, number: int) -> None:
        self._number, self._part = number, self._index.parts[number]
        source = self._source.of(self._part.bytes)
        self._container, self._stream = source.open()
        self._check_same()
        self._context: VideoCodecContext = self._stream.codec_context
        self._context.thread_type, self._context.thread_count = self._kind, self.threads
        self._headers = UnitHeaders.of(self._context)
        self._unpacker = Unpacker(self._stream, self._part.unpacks)
        self._packets: Iterator[CodedPacket] = self._container.demux(self._stream)
        self._next = self._part.first
        self._counts = True  # whether all packets from the first on were read in turn

    def _check_same(self) -> None:
        """Made of the file once it is open: what comes in its place later is not read from."""
        try:
            self.identity.check(self._path)
        except FootageError:
            self.close()
            raise

    def _arrived(self, start: int, packet: CodedPacket) -> CodedPacket:
        self._context.flush_buffers()
        self._unpacker.restart()
        self._next = start + 1
        return self._shown(start, packet)

    def _shown(self, place: int | None, packet: CodedPacket) -> CodedPacket:
        """The packet, without the mark of one that is not shown where the index shows it.

        The edit list in the head of a file hides also what other recordings in it have at the
        same times.
        """
        if place is None or not packet.is_discard or self._index.hidden[place]:
            return packet
        return unhidden(packet)

    def _next_packet(self) -> CodedPacket | None:
        try:
            return next((packet for packet in self._packets if packet.size), None)
        except READ_ERRORS:
            return None

    def _place(self, packet: CodedPacket, expected: int) -> int | None:
        if self._part.seeks == "stamp":
            return self._index.locate(packet, expected)
        if self._part.seeks == "byte":
            return self._index.at_byte(packet, expected)
        same = expected < self._index.packets and self._index.packet_size[expected] == packet.size
        return expected if same else None

    def _landings(self, start: int) -> Iterator[int]:
        """Where to seek to, the likeliest first: time stamps, or places in the file."""
        index, seeks = self._index, self._part.seeks
        if seeks == "byte" and index.packet_pos is not None:
            yield int(index.packet_pos[start])
        if seeks != "stamp":
            return
        yield int(index.stamps[start])
        for back in range(_EARLIER_LANDINGS):
            packet = index.earlier_start(start, back)
            if index.packet_dts[packet] != NO_STAMP:
                yield int(min(index.stamps[packet], index.packet_dts[packet]))

    def _land(self, landing: int, start: int) -> CodedPacket | None:
        by_byte = self._part.seeks == "byte"
        self._counts = False
        try:
            if by_byte:
                self._container.seek(landing, unsupported_byte_offset=True)
            else:
                self._container.seek(landing, stream=self._stream)
            return self._walk_to(start)
        except READ_ERRORS:
            return None

    def _walk_to(self, start: int) -> CodedPacket | None:
        self._packets = self._container.demux(self._stream)
        for packet in self._packets:
            place = self._place(packet, start) if packet.size else None
            if place == start:
                return packet
            if place is not None and place > start:
                return None
        return None

    def _counted_to(self, start: int) -> CodedPacket | None:
        """Read on to packet ``start`` where every packet from the first was read in turn."""
        if not self._counts or self._next > start:
            return None
        packet = None
        while self._next <= start:
            packet = self._next_packet()
            if packet is None or packet.size != self._index.packet_size[self._next]:
                self._counts = False
                return None
            self._next += 1
        return packet


def _threads(index: FootageIndex) -> tuple[str, int]:
    """Kind and number of decoder threads, by the mean number of packets from key to key.

    Measured: frame threads pay where a jump decodes many frames, and cost where it decodes one.
    Each also holds its frame back by one, so more than the processor's cores and one only cost.
    """
    group = index.packets / max(1, len(index.keys))
    if group <= 2:
        return "SLICE", 1
    return "FRAME", min(4 if group <= 60 else 8, (os.cpu_count() or 1) + 1)
