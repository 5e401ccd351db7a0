"""Regions that are drawn again: they cover what changed, and nothing twice."""

from itertools import combinations

from hypothesis import given
from hypothesis import strategies as st

from tui.demo.layout import Box, joined, overlap, within

SIZE = (64, 48)
corners = st.integers(-20, 80)


@st.composite
def boxes(draw: st.DrawFn) -> Box:
    left, top = draw(corners), draw(corners)
    return left, top, left + draw(st.integers(1, 30)), top + draw(st.integers(1, 30))


@given(st.lists(boxes(), max_size=8))
def test_joined_boxes_cover_every_box_and_do_not_overlap(changed: list[Box]) -> None:
    regions = joined(changed, SIZE)
    assert not any(overlap(a, b) for a, b in combinations(regions, 2))
    for box in changed:
        inside = within(box, SIZE)
        if inside is not None:
            assert any(
                r[0] <= inside[0] and r[1] <= inside[1] and r[2] >= inside[2] and r[3] >= inside[3]
                for r in regions
            )


@given(boxes())
def test_a_box_within_the_picture_has_even_edges(box: Box) -> None:
    inside = within(box, SIZE)
    if inside is not None:
        assert all(edge % 2 == 0 for edge in inside)
        assert inside[2] <= SIZE[0]
        assert inside[3] <= SIZE[1]
