"""Exposure: an instant shows first in the frame at or after it, and in none before."""

from fractions import Fraction
from math import ceil

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from tui.demo.conductor import Track, bracket
from tui.demo.layout import Point
from tui.demo.sampling import SAMPLES, instants, positions, steps

FRAMES = 40
some_instants = st.fractions(min_value=1, max_value=FRAMES - 3, max_denominator=1000)


@given(some_instants)
def test_a_change_shows_first_in_the_frame_at_or_after_its_instant(instant: Fraction) -> None:
    times = instants(FRAMES).reshape(-1)
    shown = steps([(instant, 1)], times).reshape(FRAMES, SAMPLES)
    sighting = bracket(instant)
    assert sighting.by == ceil(instant)
    assert not shown[: sighting.by].any()
    assert shown[sighting.by, -1] == 1
    assert shown[ceil(instant) + 1 :].all()


@given(some_instants, st.integers(1, 20))
def test_what_moves_is_still_at_rest_in_the_frame_before(instant: Fraction, length: int) -> None:
    track = Track(Point(10, 10))
    track.go(instant, instant + length, Point(90, 50), rise=30)
    places = positions(track, instants(FRAMES).reshape(-1)).reshape(FRAMES, SAMPLES, 2)
    assert (places[: ceil(instant)] == (10, 10)).all()
    after = places[ceil(instant + length) + 1 :]
    assert (after == (90, 50)).all()


def test_a_path_bends_upward_by_its_rise_in_the_middle() -> None:
    track = Track(Point(0, 100))
    track.go(Fraction(0), Fraction(10), Point(50, 100), rise=40)
    assert positions(track, np.array([5.0])).tolist() == [[25.0, 60.0]]
