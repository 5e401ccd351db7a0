import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tui.picture.cells import Pixels
from tui.picture.palette import INDEXED_16, INDEXED_256, NO_COLOUR, TRUECOLOUR, Indexed, oklab
from tui.picture.solver import LETTER_PAINTER, SHADE_PAINTER, DensityPainter

colours = st.lists(st.tuples(*[st.integers(0, 255)] * 3), min_size=1, max_size=20)


def grid(*rows: tuple[int, int, int]) -> Pixels:
    return np.array(rows, np.uint8)


@pytest.mark.parametrize(
    ("colour", "lab"),
    # CSS Color Module Level 4, sample conversions to Oklab, from memory
    [
        ((255, 255, 255), (1, 0, 0)),
        ((0, 0, 0), (0, 0, 0)),
        ((255, 0, 0), (0.62796, 0.22486, 0.12585)),
        ((0, 255, 0), (0.86644, -0.23389, 0.17950)),
        ((0, 0, 255), (0.45201, -0.03246, -0.31153)),
    ],
)
def test_oklab_gives_the_published_values(
    colour: tuple[int, int, int], lab: tuple[float, float, float]
) -> None:
    np.testing.assert_allclose(oklab(grid(colour))[0], lab, atol=2e-4)


@given(colours, st.sampled_from([INDEXED_256, INDEXED_16]))
def test_a_listed_colour_is_shown_about_as_near_as_any(
    asked: list[tuple[int, int, int]], palette: Indexed
) -> None:
    every = np.concatenate([palette.shown(grid(*asked)), palette._colours])
    shown, listed = oklab(every[: len(asked)]), oklab(palette._colours)
    wanted = oklab(grid(*asked))
    least = np.linalg.norm(wanted[:, None] - listed, axis=-1).min(axis=1)
    # the table holds one answer for 8 levels of each channel: a few hundredths of the space
    assert (np.linalg.norm(wanted - shown, axis=-1) <= least + 0.09).all()


@pytest.mark.parametrize(
    ("palette", "colour", "foreground", "background"),
    [
        (TRUECOLOUR, (1, 20, 255), "38;2;1;20;255", "48;2;1;20;255"),
        (INDEXED_256, (0, 0, 0), "38;5;16", "48;5;16"),
        (INDEXED_256, (255, 255, 255), "38;5;231", "48;5;231"),
        (INDEXED_256, (255, 0, 0), "38;5;196", "48;5;196"),
        (INDEXED_256, (238, 238, 238), "38;5;255", "48;5;255"),
        (INDEXED_16, (205, 0, 0), "31", "41"),
        (INDEXED_16, (92, 92, 255), "94", "104"),
    ],
)
def test_colours_are_told_to_the_terminal_by_their_parameters(
    palette: Indexed, colour: tuple[int, int, int], foreground: str, background: str
) -> None:
    shown = palette.shown(grid(colour))
    assert (shown == colour).all()
    assert palette.foreground(shown).tolist() == [foreground]
    assert palette.background(shown).tolist() == [background]


def test_without_colour_nothing_is_told() -> None:
    assert NO_COLOUR.foreground(NO_COLOUR.shown(grid((1, 2, 3)))).tolist() == [""]
    assert NO_COLOUR.background(grid((1, 2, 3))).tolist() == [""]


@pytest.mark.parametrize("painter", [SHADE_PAINTER, LETTER_PAINTER], ids=lambda p: p.name)
def test_lighter_cells_get_denser_glyphs(painter: DensityPainter) -> None:
    light = np.arange(0, 256, 5, dtype=np.uint8)
    pixels = np.repeat(light[None, :, None], 3, axis=2)
    cells = painter.paint(pixels)
    ramp = painter.glyphs.direct.tolist()
    places = [ramp.index(glyph) for glyph in cells.glyphs[0]]
    assert places == sorted(places)
    assert places[0] == 0
    assert places[-1] == len(ramp) - 1
    assert set(places) == set(range(len(ramp)))


def test_the_best_density_costs_least() -> None:
    pixels = np.random.default_rng(3).integers(0, 256, (4, 5, 3), np.uint8)
    solution = SHADE_PAINTER.solve(pixels)
    assert solution.size == (5, 4)
    least = solution.cost(solution.best)
    for level in range(len(SHADE_PAINTER.glyphs.direct)):
        other = type(solution.best)(np.full((4, 5), level), solution.best.one, solution.best.zero)
        assert (least <= solution.cost(other) + 1e-3).all()
