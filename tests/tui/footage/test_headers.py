"""Headers of coded units tell what no other picture builds on.

Header bytes are those of ITU-T H.264, 7.3.1: nal_ref_idc in bits 5 and 6, nal_unit_type below
(table 7-1: 1 a slice, 5 one of a key, 6 further information, 9 a delimiter).
"""

import pytest

from tests.tui.footage.conftest import MakeClip, OpenClip
from tui.footage.headers import UnitHeaders

BUILT_ON, KEY, IN_VAIN, TOLD, DELIMITER = b"\x41abc", b"\x65abc", b"\x01abc", b"\x06ab", b"\x09\x10"


def with_lengths(*units: bytes, size: int = 4) -> bytes:
    return b"".join(len(unit).to_bytes(size, "big") + unit for unit in units)


def with_marks(*units: bytes) -> bytes:
    return b"".join(b"\0\0\0\1" + unit for unit in units)


PICTURES = [
    ((IN_VAIN,), True),
    ((DELIMITER, TOLD, IN_VAIN), True),
    ((IN_VAIN, IN_VAIN), True),
    ((BUILT_ON,), False),
    ((KEY,), False),
    ((IN_VAIN, BUILT_ON), False),  # a field that is built on, and one that is not
    ((TOLD,), False),
    ((), False),
]


@pytest.mark.parametrize(("units", "disposable"), PICTURES)
def test_a_picture_is_disposable_if_all_its_slices_are(
    units: tuple[bytes, ...], disposable: bool
) -> None:
    assert UnitHeaders(4).disposable(with_lengths(*units)) is disposable
    assert UnitHeaders(2).disposable(with_lengths(*units, size=2)) is disposable
    assert UnitHeaders(None).disposable(with_marks(*units)) is disposable


@pytest.mark.parametrize(
    "data",
    [
        with_lengths(IN_VAIN)[:-1],
        with_lengths(IN_VAIN) + b"\0",
        with_lengths(IN_VAIN, b""),
        bytes(40),
        b"\xff" * 40,
    ],
)
def test_units_that_do_not_fill_their_packet_are_not_believed(data: bytes) -> None:
    assert not UnitHeaders(4).disposable(data)


@pytest.mark.parametrize(
    ("name", "length_size"), [("mp4", 4), ("mkv", 4), ("mpeg-ts", None), ("H.264, avi", None)]
)
def test_the_way_units_are_told_apart_is_known_from_the_track(
    name: str, length_size: int | None, clip: MakeClip, opened: OpenClip
) -> None:
    decoder = opened(clip(name)).decoder()
    assert decoder._source._headers == UnitHeaders(length_size)
    decoder.close()


def test_other_codecs_are_not_read(clip: MakeClip, opened: OpenClip) -> None:
    decoder = opened(clip("VP9, webm")).decoder()
    assert decoder._source._headers is None
    decoder.close()
