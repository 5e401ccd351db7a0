"""Sightings as sets of instants."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sessions.evidence.sighting import UNSEEN, Sighting, first_of, last_of, precedes
from sessions.evidence.verdict import Verdict

GRID = range(-20, 41)
"""Instants in half frames, well beyond all sightings drawn here."""


@st.composite
def sightings(draw: st.DrawFn) -> Sighting:
    after = draw(st.none() | st.integers(0, 9))
    least = 1 if after is None else after + 1
    return Sighting(after, draw(st.none() | st.integers(least, 12)))


def instants(sighting: Sighting | None) -> set[int]:
    if sighting is None:
        return set()
    after, by = sighting.after, sighting.by
    return {t for t in GRID if (after is None or t > 2 * after) and (by is None or t <= 2 * by)}


def meet(one: Sighting | None, other: Sighting | None) -> Sighting | None:
    """Meeting, where what has been contradicted stays so."""
    return None if one is None or other is None else one.meet(other)


@given(sightings(), sightings())
def test_meeting_is_what_both_allow(one: Sighting, other: Sighting) -> None:
    assert instants(one.meet(other)) == instants(one) & instants(other)


@given(sightings(), sightings(), sightings())
def test_meeting_is_commutative_associative_and_idempotent(
    a: Sighting, b: Sighting, c: Sighting
) -> None:
    assert a.meet(b) == b.meet(a)
    assert meet(a.meet(b), c) == meet(a, b.meet(c))
    assert a.meet(a) == a
    assert a.meet(UNSEEN) == a


@given(sightings(), sightings(), sightings())
def test_meeting_is_monotone(wide: Sighting, narrowing: Sighting, other: Sighting) -> None:
    narrow = wide.meet(narrowing)
    assert instants(meet(narrow, other)) <= instants(wide.meet(other))


@given(sightings(), sightings())
def test_precedes_holds_for_all_instants_or_for_none(met: Sighting, due: Sighting) -> None:
    broken = {d < m for m in instants(met) for d in instants(due)}
    verdicts = {
        Verdict.PROVEN: {False},
        Verdict.REFUTED: {True},
        Verdict.UNPROVEN: {True, False},
    }
    assert verdicts[precedes(met, due)] == broken


@given(sightings(), sightings())
def test_first_and_last_are_those_of_all_pairs(one: Sighting, other: Sighting) -> None:
    pairs = [(a, b) for a in instants(one) for b in instants(other)]
    assert instants(first_of([one, other])) == {min(pair) for pair in pairs}
    assert instants(last_of([one, other])) == {max(pair) for pair in pairs}


@given(sightings(), st.integers(-5, 5))
def test_shifting_moves_both_ends(sighting: Sighting, frames: int) -> None:
    moved = sighting.shifted(frames)
    assert moved.shifted(-frames) == sighting
    expected = {t + 2 * frames for t in instants(sighting)}
    inner = set(range(-8, 30))
    assert instants(moved) & inner == expected & inner


@pytest.mark.parametrize(("after", "by"), [(4, 4), (5, 4)])
def test_a_sighting_must_end_after_it_begins(after: int, by: int) -> None:
    with pytest.raises(ValueError, match=f"ends \\({by}\\) after it begins \\({after}\\)"):
        Sighting(after, by)


def test_a_sighting_knows_which_ends_were_looked_for() -> None:
    assert Sighting(1, 2).is_bounded
    assert not Sighting(None, 2).is_bounded
    assert not Sighting(1, None).is_bounded
    assert UNSEEN.is_unseen
    assert not Sighting(None, 2).is_unseen
    assert not Sighting(1, None).is_unseen


@given(sightings(), sightings())
def test_sightings_that_meet_are_never_apart(one: Sighting, other: Sighting) -> None:
    assert one.is_apart(other) == other.is_apart(one)
    if one.meet(other) is not None:
        assert not one.is_apart(other)


@pytest.mark.parametrize(
    ("one", "other", "apart"),
    [
        ((6, 7), (7, 8), False),
        ((6, 7), (8, 9), False),
        ((6, 7), (9, 10), True),
        ((4, 7), (10, 13), False),
        ((4, 7), (11, 14), True),
        ((0, 100), (102, 103), True),
        ((None, 7), (8, None), False),
        ((None, 7), (9, None), True),
    ],
)
def test_sightings_are_apart_where_more_lies_between_than_the_narrower_is_wide(
    one: tuple[int | None, int], other: tuple[int, int | None], apart: bool
) -> None:
    assert Sighting(*one).is_apart(Sighting(*other)) is apart
    assert Sighting(*other).is_apart(Sighting(*one)) is apart
