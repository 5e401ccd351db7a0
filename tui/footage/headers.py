"""What the heads of coded pictures tell without decoding: what builds on what, and what is missing.

Codecs count their pictures for the decoder's own use. Where that count skips, a picture that
others build on has been lost, although the container may not show it: H.264 counts its reference
pictures (``frame_num``), AV1 all that are shown (``order_hint``), MPEG-1 and MPEG-2 those of each
group (``temporal_reference``).
"""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Protocol

from av.video.codeccontext import VideoCodecContext

_SLICES = range(1, 6)  # nal_unit_type of coded slices (ITU-T H.264, table 7-1)
REFRESH = 5  # a slice of a picture that builds on nothing before it
_PARAMETERS = 7
_BUILT_ON = 0x60  # nal_ref_idc
_MARK = b"\0\0\1"
_PICTURE, _GROUP = b"\0\0\1\0", b"\0\0\1\xb8"  # start codes (ISO/IEC 13818-2, table 6-1)
_HEAD = 4096  # bytes of a packet within which its first slice is looked for at first


@dataclass(frozen=True)
class UnitHeaders:
    """Reads the headers of the units in a packet of H.264.

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
            slices = [unit[0] for unit in self.units(data) if unit and unit[0] & 31 in _SLICES]
        except ValueError:
            return False
        return bool(slices) and not any(head >> 5 & 3 for head in slices)

    def units(self, data: bytes) -> Iterator[bytes]:
        """The first bytes of each unit; ValueError where there is none or a length is impossible.

        They are enough for its header and, of slices, for what begins theirs.
        """
        if self.length_size is None:
            at = data.find(_MARK)
            while at >= 0:
                yield data[at + 3 : at + 3 + _UNIT_HEAD]
                at = data.find(_MARK, at + 3)
            return
        at = 0
        while at < len(data):
            start = at + self.length_size
            at = start + int.from_bytes(data[at:start], "big")
            if not start < at <= len(data):
                raise ValueError("a unit is longer than its packet")
            yield data[start : min(at, start + _UNIT_HEAD)]


_UNIT_HEAD = 256


class Counter(Protocol):
    """The counter of a codec, followed from packet to packet in decode order."""

    def follow(self, place: int, data: bytes) -> None:
        """Read the packet at ``place``."""

    def restart(self) -> None:
        """Note that another recording begins with the next packet."""

    def skips(self) -> list[int]:
        """The packets before which pictures are missing that others may build on."""


def counter_of(context: VideoCodecContext) -> Counter | None:
    """The counter of the codec; None where it has none, or none that is read here."""
    codec, extra = context.codec.canonical_name, context.extradata or b""
    if codec == "h264":
        return H264Counter(UnitHeaders.of(context) or UnitHeaders(None), extra)
    if codec in ("mpeg1video", "mpeg2video"):
        return MpegCounter()
    return Av1Counter(extra) if codec == "av1" else None


class Bits:
    """Reads numbers from bits, from the highest of each byte down; zeros beyond the end."""

    def __init__(self, data: bytes) -> None:
        self._value, self._length, self._at = int.from_bytes(data, "big"), 8 * len(data), 0

    def number(self, bits: int) -> int:
        """An unsigned number of so many bits."""
        self._at += bits
        if self._at > self._length:
            return 0
        return self._value >> (self._length - self._at) & ((1 << bits) - 1)

    def golomb(self) -> int:
        """An unsigned number in Exp-Golomb code (ITU-T H.264, 9.1)."""
        zeros = 0
        while not self.number(1) and zeros < 32 and self._at < self._length:
            zeros += 1
        return (1 << zeros) - 1 + self.number(zeros)

    def signed_golomb(self) -> int:
        """A signed number in Exp-Golomb code (ITU-T H.264, 9.1.1)."""
        code = self.golomb()
        return (code + 1) // 2 if code & 1 else -(code // 2)


def unescaped(data: bytes) -> bytes:
    """A unit without the bytes that keep marks from standing in it (ITU-T H.264, 7.4.1)."""
    return data.replace(b"\0\0\3", b"\0\0")


@dataclass(frozen=True)
class SequenceParameters:
    """What a sequence of H.264 says of its counters and fields (ITU-T H.264, 7.3.2.1.1, E.1)."""

    count_bits: int
    may_skip: bool
    frames_only: bool
    planes_apart: bool
    mixes: bool
    """Whether frames may hold parts that are coded by field."""
    order_kind: int
    order_bits: int
    order_is_fixed: bool
    delay_bits: int | None
    """Bits of the two delays before the display structure; None where that is not told."""

    @classmethod
    def read(cls, unit: bytes) -> "SequenceParameters":
        """Of a unit of parameters."""
        bits = Bits(unescaped(unit[1:]))
        profile = bits.number(8)
        bits.number(16)
        bits.golomb()
        apart = False
        if profile in (100, 110, 122, 244, 44, 83, 86, 118, 128, 138, 139, 134, 135):
            apart = cls._pass_high_profile(bits)
        count_bits = bits.golomb() + 4
        order_kind, order_bits, order_is_fixed = cls._order_count(bits)
        bits.golomb()
        may_skip = bool(bits.number(1))
        bits.golomb()
        bits.golomb()
        frames_only = bool(bits.number(1))
        mixes = not frames_only and bool(bits.number(1))
        bits.number(1)
        if bits.number(1):
            for _ in range(4):
                bits.golomb()
        delays = cls._delay_bits(bits) if bits.number(1) else None
        return cls(
            count_bits, may_skip, frames_only, apart, mixes,
            order_kind, order_bits, order_is_fixed, delays,
        )  # fmt: skip

    @staticmethod
    def _pass_high_profile(bits: Bits) -> bool:
        chroma = bits.golomb()
        apart = bool(bits.number(1)) if chroma == 3 else False
        bits.golomb()
        bits.golomb()
        bits.number(1)
        if bits.number(1):
            for scaling in range(12 if chroma == 3 else 8):
                if bits.number(1):
                    _pass_scaling(bits, 16 if scaling < 6 else 64)
        return apart

    @staticmethod
    def _order_count(bits: Bits) -> tuple[int, int, bool]:
        """In which way pictures are ordered, its bits, and whether no picture tells it itself."""
        kind, order_bits, is_fixed = bits.golomb(), 0, True
        if kind == 0:
            order_bits = bits.golomb() + 4
        elif kind == 1:
            is_fixed = bool(bits.number(1))
            bits.golomb()
            bits.golomb()
            for _ in range(min(bits.golomb(), 255)):
                bits.golomb()
        return kind, order_bits, is_fixed

    @classmethod
    def _delay_bits(cls, bits: Bits) -> int | None:
        """Pass over the usability information up to the flag that tells of display structures."""
        if bits.number(1) and bits.number(8) == 255:  # the shape of a pixel
            bits.number(32)
        if bits.number(1):
            bits.number(1)
        if bits.number(1):
            bits.number(4)
            if bits.number(1):
                bits.number(24)
        if bits.number(1):
            bits.golomb()
            bits.golomb()
        if bits.number(1):  # the units of time
            bits.number(65)
        delays = [cls._delays_of_model(bits) for _ in range(2) if bits.number(1)]
        if delays:
            bits.number(1)
        return max(delays, default=0) if bits.number(1) else None

    @staticmethod
    def _delays_of_model(bits: Bits) -> int:
        count = bits.golomb() + 1
        bits.number(8)
        for _ in range(min(count, 32)):
            bits.golomb()
            bits.golomb()
            bits.number(1)
        bits.number(5)
        delays = bits.number(5) + bits.number(5) + 2
        bits.number(5)
        return delays


def _pass_scaling(bits: Bits, size: int) -> None:
    last = following = 8
    for _ in range(size):
        if following:
            following = (last + bits.signed_golomb()) % 256
        last = following or last


class H264Counter:
    """Follows ``frame_num``, which goes up by one with each picture that others build on."""

    def __init__(self, headers: UnitHeaders, extra: bytes) -> None:
        self._headers = headers
        self._skips: list[int] = []
        self.refreshing: list[int] = []
        """Packets called keys that hold no whole picture: it is refreshed bit by bit."""
        self._parameters: SequenceParameters | None = None
        self.restart()
        sets = stored_sets(extra) if headers.length_size else headers.units(extra)
        for unit in sets:
            if unit and unit[0] & 31 == _PARAMETERS:
                self._parameters = SequenceParameters.read(unit)

    def follow(self, place: int, data: bytes, key: bool = False) -> None:
        """Read the packet at ``place``; ``key`` is whether it is called one."""
        try:
            for unit in self._headers.units(data):
                kind = unit[0] & 31 if unit else 0
                if kind == _PARAMETERS:
                    self._parameters = SequenceParameters.read(unit)
                elif kind == 1 or (kind == REFRESH and unit[0] & _BUILT_ON):
                    # a refresh that nothing builds on is no slice (7.4.1), and stands in some files
                    self._read_slice(place, unit, key)
                    return
        except ValueError:
            self.restart()  # a damaged packet; the decoder will say so

    def restart(self) -> None:
        """Note that another recording begins with the next packet."""
        self._last: int | None = None
        self._last_built_on = self._last_is_field = False

    def skips(self) -> list[int]:
        """The packets before which pictures are missing that others build on."""
        return self._skips

    def _read_slice(self, place: int, unit: bytes, key: bool) -> None:
        told = self._parameters
        if told is None:
            return
        bits = Bits(unescaped(unit[1:40]))
        bits.golomb()
        if key and bits.golomb() % 5 not in (2, 4):  # neither an I nor an SI slice (table 7-6)
            self.refreshing.append(place)
        elif not key:
            bits.golomb()
        bits.golomb()
        if told.planes_apart:
            bits.number(2)
        count = bits.number(told.count_bits)
        is_field = False if told.frames_only else bool(bits.number(1))
        built_on = bool(unit[0] & _BUILT_ON)
        if unit[0] & 31 == REFRESH:
            pass  # an instantaneous refresh: the count begins anew
        elif self._last is not None and not told.may_skip:
            due = (self._last, (self._last + 1) % (1 << told.count_bits))
            again = count == self._last and self._last_built_on and built_on
            if count not in due or (again and not is_field and not self._last_is_field):
                self._skips.append(place)
        if built_on or unit[0] & 31 == REFRESH:
            self._last = count
        self._last_built_on, self._last_is_field = built_on, is_field


def stored_sets(extra: bytes) -> Iterator[bytes]:
    """The parameter sets, of sequences and of pictures, in the head of a file (14496-15, 5.3.3)."""
    at = 5
    for mask in (31, 255):
        count = extra[at] & mask if len(extra) > at else 0
        at += 1
        for _ in range(count):
            size = int.from_bytes(extra[at : at + 2], "big")
            yield extra[at + 2 : at + 2 + size]
            at += 2 + size


class MpegCounter:
    """Follows ``temporal_reference``, which numbers the pictures of a group as they are shown."""

    def __init__(self) -> None:
        self._skips: list[int] = []
        self._group: list[tuple[int, int, int]] = []  # (packet, number, kind of picture)

    def follow(self, place: int, data: bytes) -> None:
        """Read the packet at ``place``."""
        group, picture = data.find(_GROUP), data.find(_PICTURE)
        if picture < 0 or len(data) < picture + 6:
            return
        if 0 <= group < picture:
            self.restart()
        number = data[picture + 4] << 2 | data[picture + 5] >> 6
        self._group.append((place, number, data[picture + 5] >> 3 & 7))

    def restart(self) -> None:
        """Close the group: numbers that never came are missing pictures."""
        numbers = {number for _, number, _ in self._group}
        missing = next((n for n in range(max(numbers, default=0)) if n not in numbers), None)
        if missing is not None:
            # the last picture before it that others build on (kinds 1 and 2: I and P)
            before = [(n, place) for place, n, kind in self._group if kind < 3 and n < missing]
            self._skips.append(max(before)[1] + 1 if before else self._group[0][0])
        self._group = []

    def skips(self) -> list[int]:
        """The packets before which pictures are missing."""
        self.restart()
        return self._skips


class Av1Counter:
    """Follows ``order_hint`` of the pictures shown, which goes up by one with each (AV1 5.9.2)."""

    def __init__(self, extra: bytes) -> None:
        self._skips: list[int] = []
        self._told: _Av1Sequence | None = None
        self._slots: dict[int, int] = {}
        self._last: int | None = None
        for kind, data in _obus(extra[4:]):
            if kind == 1:
                self._told = _Av1Sequence.read(data)

    def follow(self, place: int, data: bytes) -> None:
        """Read the packet at ``place``."""
        for kind, unit in _obus(data):
            if kind == 1:
                self._told = _Av1Sequence.read(unit)
            elif kind in (3, 6) and self._told and self._told.hint_bits:
                shown = self._shown(self._told, Bits(unit[:40]))
                if shown is None:
                    continue
                if self._last is not None and shown != (self._last + 1) % self._told.hints:
                    self._skips.append(place)
                self._last = shown

    def restart(self) -> None:
        """Note that another recording begins with the next packet."""
        self._last = None
        self._slots = {}

    def skips(self) -> list[int]:
        """The packets before which pictures are missing."""
        return self._skips

    def _shown(self, told: "_Av1Sequence", bits: Bits) -> int | None:
        """The number of the picture that a frame header shows; None where it shows none."""
        if bits.number(1):
            return self._slots.get(bits.number(3))
        kind, shows = bits.number(2), bits.number(1)
        if not shows:
            bits.number(1)
        resilient = 1 if kind == 3 or (kind == 0 and shows) else bits.number(1)
        bits.number(1)
        screen = bits.number(1) if told.screen == 2 else told.screen
        if screen and told.whole_motion == 2:
            bits.number(1)
        bits.number(told.id_bits)
        if kind != 3:
            bits.number(1)
        hint = bits.number(told.hint_bits)
        if not resilient and kind != 2:
            bits.number(3)
        kept = 255 if kind == 3 or (kind == 0 and shows) else bits.number(8)
        self._slots.update({slot: hint for slot in range(8) if kept >> slot & 1})
        if kind == 0 and shows:
            self._last = None  # a key picture: the count may begin anywhere
        return hint if shows else None


@dataclass(frozen=True)
class _Av1Sequence:
    """What a sequence header of AV1 says of the fields before the counter (AV1 5.5)."""

    hint_bits: int
    id_bits: int
    screen: int
    whole_motion: int

    @property
    def hints(self) -> int:
        return 1 << self.hint_bits

    @classmethod
    def read(cls, unit: bytes) -> "_Av1Sequence | None":
        """The header; None for single pictures, which have no counter."""
        bits = Bits(unit[:60])
        bits.number(3)
        bits.number(1)
        if bits.number(1):
            return None
        cls._pass_operating_points(bits)
        wide, high = bits.number(4) + 1, bits.number(4) + 1
        bits.number(wide)
        bits.number(high)
        id_bits = 0
        if bits.number(1):
            id_bits = bits.number(4) + 2
            id_bits += bits.number(3) + 1
        bits.number(3)
        bits.number(4)
        hints = bits.number(1)
        if hints:
            bits.number(2)
        screen = 2 if bits.number(1) else bits.number(1)
        motion = 2
        if screen:
            motion = 2 if bits.number(1) else bits.number(1)
        return cls(bits.number(3) + 1 if hints else 0, id_bits, screen, motion)

    @staticmethod
    def _pass_operating_points(bits: Bits) -> None:
        decoder_model = delay = 0
        if bits.number(1):
            bits.number(64)
            if bits.number(1):
                bits.golomb()
            decoder_model = bits.number(1)
            if decoder_model:
                delay = bits.number(5) + 1
                bits.number(32)
                bits.number(10)
        display_delay = bits.number(1)
        for _ in range(bits.number(5) + 1):
            bits.number(12)
            if bits.number(5) > 7:
                bits.number(1)
            if decoder_model and bits.number(1):
                bits.number(2 * delay + 1)
            if display_delay and bits.number(1):
                bits.number(4)


def _obus(data: bytes) -> Iterator[tuple[int, bytes]]:
    """(type, content) of the units of a packet of AV1 (AV1 5.3)."""
    at = 0
    while at < len(data):
        head = data[at]
        at += 1 + (head >> 2 & 1)
        size = len(data) - at
        if head & 2:
            size, at = _leb128(data, at)
        yield head >> 3 & 15, data[at : at + size]
        at += size


def _leb128(data: bytes, at: int) -> tuple[int, int]:
    """A number in groups of seven bits, and where it ends (AV1 4.10.5)."""
    value = shift = 0
    while at < len(data) and shift < 56:
        value |= (data[at] & 127) << shift
        shift += 7
        at += 1
        if not data[at - 1] & 128:
            break
    return value, at
