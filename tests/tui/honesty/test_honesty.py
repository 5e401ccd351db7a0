"""What the footage holds is on the glass, and nothing else is.

With the lens at four times, two pixels of the footage count: a cup moved by so much is seen to
move, a thumb so far from a cup is seen not to touch it. Where a way of drawing cannot show that,
the program says so. Thresholds are common practice, no source; see ``judging``.
"""

import dataclasses
from collections.abc import Iterable

import numpy as np
import pytest

from tests.proofs import mostly_proofs
from tests.tui.honesty.judging import SIGNIFICANT, look
from tests.tui.honesty.moments import SHIFT, moment
from tests.tui.honesty.viewer import WEDGES
from tui.picture import delta
from tui.picture.choice import Choice, Wish, choose
from tui.picture.glyphs import FULL, SPACE, GlyphSet
from tui.picture.solver import GlyphPainter, PatternSums
from tui.picture.terminal import Terminal

proof = pytest.mark.proof

SMALL, LARGE = (50, 13), (125, 35)
"""Columns and rows that the frame gets on the bench in terminals of 80 by 24 and 160 by 45."""

ZOOM = 4
MOMENTS, SOME, FEW = range(60), range(24), range(10)

FOUND = 0.25
"""Of the cells in which a movement is strong, the part in which it must be seen."""

TERMINAL = Terminal(
    "xterm",
    answers=True,
    utf8=True,
    octants=True,
    cell=(8, 16),
    kitty=True,
)
"""It can do all that pictures need but REP, which pyte does not know."""


def way(wish: Wish, colours: int = 1 << 24) -> Choice:
    return choose(dataclasses.replace(TERMINAL, colours=colours), wish)


SIXELS = choose(dataclasses.replace(TERMINAL, colours=1 << 24, kitty=False, sixel=True), "pixels")


def falsehoods(
    choice: Choice, size: tuple[int, int], which: Iterable[int], zoom: int = ZOOM
) -> list[str]:
    """What the glass shows of some moments that is not so, or does not show that is."""
    told = []
    for number in which:
        true = moment(number)
        seen = look(true, choice, size, zoom)
        if true.gap and any(seen.contact):
            told.append(f"{number}: a contact that is none")
        if not true.gap and not all(seen.contact) and seen.promise <= SHIFT:
            told.append(f"{number}: a gap that is none")
        if true.shift != (0, 0) and seen.found < FOUND:
            told.append(f"{number}: a movement by {true.shift} seen in {seen.found:.0%} of it")
        if seen.invented >= SIGNIFICANT:
            told.append(f"{number}: a change by {seen.invented:.0f} levels of nothing")
    return told


@pytest.mark.parametrize(
    ("choice", "size", "which"),
    [
        pytest.param(way("blocks"), SMALL, FEW, id="a-few-blocks-80x24"),
        pytest.param(way("pixels"), SMALL, range(4), id="a-few-pixels-80x24"),
        pytest.param(way("blocks"), SMALL, MOMENTS, id="blocks-80x24", marks=proof),
        pytest.param(way("blocks"), LARGE, MOMENTS, id="blocks-160x45", marks=proof),
        pytest.param(way("blocks", 256), SMALL, MOMENTS, id="blocks-256-80x24", marks=proof),
        pytest.param(way("blocks", 256), LARGE, FEW, id="blocks-256-160x45", marks=proof),
        pytest.param(way("octants"), SMALL, MOMENTS, id="octants-80x24", marks=proof),
        pytest.param(way("octants"), LARGE, FEW, id="octants-160x45", marks=proof),
        pytest.param(way("octants", 256), SMALL, FEW, id="octants-256-80x24", marks=proof),
        pytest.param(way("halves"), LARGE, FEW, id="halves-160x45", marks=proof),
        pytest.param(way("pixels"), SMALL, MOMENTS, id="pixels-80x24", marks=proof),
        pytest.param(way("pixels"), LARGE, FEW, id="pixels-160x45", marks=proof),
        pytest.param(SIXELS, SMALL, SOME, id="sixels-80x24", marks=proof),
        pytest.param(SIXELS, LARGE, range(4), id="sixels-160x45", marks=proof),
    ],
)
def test_two_pixels_of_the_footage_are_on_the_glass_and_nothing_else(
    choice: Choice, size: tuple[int, int], which: range
) -> None:
    assert falsehoods(choice, size, which) == []
    assert choice.doubt == ""


@pytest.mark.parametrize(
    ("choice", "size"),
    [
        pytest.param(way("halves"), SMALL, id="halves-80x24", marks=proof),
        pytest.param(way("halves", 256), SMALL, id="halves-256-80x24", marks=proof),
        pytest.param(way("blocks", 16), SMALL, id="blocks-16-80x24"),
        pytest.param(way("blocks", 16), LARGE, id="blocks-16-160x45", marks=proof),
        pytest.param(way("octants", 16), SMALL, id="octants-16-80x24", marks=proof),
    ],
)
def test_a_way_that_cannot_show_two_pixels_is_said_not_to(
    choice: Choice, size: tuple[int, int]
) -> None:
    assert falsehoods(choice, size, SOME)
    assert choice.doubt or look(moment(1), choice, size, ZOOM).promise > SHIFT


@pytest.mark.parametrize("size", mostly_proofs([SMALL, LARGE], [SMALL]))
def test_without_the_lens_two_pixels_do_not_show_and_the_program_says_so(
    size: tuple[int, int],
) -> None:
    told = falsehoods(way("blocks"), size, FEW, zoom=1)
    assert any("contact" in each for each in told)
    assert look(moment(1), way("blocks"), size, 1).promise > SHIFT


@proof
def test_slanted_glyphs_would_show_contact_that_is_none() -> None:
    masks = np.stack([np.zeros((8, 8), bool), WEDGES["\u25e3"], WEDGES["\u25e2"]])
    direct = np.array([SPACE, 0x25E3, 0x25E2], np.uint32)
    inverse = np.array([FULL, 0x25E5, 0x25E4], np.uint32)
    glyphs = GlyphSet("wedges", masks, direct, inverse)
    painter = GlyphPainter("wedges", glyphs, lambda pixels: PatternSums(pixels, glyphs))
    choice = dataclasses.replace(way("blocks"), painter=painter)
    assert any("contact that is none" in each for each in falsehoods(choice, SMALL, SOME))


@proof
def test_without_steadiness_noise_would_show_as_movement(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(delta, "NOISE", 0.0)
    assert any("of nothing" in each for each in falsehoods(way("blocks"), SMALL, SOME))
