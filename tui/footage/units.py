"""The units that H.264 pictures are coded in, as far as their headers tell what builds on what."""

from collections.abc import Iterator
from dataclasses import dataclass

from av.video.codeccontext import VideoCodecContext

_SLICES = range(1, 6)  # nal_unit_type of coded slices (ITU-T H.264, table 7-1)
_MARK = b"\0\0\1"


@dataclass(frozen=True)
class UnitHeaders:
    """Reads the headers of the units in a packet.

    ``length_size`` is how many bytes before each unit tell its length (ISO/IEC 14496-15); None
    where units are told apart by marks (ITU-T H.264, annex B).
    """

    length_size: int | None

    @classmethod
    def of(cls, context: VideoCodecContext) -> "UnitHeaders | None":
        """The way in which a track is coded; None if it is not H.264."""
        if context.codec.canonical_name != "h264":
            return None
        extra = context.extradata or b""
        told = len(extra) > 4 and extra[0] == 1
        return cls((extra[4] & 3) + 1 if told else None)

    def disposable(self, data: bytes) -> bool:
        """Whether all slices of a picture say that no other picture builds on it (nal_ref_idc 0).

        Not so where there are none, or where the units do not fill the packet.
        """
        try:
            slices = [head for head in self._heads(data) if head & 31 in _SLICES]
        except ValueError:
            return False
        return bool(slices) and not any(head >> 5 & 3 for head in slices)

    def _heads(self, data: bytes) -> Iterator[int]:
        """The first byte of each unit; ValueError where there is none or a length is impossible."""
        if self.length_size is None:
            yield from (piece[0] if piece else 0 for piece in data.split(_MARK)[1:])
            return
        at = 0
        while at < len(data):
            start = at + self.length_size
            at = start + int.from_bytes(data[at:start], "big")
            if not start < at <= len(data):
                raise ValueError("a unit is longer than its packet")
            yield data[start]
