"""Fields: which pictures are of two, which of them comes first, and how one is drawn alone.

An interlaced camera takes the odd and the even lines of a picture one after the other, half a
picture apart. H.264 and MPEG-2 say of each picture whether it is so; of other codecs the first
picture speaks for all.
"""

from fractions import Fraction
from typing import Literal, Protocol

import numpy as np
import numpy.typing as npt
from av.filter import Graph
from av.video.codeccontext import VideoCodecContext
from av.video.frame import VideoFrame
from av.video.plane import VideoPlane

from tui.footage.headers import (
    REFRESH,
    Bits,
    SequenceParameters,
    UnitHeaders,
    stored_sets,
    unescaped,
)

UNTOLD, WHOLE, TOP_FIRST, BOTTOM_FIRST, REPEATS = -1, 0, 1, 2, 4
"""How a picture is scanned: whole, or as two fields with the top or the bottom one first; REPEATS
is added where it lasts three fields, as the first is shown once more."""

_EXTENSION = b"\0\0\1\xb5"  # ISO/IEC 13818-2, table 6-1
_SUPPLEMENT, _SEQUENCE_SETS, _PICTURE_SETS = 6, 7, 8  # nal_unit_type (ITU-T H.264, table 7-1)


class FieldHeaders(Protocol):
    """Reads from the head of each coded picture, in decode order, how it is scanned."""

    def read(self, data: bytes) -> int:
        """How the picture of a packet is scanned, as the constants above say."""


def field_headers_of(context: VideoCodecContext) -> FieldHeaders | None:
    """The reader for a codec; None where all pictures are scanned as the first is."""
    codec, extra = context.codec.canonical_name, context.extradata or b""
    if codec == "h264":
        return H264Fields(UnitHeaders.of(context) or UnitHeaders(None), extra)
    return MpegFields() if codec == "mpeg2video" else None


class MpegFields:
    """Reads the extensions of MPEG-2 (ISO/IEC 13818-2, 6.2.2.3 and 6.2.3.1)."""

    def __init__(self) -> None:
        self._progressive_only = False

    def read(self, data: bytes) -> int:
        """How the picture is scanned; of two coded field by field, the first comes first."""
        at = data.find(_EXTENSION)
        while at >= 0:
            bits = Bits(data[at + 4 : at + 14])
            kind = bits.number(4)
            if kind == 1:
                bits.number(8)  # profile and level
                self._progressive_only = bool(bits.number(1))
            elif kind == 8:
                return WHOLE if self._progressive_only else self._of_picture(bits)
            at = data.find(_EXTENSION, at + 4)
        return UNTOLD

    @staticmethod
    def _of_picture(bits: Bits) -> int:
        bits.number(18)
        structure, top_first = bits.number(2), bits.number(1)
        bits.number(5)
        repeats = bits.number(1)
        bits.number(1)
        if structure != 3:  # coded field by field
            return TOP_FIRST if structure == 1 else BOTTOM_FIRST
        if bits.number(1):
            return WHOLE + REPEATS * repeats
        return (TOP_FIRST if top_first else BOTTOM_FIRST) + REPEATS * repeats


class H264Fields:
    """Reads slice headers and display structures of H.264.

    A picture is of fields where it is coded field by field, or in parts so, or where its display
    structure says of what kind the camera was (ITU-T H.264, 7.3.3, D.1.3 and table D-1).
    """

    def __init__(self, headers: UnitHeaders, extra: bytes) -> None:
        self._headers = headers
        self._parameters: SequenceParameters | None = None
        self._tells_order: dict[int, bool] = {}
        self._before = WHOLE
        for unit in stored_sets(extra) if headers.length_size else headers.units(extra):
            self._take_set(unit)

    def read(self, data: bytes) -> int:
        """How the picture is scanned; of two coded field by field, the first comes first."""
        shown: tuple[int, int | None] | None = None
        try:
            for unit in self._headers.units(data):
                kind = unit[0] & 31 if unit else 0
                self._take_set(unit)
                if kind == _SUPPLEMENT:
                    shown = self._structure(unit) or shown
                elif kind in (1, REFRESH):
                    self._before = self._of_slice(unit, shown)
                    return self._before
        except ValueError:
            pass  # a damaged packet; the decoder will say so
        return UNTOLD

    def _take_set(self, unit: bytes) -> None:
        kind = unit[0] & 31 if unit else 0
        if kind == _SEQUENCE_SETS:
            self._parameters = SequenceParameters.read(unit)
        elif kind == _PICTURE_SETS:
            bits = Bits(unescaped(unit[1:40]))
            number = bits.golomb()
            bits.golomb()
            bits.number(1)
            self._tells_order[number] = bool(bits.number(1))

    def _structure(self, unit: bytes) -> tuple[int, int | None] | None:
        """The display structure, and whether the camera took fields, where that is told."""
        told = self._parameters
        if told is None or told.delay_bits is None:
            return None
        data = unescaped(unit[1:])
        at = 0
        while at + 2 < len(data):
            kind = size = 0
            while at < len(data) - 1 and data[at] == 255:
                kind, at = kind + 255, at + 1
            kind, at = kind + data[at], at + 1
            while at < len(data) - 1 and data[at] == 255:
                size, at = size + 255, at + 1
            size, at = size + data[at], at + 1
            if kind == 1:
                return self._in_timing(Bits(data[at : at + size]), told.delay_bits)
            at += size
        return None

    @staticmethod
    def _in_timing(bits: Bits, delay_bits: int) -> tuple[int, int | None]:
        bits.number(delay_bits)
        structure = bits.number(4)
        if not bits.number(1):
            return structure, None
        return structure, bits.number(2)

    def _of_slice(self, unit: bytes, shown: tuple[int, int | None] | None) -> int:
        told = self._parameters
        if told is None:
            return UNTOLD
        if told.frames_only:
            by_field, first = False, 0
        else:
            by_field, first = self._order(unit, told)
        structure, camera = shown or (0, None)
        is_interlaced = by_field
        if structure in (1, 2):
            is_interlaced = True
        elif structure in (3, 4):
            is_interlaced = by_field or self._before % REPEATS != WHOLE
        elif shown is not None:
            is_interlaced = False
        if camera is not None and camera != 2 and structure <= 4:
            is_interlaced = camera == 1
        repeats = REPEATS if structure in (5, 6) else 0
        if not is_interlaced:
            return WHOLE + repeats
        if not first:
            first = BOTTOM_FIRST if structure in (2, 4, 6) else TOP_FIRST
        return first + repeats

    def _order(self, unit: bytes, told: SequenceParameters) -> tuple[bool, int]:
        """Whether a picture is coded by field, and which comes first; 0 where that is not told."""
        bits = Bits(unescaped(unit[1:60]))
        bits.golomb()
        bits.golomb()
        pictures = bits.golomb()
        if told.planes_apart:
            bits.number(2)
        bits.number(told.count_bits)
        if bits.number(1):
            return True, BOTTOM_FIRST if bits.number(1) else TOP_FIRST
        if unit[0] & 31 == REFRESH:
            bits.golomb()
        later = 0
        if told.order_kind == 0:
            bits.number(told.order_bits)
            later = bits.signed_golomb() if self._tells_order.get(pictures) else 0
        elif told.order_kind == 1 and not told.order_is_fixed:
            bits.signed_golomb()
            later = bits.signed_golomb() if self._tells_order.get(pictures) else 0
        return told.mixes, (later > 0) * TOP_FIRST or (later < 0) * BOTTOM_FIRST


Scan = Literal["frames", "fields", "top", "bottom"]
"""How footage is stepped: by whole frames, by field as each picture says of itself, or by field
with the top or the bottom one first, whatever the pictures say."""

_FIRST_PICTURES = 16  # of footage that is still being read, no more need be known


def scan_of(scanned: npt.NDArray[np.int64]) -> Scan:
    """How footage is stepped where nobody says: by field if one of its first pictures has two."""
    return "fields" if (scanned[:_FIRST_PICTURES] % REPEATS).any() else "frames"


def orders(scanned: npt.NDArray[np.int64], scan: Scan) -> npt.NDArray[np.int64] | None:
    """How each picture is to be shown; None where all are shown whole."""
    if scan == "frames":
        return None
    if scan == "fields":
        return scanned
    return np.full(len(scanned), TOP_FIRST if scan == "top" else BOTTOM_FIRST, np.int64)


def scan_words(scanned: npt.NDArray[np.int64]) -> str:
    """What pictures say of themselves."""
    order, repeats = scanned % REPEATS, int((scanned >= REPEATS).sum())
    counts = {
        "whole": int((order == WHOLE).sum()),
        "of two fields, the top one first": int((order == TOP_FIRST).sum()),
        "of two fields, the bottom one first": int((order == BOTTOM_FIRST).sum()),
    }
    kinds = [kind for kind, count in counts.items() if count]
    if kinds == ["whole"]:
        words = "progressive"
    elif len(kinds) == 1:
        words = f"interlaced, {kinds[0].split(', ')[1]}"
    else:
        words = "mixed: " + "; ".join(f"{counts[kind]} pictures {kind}" for kind in kinds)
    return words + (f"; {repeats} pictures held for three fields" if repeats else "")


def field_order(frame: VideoFrame) -> int:
    """How a decoded picture is scanned, by its own flags.

    The decoder's frame tells no more than that it is of fields; a filter knows which comes first.
    """
    if not frame.interlaced_frame:
        return WHOLE
    graph = Graph()
    source = graph.add_buffer(
        width=frame.width, height=frame.height, format=frame.format, time_base=Fraction(1, 1000)
    )
    chosen = graph.add("select", "eq(interlace_type\\,BOTTOMFIRST)")
    sink = graph.add("buffersink")
    source.link_to(chosen)
    chosen.link_to(sink)
    graph.configure()
    graph.push(frame)
    try:
        graph.pull()
    except (BlockingIOError, EOFError):
        return TOP_FIRST
    return BOTTOM_FIRST


Lines = Literal["top", "bottom"]
"""The field of the lines 0, 2, 4 ... or that of the lines 1, 3, 5 ..."""


def field_alone(frame: VideoFrame, lines: Lines) -> VideoFrame:
    """A picture of one field: its own lines as they are, those between them the mean of the two.

    The first or last line, which has one neighbour only, is as that one.
    """
    alone = VideoFrame(frame.width, frame.height, frame.format.name)
    alone.colorspace, alone.color_range = frame.colorspace, frame.color_range
    deep = any(component.bits > 8 for component in frame.format.components)
    for theirs, ours in zip(frame.planes, alone.planes, strict=True):
        woven, drawn = _lines(theirs, deep=deep), _lines(ours, deep=deep)
        wide = min(woven.shape[1], drawn.shape[1])
        _draw_field(woven[:, :wide], drawn[:, :wide], 0 if lines == "top" else 1)
    return alone


def _draw_field(woven: npt.NDArray[np.integer], drawn: npt.NDArray[np.integer], first: int) -> None:
    own = woven[first::2]
    if not len(own):  # a single line
        drawn[:] = woven
        return
    drawn[first::2] = own
    above, below = own[:-1], own[1:]
    # the mean, halves up, without a wider type for the sum
    between = (above | below) - ((above ^ below) >> 1)
    drawn[first + 1 : first + 1 + 2 * len(between) : 2] = between
    if first:
        drawn[0] = own[0]
    if (len(woven) - 1) % 2 != first:
        drawn[-1] = own[-1]


def _lines(plane: VideoPlane, *, deep: bool) -> npt.NDArray[np.integer]:
    """The lines of a plane, as many samples as are stored for each."""
    kind: type[np.unsignedinteger] = np.uint16 if deep else np.uint8
    samples = np.frombuffer(memoryview(plane), kind)
    return samples.reshape(plane.height, -1)
