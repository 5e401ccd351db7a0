"""Which frames the reader sees: asked of one object, which tells those who keep count."""

from dataclasses import dataclass, field

import numpy as np
import pytest

from tui.picture.cells import Pixels
from tui.widgets.picturepane import Showing


@dataclass
class Still:
    frame: int
    pixels: Pixels = field(default_factory=lambda: np.zeros((1, 1, 3), np.uint8))
    source_size: tuple[int, int] = (1, 1)
    flaw: str | None = None


@pytest.fixture
def counted() -> list[int]:
    return []


@pytest.fixture
def showing(counted: list[int]) -> Showing:
    return Showing(counted.append)


def test_nothing_is_shown_before_anything_was_drawn(showing: Showing, counted: list[int]) -> None:
    assert not showing.shows(0)
    assert not showing.shows()
    assert showing.picture is None
    showing.seen(0)
    assert counted == []


def test_a_frame_that_is_drawn_whole_is_shown_and_counts_once_it_is_seen(
    showing: Showing, counted: list[int]
) -> None:
    showing.drew("seven", [Still(7)], is_exact=True)
    assert showing.shows(7)
    assert not showing.shows(8)
    assert counted == []  # drawn behind a dialog, nobody has seen it
    showing.seen(8)
    assert counted == []
    showing.seen(7)
    assert counted == [7]


def test_a_picture_that_is_not_exact_yet_shows_no_frame(showing: Showing) -> None:
    showing.drew("seven", [Still(7)], is_exact=True)
    showing.drew("eight, small", [Still(8)], is_exact=False)
    assert not showing.shows(7)
    assert not showing.shows(8)
    assert showing.is_drawn("eight, small")


def test_of_a_pair_the_right_one_is_looked_at_and_both_can_be_asked_for(
    showing: Showing, counted: list[int]
) -> None:
    showing.drew("a pair", [Still(6), Still(7)], is_exact=True)
    assert showing.shows(7)
    assert showing.shows(6, 7)
    assert not showing.shows(7, 6)
    assert not showing.shows(6)
    assert showing.picture is not None
    assert showing.picture.frame == 7
    showing.seen(6, 7)
    assert counted == [6, 7]


def test_what_was_drawn_is_drawn_again_once_it_is_forgotten_and_stays_shown(
    showing: Showing,
) -> None:
    showing.drew("seven", [Still(7)], is_exact=True)
    assert showing.is_drawn("seven")
    showing.forget()
    assert not showing.is_drawn("seven")
    assert showing.shows(7)


def test_without_room_nothing_is_shown_and_all_is_drawn_anew_later(showing: Showing) -> None:
    showing.drew("seven", [Still(7)], is_exact=True)
    showing.hide()
    assert not showing.shows(7)
    assert not showing.is_drawn("seven")
