"""Time code labels against the ``timecode`` package, and the table of SMPTE ST 12-1."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st
from timecode.timecode import Timecode

from sessions.evidence.timecode import frame_of, label

NTSC, DOUBLE_NTSC = Fraction(30000, 1001), Fraction(60000, 1001)
DAY = 24 * 3600 * 60


# SMPTE ST 12-1 drop-frame labels, as the ``timecode`` package gives them.
@pytest.mark.parametrize(
    ("rate", "frame", "text"),
    [
        (NTSC, 0, "00:00:00;00"),
        (NTSC, 1799, "00:00:59;29"),
        (NTSC, 1800, "00:01:00;02"),
        (NTSC, 17981, "00:09:59;29"),
        (NTSC, 17982, "00:10:00;00"),
        (NTSC, 107892, "01:00:00;00"),
        (NTSC, 2589407, "23:59:59;29"),
        (NTSC, 2589408, "00:00:00;00"),
        (DOUBLE_NTSC, 3600, "00:01:00;04"),
        (DOUBLE_NTSC, 215784, "01:00:00;00"),
    ],
)
def test_labels_of_the_standard(rate: Fraction, frame: int, text: str) -> None:
    assert label(frame, rate) == text


RATES = {
    "29.97": NTSC,
    "59.94": DOUBLE_NTSC,
    "23.976": Fraction(24000, 1001),
    "24": Fraction(24),
    "25": Fraction(25),
    "30": Fraction(30),
    "50": Fraction(50),
    "60": Fraction(60),
}


@given(st.sampled_from(sorted(RATES)), st.integers(0, DAY))
def test_labels_are_those_of_the_timecode_package(name: str, frame: int) -> None:
    assert label(frame, RATES[name]) == str(Timecode(name, frames=frame + 1))


@pytest.mark.parametrize("name", ["29.97", "59.94"])
def test_every_label_around_each_dropped_minute_of_an_hour(name: str) -> None:
    whole = round(RATES[name])
    for minute in range(61):
        near = round(minute * 60 * RATES[name])
        for frame in range(max(near - whole // 4, 0), near + whole // 4):
            assert label(frame, RATES[name]) == str(Timecode(name, frames=frame + 1))


@pytest.mark.parametrize("mark", [":", ";"])
def test_a_label_of_the_standard_leads_to_its_frame(mark: str) -> None:
    """The pairs are those of the table above."""
    assert frame_of(f"00:01:00{mark}02", NTSC) == 1800
    assert frame_of(f"01:00:00{mark}00", NTSC) == 107892
    assert frame_of(f"00:01:00{mark}04", DOUBLE_NTSC) == 3600


@given(frame=st.integers(0, 24 * 3600 * 23), name=st.sampled_from(sorted(RATES)))
def test_every_label_leads_back_to_its_frame(frame: int, name: str) -> None:
    assert frame_of(label(frame, RATES[name]), RATES[name]) == frame


@pytest.mark.parametrize(
    ("text", "rate"),
    [
        ("00:01:00;00", NTSC),  # left out by the standard
        ("00:00:00:24", Fraction(24)),
        ("00:00:60:00", Fraction(24)),
        ("00:60:00:00", Fraction(24)),
        ("24:00:00:00", Fraction(24)),
    ],
)
def test_what_is_no_label_leads_nowhere(text: str, rate: Fraction) -> None:
    assert frame_of(text, rate) is None
