import unicodedata

import numpy as np
import pytest

from tests.tui.picture.rasters import mask_of_name
from tui.picture.glyphs import BLOCKS, HALVES, OCTANTS, GlyphSet


def test_block_glyphs_have_the_shape_that_their_unicode_names_say() -> None:
    codes = [code for code in BLOCKS.known if code not in (0x20, 0x2588)]
    for code in codes:
        assert (BLOCKS.known[code] == mask_of_name(unicodedata.name(chr(code)))).all()
    shades = {0x2591, 0x2592, 0x2593}
    assert set(codes) == set(range(0x2580, 0x25A0)) - shades - {0x2588}


@pytest.mark.parametrize(
    ("code", "octants"),
    # names list of The Unicode Standard 16.0, "BLOCK OCTANT-...", from memory
    [
        (0x1CD00, "3"), (0x1CD01, "23"), (0x1CD02, "123"), (0x1CD03, "4"), (0x1CD09, "5"),
        (0x1CDE5, "2345678"), (0x1CEA8, "1"), (0x1CEA3, "7"), (0x1CEA0, "8"), (0x2584, "5678"),
    ],
)  # fmt: skip
def test_octant_glyphs_paint_the_sub_cells_that_their_names_count(code: int, octants: str) -> None:
    painted = {str(1 + int(place)) for place in np.flatnonzero(OCTANTS.known[code])}
    assert painted == set(octants)


def test_every_octant_pattern_has_a_glyph_of_its_own() -> None:
    assert len(OCTANTS.known) == 256
    assert len({mask.tobytes() for mask in OCTANTS.known.values()}) == 256


@pytest.mark.parametrize("glyphs", [BLOCKS, HALVES, OCTANTS], ids=lambda glyphs: glyphs.name)
def test_no_split_is_there_twice_and_split_0_is_flat(glyphs: GlyphSet) -> None:
    masks = list(glyphs.masks) + [~mask for mask in glyphs.masks]
    assert len({mask.tobytes() for mask in masks}) == len(masks)
    assert not glyphs.masks[0].any()
    assert (glyphs.share[1:] > 0).all()
    assert (glyphs.share[1:] < 1).all()
