"""The kinds of file that the cube pictures are written as."""

from fractions import Fraction

from tests.real_footage.encoding import Recording, uneven_stamps

FIRST, LAST = 20, 116
"""The cube pictures that are written: from before the hand enters, through the cube's moving."""

COUNT = LAST - FIRST
_CLEAR = {"crf": "14"}

LONG_GOP = Recording("one key frame", options=_CLEAR | {"g": "250"})
OPEN_GOP = Recording(
    "open GOP in a transport stream",
    suffix=".ts",
    time_base=Fraction(1, 90000),
    stamps=tuple(range(126000, 126000 + 3003 * COUNT, 3003)),
    options=_CLEAR | {"g": "24", "x264-params": "open-gop=1"},
)
HEVC_10_BIT = Recording(
    "HEVC, 10 bit, open GOP",
    codec="libx265",
    pixel_format="yuv420p10le",
    options=_CLEAR | {"preset": "ultrafast", "x265-params": "log-level=none:open-gop=1:keyint=30"},
)
TURNED = Recording("turned by 90 degrees", rotation=90, options=_CLEAR)
UNEVEN = Recording(
    "uneven stamps",
    time_base=Fraction(1, 90000),
    stamps=uneven_stamps(COUNT, seed=7),
    options=_CLEAR,
)
NO_KEY_FRAMES = Recording(
    "intra refresh",
    options=_CLEAR | {"g": "250", "bf": "0", "x264-params": "intra-refresh=1"},
)
MPEG4_AVI = Recording(
    "MPEG-4 part 2 in AVI",
    suffix=".avi",
    codec="mpeg4",
    options={"b": "8000000", "bf": "2", "g": "30"},
)
PLAYED_AS_WRITTEN = (LONG_GOP, OPEN_GOP, HEVC_10_BIT, TURNED, UNEVEN, NO_KEY_FRAMES, MPEG4_AVI)

INTERLACED_H264 = Recording(
    "interlaced H.264",
    options=_CLEAR | {"flags": "+ildct+ilme", "x264-params": "tff=1"},
)
INTERLACED_MPEG2 = Recording(
    "interlaced MPEG-2",
    suffix=".ts",
    codec="mpeg2video",
    options={"b": "8000000", "bf": "2", "g": "15", "flags": "+ildct+ilme"},
)
INTERLACED = (INTERLACED_H264, INTERLACED_MPEG2)
"""Frames of two fields: the upper lines show one picture, the lower lines the next."""
