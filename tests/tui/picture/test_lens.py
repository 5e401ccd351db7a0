"""The lens: which part of a frame is looked at, how bright, and beside what."""

from collections.abc import Callable
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from sessions.rules.ladder import Kind
from tui.picture.lens import TONES, ZOOMS, Lens, Pair, Region


def is_plain(lens: Lens) -> bool:
    """Whether the frame is shown whole, alone and as it is."""
    return lens.is_whole and lens.pair is Pair.OFF and not lens.is_toned


@pytest.fixture
def lens() -> Lens:
    return Lens(1280, 720)


@given(
    width=st.integers(1, 4000),
    height=st.integers(1, 4000),
    x=st.fractions(-100, 5000),
    y=st.fractions(-100, 5000),
    zoom=st.sampled_from(ZOOMS),
)
def test_what_is_shown_lies_inside_the_frame_and_has_the_size_of_its_enlargement(
    width: int, height: int, x: Fraction, y: Fraction, zoom: int
) -> None:
    left, top, right, bottom = Region(x, y, zoom).box(width, height)
    assert 0 <= left < right <= width
    assert 0 <= top < bottom <= height
    assert (right - left, bottom - top) == (max(1, width // zoom), max(1, height // zoom))


def test_a_part_well_inside_is_centred(lens: Lens) -> None:
    lens.region = Region(Fraction(640), Fraction(360), 4)
    assert lens.box == (480, 270, 800, 450)


def test_at_first_the_whole_frame_is_shown_plain(lens: Lens) -> None:
    assert lens.box == (0, 0, 1280, 720)
    assert is_plain(lens)
    assert lens.words() == ""


def test_the_lens_is_taken_up_and_laid_down(lens: Lens) -> None:
    lens.toggle(Kind.GRIP)
    assert lens.region.zoom == 4
    assert not lens.is_whole
    lens.nudge(100, 50)
    place = lens.region
    lens.toggle(Kind.GRIP)
    assert lens.is_whole
    lens.toggle(Kind.GRIP)
    assert lens.region == place


def test_each_kind_of_step_keeps_its_own_place_for_the_lens(lens: Lens) -> None:
    lens.follow(Kind.GRIP)
    lens.toggle(Kind.GRIP)
    lens.nudge(-200, 0)
    grip = lens.region
    lens.follow(Kind.LET_GO)
    assert lens.region == grip
    lens.nudge(400, 100)
    let_go = lens.region
    lens.follow(Kind.GRIP)
    assert lens.region == grip
    lens.follow(Kind.LET_GO)
    assert lens.region == let_go


def test_a_lens_laid_down_is_not_taken_up_by_another_step(lens: Lens) -> None:
    lens.follow(Kind.GRIP)
    lens.follow(Kind.LET_GO)
    assert lens.is_whole


def test_a_kind_that_had_no_lens_yet_gets_the_last_one(lens: Lens) -> None:
    lens.toggle(Kind.GRIP)
    lens.nudge(10, 10)
    last = lens.region
    lens.toggle(Kind.GRIP)
    lens.toggle(Kind.FREE)
    assert lens.region == last


def test_enlarging_ends_at_the_smallest_and_the_largest(lens: Lens) -> None:
    zooms = []
    for _ in range(len(ZOOMS)):
        lens.zoom(1)
        zooms.append(lens.region.zoom)
    assert zooms == [*ZOOMS[1:], ZOOMS[-1]]
    lens.zoom(-99)
    assert lens.is_whole


def test_a_move_is_an_eighth_of_what_is_shown_and_a_nudge_is_in_pixels(lens: Lens) -> None:
    lens.zoom(3)
    lens.move(1, -1)
    assert tuple(map(int, (lens.region.x, lens.region.y))) == (640 + 40, 360 - 22)
    lens.nudge(-1, 2)
    assert tuple(map(int, (lens.region.x, lens.region.y))) == (679, 340)


@given(size=st.tuples(st.integers(40, 400), st.integers(40, 400)), zooms=st.integers(1, 7))
def test_a_nudge_moves_what_is_shown_by_one_pixel_at_every_enlargement(
    size: tuple[int, int], zooms: int
) -> None:
    lens = Lens(*size)
    lens.zoom(zooms)
    for step in ((1, 0), (1, 0), (0, 1), (-1, 0), (0, -1), (0, -1)):
        before = lens.box
        lens.nudge(*step)
        assert tuple(np.subtract(lens.box, before)) == step * 2


@given(
    size=st.tuples(st.integers(20, 400), st.integers(20, 400)),
    zooms=st.integers(0, 7),
    start=st.tuples(st.integers(-400, 400), st.integers(-400, 400)),
    way=st.tuples(st.integers(-400, 400), st.integers(-400, 400)),
)
def test_what_is_measured_is_the_way_of_the_cross_over_the_footage(
    size: tuple[int, int], zooms: int, start: tuple[int, int], way: tuple[int, int]
) -> None:
    lens = Lens(*size)

    def cross() -> tuple[int, int]:
        """The pixel of the footage that the cross is on."""
        left, top, right, bottom = lens.box
        across, down = lens.aim
        assert 0 < across < 1
        assert 0 < down < 1
        return left + int(across * (right - left)), top + int(down * (bottom - top))

    lens.zoom(zooms)
    lens.nudge(*start)
    lens.mark(3)
    marked = cross()
    lens.nudge(*way)
    reached = tuple(max(0, min(a + b, n - 1)) for a, b, n in zip(marked, way, size, strict=True))
    assert cross() == reached
    assert lens.moved() == tuple(np.subtract(reached, marked))


def test_a_lens_pushed_on_at_the_edge_of_the_frame_comes_back_at_once(lens: Lens) -> None:
    lens.zoom(3)
    for _ in range(20):
        lens.move(-1, -1)
    assert lens.box[:2] == (0, 0)
    lens.move(1, 1)
    assert lens.box[:2] == (40, 22)


@given(steps=st.lists(st.tuples(st.integers(-2000, 2000), st.integers(-2000, 2000)), max_size=8))
def test_the_middle_of_the_lens_never_leaves_the_frame(steps: list[tuple[int, int]]) -> None:
    lens = Lens(64, 48)
    for across, down in steps:
        lens.nudge(across, down)
        assert 0 <= lens.region.x <= 64
        assert 0 <= lens.region.y <= 48


def test_brightness_and_contrast_end_at_their_limits(lens: Lens) -> None:
    lens.brighten(99)
    lens.harden(-99)
    assert (lens.brightness, lens.contrast) == (TONES[-1], TONES[0])
    assert lens.is_toned
    assert lens.words() == "light +6 contrast -6"
    lens.brighten(-6)
    lens.harden(6)
    assert is_plain(lens)


def test_local_contrast_is_a_tone_too(lens: Lens) -> None:
    lens.toggle_local()
    assert lens.is_toned
    assert lens.words() == "light +0 contrast +0 local"
    lens.toggle_local()
    assert is_plain(lens)


def test_a_pair_is_shown_until_it_is_asked_for_again(lens: Lens) -> None:
    lens.show_pair(Pair.SIDE)
    assert lens.words() == "side by side"
    lens.show_pair(Pair.DIFFERENCE)
    assert lens.pair is Pair.DIFFERENCE
    lens.show_pair(Pair.DIFFERENCE)
    assert is_plain(lens)


def test_the_way_from_a_marked_point_is_told_in_pixels(lens: Lens) -> None:
    assert lens.moved() is None
    lens.zoom(3)
    lens.mark(12)
    lens.nudge(5, -3)
    assert lens.moved() == (Fraction(5), Fraction(-3))
    assert lens.words() == "lens 4x at 485,267, +5,-3 px from the mark in 12"


def test_the_same_mark_again_is_forgotten_and_another_replaces_it(lens: Lens) -> None:
    lens.mark(12)
    lens.mark(12)
    assert lens.marker is None
    lens.mark(12)
    lens.mark(13)
    assert lens.marker is not None
    assert lens.marker.frame == 13


def test_the_plain_picture_comes_back_and_the_place_of_the_lens_is_kept(lens: Lens) -> None:
    lens.toggle(Kind.GRIP)
    lens.nudge(100, 50)
    place = lens.region
    lens.brighten(2)
    lens.harden(1)
    lens.toggle_local()
    lens.show_pair(Pair.DIFFERENCE)
    lens.mark(7)
    lens.plain()
    assert is_plain(lens)
    assert lens.words() == ""
    assert lens.state == Lens(1280, 720).state
    lens.plain()
    assert is_plain(lens)
    lens.toggle(Kind.GRIP)
    assert lens.region == place


CHANGES = st.sampled_from(
    [
        lambda lens: lens.zoom(1),
        lambda lens: lens.nudge(3, 2),
        lambda lens: lens.brighten(1),
        lambda lens: lens.harden(-1),
        Lens.toggle_local,
        lambda lens: lens.show_pair(Pair.SIDE),
        lambda lens: lens.show_pair(Pair.DIFFERENCE),
        lambda lens: lens.mark(3),
        lambda lens: lens.toggle(Kind.GRIP),
        lambda lens: lens.follow(Kind.LET_GO),
        Lens.plain,
    ]
)


@given(st.lists(CHANGES, max_size=8))
def test_what_is_seen_is_told_whenever_it_is_not_the_plain_frame(
    changes: list[Callable[[Lens], None]],
) -> None:
    lens = Lens(320, 180)
    for change in changes:
        change(lens)
        as_it_is = is_plain(lens) and lens.marker is None
        assert (lens.words() == "") == as_it_is
        assert 1 <= lens.region.zoom <= ZOOMS[-1]
