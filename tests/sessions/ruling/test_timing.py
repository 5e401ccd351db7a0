"""Times as rationals, against the guides on measurement and worked examples."""

import math
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sessions.rules.events import Clock, Rounding
from sessions.ruling.timing import (
    Elapsed,
    agrees,
    bounds_text,
    clock_text,
    displayed,
    elapsed,
    seconds_text,
)
from tests.proofs import examples
from tests.sessions.ruling.reference import is_possible

NTSC = Fraction(30000, 1001)


def one_frame_brackets(rate: Fraction, frames: int) -> Elapsed:
    """Start and stop, each first shown in its frame, so many frames apart."""
    frame = 1 / rate
    return elapsed((-frame, Fraction(0)), ((frames - 1) * frame, frames * frame))


# JCGM 100:2008, 4.3.7 and 4.3.9 (numbers from memory): standard uncertainty of a rectangular
# distribution of half-width a is a / sqrt 3. A bracket of one frame T and one of no width leave a
# rectangle of half-width T / 2: T / (2 sqrt 3).
def test_one_bracket_is_rectangular() -> None:
    frame = 1 / NTSC
    sharp = (Fraction(5), Fraction(5))
    found = elapsed((Fraction(0), frame), sharp).uncertainty
    assert found == pytest.approx(0.0096321, abs=5e-8)
    assert found == pytest.approx(float(frame) / 2 / math.sqrt(3), rel=1e-15)


# JCGM 100:2008, 4.3.9 (number from memory): triangular of half-width a is a / sqrt 6. The values in
# ms were worked out with the GTC library and by hand.
@pytest.mark.parametrize(
    ("rate", "milliseconds"),
    [
        (NTSC, 13.6219),
        (Fraction(24000, 1001), 17.0274),
        (Fraction(25), 16.3299),
        (Fraction(60), 6.8041),
        (Fraction(120), 3.4021),
        (Fraction(240), 1.7010),
    ],
)
def test_the_difference_of_two_one_frame_brackets_is_triangular(
    rate: Fraction, milliseconds: float
) -> None:
    found = one_frame_brackets(rate, 194).uncertainty
    assert found == pytest.approx(float(1 / rate) / math.sqrt(6), rel=1e-15)
    assert found * 1000 == pytest.approx(milliseconds, abs=6e-5)


# JCGM 101:2008, 6.4.4 (number from memory): the sum of two rectangles of unequal width is a
# trapezoid, u^2 = (g1^2 + g2^2) / 12. Worked out by hand for gaps of one and two frames of 33.3 ms.
def test_unequal_gaps_are_a_trapezoid() -> None:
    third = Fraction(1, 30)
    found = elapsed((Fraction(0), third), (Fraction(6), 6 + 2 * third))
    assert found.variance == (third**2 + (2 * third) ** 2) / 12
    assert found.uncertainty == pytest.approx(0.0215166, abs=5e-8)
    measured = elapsed((Fraction(0), Fraction("0.0333")), (Fraction(6), 6 + Fraction("0.0667")))
    assert measured.uncertainty == pytest.approx(0.0215209, abs=5e-8)


# A display of 6.482 s at 30000/1001 frames a second, start and stop each first shown in its frame:
# worked out by hand, in seconds to six places.
@pytest.mark.parametrize(
    ("frames", "shortest", "longest", "possible"),
    [
        (193, "6.406400", "6.473133", False),
        (194, "6.439767", "6.506500", True),
        (195, "6.473133", "6.539867", True),
        (196, "6.506500", "6.573233", False),
    ],
)
def test_a_worked_example_of_display_and_picture(
    frames: int, shortest: str, longest: str, possible: bool
) -> None:
    found = one_frame_brackets(NTSC, frames)
    assert seconds_text(found.shortest, 6) == shortest
    assert seconds_text(found.longest, 6) == longest
    assert agrees("6.482", Clock(rounding=Rounding.NEAREST), found) == possible
    assert agrees("6.482", Clock(), found) == possible


@pytest.mark.parametrize(
    ("rate", "agreeing"),
    [(60, {388, 389}), (120, {777, 778}), (240, {1555, 1556}), (25, {162, 163})],
)
def test_the_numbers_of_frames_that_agree_with_a_display(rate: int, agreeing: set[int]) -> None:
    clock = Clock(rounding=Rounding.NEAREST)
    tried = range(7 * rate)
    found = {n for n in tried if agrees("6.482", clock, one_frame_brackets(Fraction(rate), n))}
    assert found == agreeing


# Reading 29.97 as 30 shifts the time of 194 frames by 6.467 ms: more than a display's step.
def test_rates_are_rationals_because_30_is_not_30000_1001() -> None:
    shift = one_frame_brackets(NTSC, 194).midpoint - one_frame_brackets(Fraction(30), 194).midpoint
    assert seconds_text(shift * 1000, 3) == "6.467"


@examples(few=60, many=800)
@given(st.integers(-6, 6), st.integers(1, 8), st.integers(0, 25), st.sampled_from(Rounding))
def test_a_display_agrees_where_some_time_shows_it(
    from_reading: int, width: int, steps: int, rounding: Rounding
) -> None:
    """Bounds in half steps of the display, around the reading: the edges matter."""
    clock, display = Clock(rounding=rounding), f"{steps / 1000:.3f}"
    shortest = Fraction(display) + from_reading * clock.step / 2
    found = Elapsed(shortest, shortest + width * clock.step / 2, Fraction(0))
    expected = is_possible(display, clock, found.shortest, found.longest)
    assert agrees(display, clock, found) == expected


@pytest.mark.parametrize(
    ("rounding", "low", "high"),
    [
        (Rounding.UNSTATED, "2.49", "2.51"),
        (Rounding.NEAREST, "2.495", "2.505"),
        (Rounding.DOWN, "2.50", "2.51"),
        (Rounding.UP, "2.49", "2.50"),
    ],
)
def test_a_display_stands_for_the_times_that_its_rounding_allows(
    rounding: Rounding, low: str, high: str
) -> None:
    clock = Clock(resolution="0.01", rounding=rounding)
    assert displayed("2.50", clock) == (Fraction(low), Fraction(high))


@pytest.mark.parametrize(
    ("seconds", "text"),
    [
        ("0", "0.000"),
        ("6.4825", "6.482"),
        ("6.4835", "6.484"),
        ("-1.25", "-1.250"),
    ],
)
def test_seconds_are_rounded_half_to_even(seconds: str, text: str) -> None:
    assert seconds_text(Fraction(seconds)) == text


@pytest.mark.parametrize(
    ("seconds", "text"),
    [("0", "0:00.000"), ("59.9996", "1:00.000"), ("754.5", "12:34.500"), ("-61.5", "-1:01.500")],
)
def test_times_from_the_first_frame_are_minutes_and_seconds(seconds: str, text: str) -> None:
    assert clock_text(Fraction(seconds)) == text


@given(
    low=st.fractions(0, 20, max_denominator=90_000),
    width=st.fractions(Fraction(1, 1000), Fraction(1, 10), max_denominator=90_000),
    off=st.integers(-60, 160),
    rounding=st.sampled_from(Rounding),
)
def test_a_reading_lies_in_the_bounds_as_written_if_and_only_if_it_agrees(
    low: Fraction, width: Fraction, off: int, rounding: Rounding
) -> None:
    clock = Clock(rounding=rounding)
    by_picture = Elapsed(low, low + width, Fraction(0))
    reading = max(Fraction(0), Fraction(math.floor(low * 1000) + off, 1000))
    least, greatest = map(Fraction, bounds_text(by_picture, clock).split("-"))
    within = least <= reading <= greatest
    if agrees(seconds_text(reading), clock, by_picture):
        assert within
    elif rounding in (Rounding.UNSTATED, Rounding.NEAREST):
        assert not within


def test_bounds_are_written_to_what_the_display_can_tell() -> None:
    by_picture = Elapsed(Fraction("2.5667"), Fraction("2.6"), Fraction(0))
    assert bounds_text(by_picture, Clock()) == "2.566-2.600"
    assert bounds_text(by_picture, Clock(rounding=Rounding.NEAREST)) == "2.5665-2.6000"
    assert bounds_text(by_picture, Clock(resolution="0.01")) == "2.560-2.600"
