"""States, order of work, register and season of random dockets against plain rules."""

from collections.abc import Sequence
from fractions import Fraction

from hypothesis import given

from sessions.docket.claim_state import ClaimState, State, state_of
from sessions.docket.register import register, season
from sessions.docket.work_order import arrange, compared, next_claim
from sessions.exact import micros
from tests.proofs import examples
from tests.sessions.docket.docket_reference import (
    Truth,
    contradicted,
    faster_unclaimed,
    faults,
    is_out,
    next_up,
    told,
    truth_of,
    turns,
)
from tests.sessions.docket.random_dockets import Drawn, dockets, names_of


def states(drawn: Drawn) -> list[ClaimState]:
    return [state_of(claim, drawn.of(claim)) for claim in drawn.claims]


def truths(drawn: Drawn) -> Sequence[Truth]:
    return [truth_of(claim, drawn.of(claim)) for claim in drawn.claims]


@examples(few=20, many=200)
@given(dockets(rivals=True))
def test_every_claim_is_in_the_state_that_its_reviews_make(drawn: Drawn) -> None:
    for state, truth in zip(states(drawn), truths(drawn), strict=True):
        assert (state.state, state.verdict) == (truth.state, truth.verdict)
        assert state.deciding == truth.carrying
        time = None if state.ruled_time is None else micros(state.ruled_time)
        assert time == (None if truth.beaten_by is None else truth.beaten_by * 1_000_000)


@examples(few=20, many=200)
@given(dockets(rivals=True))
def test_the_work_is_in_the_order_that_the_times_to_beat_make(drawn: Drawn) -> None:
    true = truths(drawn)
    placed = arrange(states(drawn))
    assert {p.state.claim.claim: p.place for p in placed if p.place is not None} == turns(true)
    assert {p.state.claim.claim for p in placed if p.set_aside} == {
        truth.claim.claim for truth in true if is_out(truth, true)
    }
    for p, truth in ((p, t) for p in placed for t in true if t.claim == p.state.claim):
        told = {Fraction(time) for time in p.unclaimed}
        assert told == faster_unclaimed(truth, true)
    first_keeps = arrange(states(drawn), both_hold=False)
    assert {p.state.claim.claim for p in first_keeps if p.set_aside} == {
        truth.claim.claim for truth in true if is_out(truth, true, both_hold=False)
    }
    order = [(p.state.claim.event, p.state.claim.division, p.state.claim.time_micros,
              p.state.claim.claim) for p in placed]  # fmt: skip
    assert order == sorted(order)
    for name in names_of(drawn):
        up = next_claim(placed, name)
        may_be = next_up(true, drawn.reviews, name)
        assert up.state.claim.claim in may_be if up else not may_be


@examples(few=20, many=200)
@given(dockets(rivals=True))
def test_register_and_season_tell_what_is_ruled_and_nothing_else(drawn: Drawn) -> None:
    true, found = truths(drawn), compared(states(drawn))
    rows = {row.claim: row for row in register(found).rulings}
    assert set(rows) == {truth.claim.claim for truth in true if truth.verdict is not None}
    for state, truth in zip(found, true, strict=True):
        assert set(state.at_odds) == contradicted(truth, true)
        if truth.verdict is not None:
            row = rows[truth.claim.claim]
            settled = truth.state is State.SETTLED
            assert row.standing == str(truth.verdict)
            assert row.settled_by == (truth.carrying[0].reviewer if settled else "")
            behind = set(truth.carrying[0].settles) if settled else set()
            behind |= {review.sha256 for review in truth.carrying}
            assert set(row.session_sha256) == behind
            assert (set(row.rules_broken), set(row.doubts)) == told(truth)
    assert dict(season(found).counts) == faults(true)
