"""Moves keep to what hands and cups can do."""

from fractions import Fraction
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sessions.rules.moments import SIDES
from tests.proofs import examples
from tests.tui.demo.filming import score
from tui.demo.conductor import Instant, Move, Track
from tui.demo.layout import COLUMN_X, FRONT, Point, mirrored
from tui.demo.performance import perform
from tui.demo.score import RunScore, Score, scores

faults = st.sampled_from(
    ["none", "contact", "close contact", "wrist", "held cup", "two stacks", "two stacks, cured"]
)
cycles = st.sampled_from(["none", "early rise", "held single"])


@st.composite
def some_scores(draw: st.DrawFn) -> Score:
    event = draw(st.sampled_from(["3-6-3", "cycle"]))
    run = RunScore(
        fault=draw(faults if event == "3-6-3" else cycles),
        frames=draw(st.integers(2, 8)),
        slowness=str(draw(st.fractions(Fraction(1, 2), 2, max_denominator=8))),
        start_phase=str(draw(st.fractions(Fraction(-1, 3), Fraction(1, 3), max_denominator=9))),
    )
    return score(run, RunScore(), event=event, mirror=draw(st.booleans()))


def by_hand(moves: tuple[Move, ...]) -> list[list[Move]]:
    held = [move for move in moves if move.part != "hook"]
    return [sorted((m for m in held if m.hand == s), key=lambda m: m.touch) for s in SIDES]


@examples(few=8, many=50)
@given(some_scores())
def test_a_hand_does_one_thing_at_a_time(wanted: Score) -> None:
    for moves in by_hand(perform(wanted).moves):
        for before, after in pairwise(moves):
            assert before.release is not None
            assert before.release < after.touch


@examples(few=8, many=50)
@given(some_scores())
def test_a_move_touches_lifts_places_and_releases_in_this_order(wanted: Score) -> None:
    for move in perform(wanted).moves:
        told = [move.touch, move.lift, move.place, move.release]
        instants = [instant for instant in told if instant is not None]
        assert instants == sorted(set(instants))


@examples(few=8, many=50)
@given(some_scores())
def test_every_run_ends_in_closed_columns(wanted: Score) -> None:
    performance = perform(wanted)
    feet = {round(track.now.x) for track in performance.tracks.cups if track.now.y == FRONT}
    columns = [mirrored(Point(x, 0)).x if wanted.mirror else x for x in COLUMN_X.values()]
    assert feet == {round(x) for x in columns}


@pytest.mark.parametrize("name", list(scores()))
def test_cups_never_leave_a_column_at_two_places_at_once(name: str) -> None:
    for track in perform(scores()[name]).tracks.cups:
        for before, after in pairwise(track.legs):
            assert before.end <= after.begin
            assert before.target == after.source


def test_a_track_refuses_to_be_in_two_places() -> None:
    track = Track(Point(0, 0))
    track.go(Instant(0), Instant(5), Point(1, 1))
    with pytest.raises(ValueError, match="a leg begins at 4, before 5"):
        track.go(Instant(4), Instant(6), Point(2, 2))
