"""The order of work: fastest first, until nothing is left that beats the record."""

from collections.abc import Sequence
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sessions.docket.claim_state import ClaimState, state_of
from sessions.docket.claims import ListedClaim
from sessions.docket.work_order import Placed, arrange, next_claim
from sessions.ruling.ruling import Standing
from tests.sessions.docket.docket_samples import claim, review, ruled, run, scratched


def untouched(claim_id: str, time: str, record: str = "7.000", division: str = "U10") -> ClaimState:
    return state_of(claim(claim_id, time, record, division=division), [])


def ids(placed: Sequence[Placed]) -> list[str]:
    return [p.state.claim.claim for p in placed]


def turns(placed: Sequence[Placed]) -> dict[str, int | None]:
    return {p.state.claim.claim: p.place for p in placed}


def next_id(states: Sequence[ClaimState], reviewer: str | None = None) -> str | None:
    found = next_claim(arrange(states), reviewer)
    return None if found is None else found.state.claim.claim


def test_claims_are_listed_by_event_division_time_and_id() -> None:
    states = [
        state_of(claim("a", "6.0", event="cycle"), []),
        state_of(claim("b", "2.0", division="U8"), []),
        state_of(claim("d", "10.0"), []),
        state_of(claim("e", "9.5"), []),
        state_of(claim("c", "9.5"), []),
    ]
    assert ids(arrange(states)) == ["c", "e", "d", "b", "a"]


def test_the_fastest_claim_that_beats_the_record_is_on_top() -> None:
    placed = arrange([untouched("slow", "6.5"), untouched("fast", "6.1"), untouched("no", "7.0")])
    assert turns(placed) == {"fast": 0, "slow": 1, "no": 2}, "an equal time holds it too"
    assert next_id([p.state for p in placed]) == "fast"
    placed = arrange([p.state for p in placed], both_hold=False)
    assert turns(placed) == {"fast": 0, "slow": 1, "no": None}
    assert placed[2].set_aside == "does not beat the standing record of 7.000 s"


def test_any_time_beats_a_record_that_does_not_stand() -> None:
    assert next_id([untouched("first", "99.0", record="")]) == "first"


def test_when_a_claim_stands_the_slower_ones_are_set_aside_and_stay_listed() -> None:
    stands = ruled(claim("fast", "6.1"), run("6.1"))
    same = state_of(replace(claim("same", "6.100"), competitor=stands.claim.competitor), [])
    placed = arrange([untouched("slow", "6.5"), stands, same])
    assert turns(placed) == {"fast": None, "slow": None, "same": None}
    overtaken = "does not beat 6.1 s, which stands by claim fast"
    assert {p.state.claim.claim: p.set_aside for p in placed} == {
        "fast": "", "slow": overtaken, "same": "is ruled by claim fast, attempt 1 (stands)",
    }  # fmt: skip
    assert next_claim(placed) is None


def of(claim_id: str, time: str, competitor: str, footage: str = "a.mp4") -> ListedClaim:
    return replace(claim(claim_id, time), competitor=competitor, footage=footage)


BEATEN = "does not beat 7.486 s, which stands by claim C-12"
FALLEN = (scratched("6.1"), run("7.486", number=2), run("7.9", Standing.SCRATCH, ["x"], number=3))


@pytest.mark.parametrize(
    ("listed", "aside"),
    [
        (of("again", "7.486", "S-1"), "is ruled by claim C-12, attempt 2 (stands)"),
        (of("other tape", "7.4860", "S-1", "b.mp4"), "is ruled by claim C-12, attempt 2 (stands)"),
        (of("fell there", "7.9", "S-1"), "is ruled by claim C-12, attempt 3 (scratch)"),
        (of("other view", "7.9", "S-1", "b.mp4"), BEATEN),
        (of("rival", "7.486", "S-2"), ""),
        (of("slower rival", "7.487", "S-2"), BEATEN),
    ],
)
def test_a_run_is_the_same_wherever_its_competitor_claims_it(
    listed: ListedClaim, aside: str
) -> None:
    first = ruled(replace(of("C-12", "6.1", "S-1"), record=""), *FALLEN)
    placed = arrange([first, state_of(replace(listed, record=""), [])])
    (found,) = [p for p in placed if p.state.claim.claim == listed.claim]
    assert found.set_aside == aside
    assert found.overtaken_by == ("C-12" if aside else "")


def test_who_equals_a_time_that_stands_shares_it_only_where_the_league_says_so() -> None:
    first = ruled(of("C-1", "6.1", "S-1"), run("6.1"))
    rival = state_of(of("C-2", "6.1", "S-2", "b.mp4"), [])
    assert turns(arrange([first, rival]))["C-2"] == 0
    (_, second) = arrange([first, rival], both_hold=False)
    assert second.set_aside == "does not beat 6.1 s, which stands by claim C-1"


def test_a_faster_run_that_stands_and_that_nobody_claimed_is_told() -> None:
    slow = ruled(of("C-1", "6.5", "S-1"), run("6.5"), run("6.2", number=2), run("6.4", number=3))
    claimed = state_of(of("C-2", "6.4", "S-1"), [])
    assert [p.unclaimed for p in arrange([slow, claimed]) if p.state is slow] == [("6.2",)]


def test_when_a_claim_falls_the_next_one_is_on_top() -> None:
    fallen = ruled(claim("fast", "6.1"), scratched("6.1"))
    assert next_id([fallen, untouched("slow", "6.5")]) == "slow"


def test_a_fallen_claims_next_standing_run_takes_its_place() -> None:
    fallen = ruled(claim("fast", "6.1"), scratched("6.1"), run("6.4", number=2))
    placed = arrange([fallen, untouched("slow", "6.5")])
    assert placed[1].set_aside == "does not beat 6.4 s, which stands by claim fast"
    assert next_claim(placed) is None


def test_a_claim_faster_than_that_run_comes_before_it() -> None:
    fallen = ruled(claim("fast", "6.1"), scratched("6.1"), run("6.4", number=2))
    assert next_id([fallen, untouched("between", "6.3"), untouched("slow", "6.5")]) == "between"


def test_a_run_that_does_not_beat_the_record_takes_no_place() -> None:
    fallen = ruled(claim("fast", "6.1", "6.3"), scratched("6.1"), run("6.4", number=2))
    placed = arrange([fallen, untouched("slow", "6.2", "6.3"), untouched("late", "6.5", "6.6")])
    assert turns(placed)["slow"] == 0
    assert turns(placed)["late"] is None


def test_a_voided_footage_has_no_run_to_take_the_place() -> None:
    void = run("6.1", Standing.VOID, ["cup.mark"])
    fallen = ruled(claim("fast", "6.1"), void, run("6.4", Standing.VOID, ["cup.mark"], number=2))
    assert next_id([fallen, untouched("slow", "6.5")]) == "slow"


def test_a_ruling_in_one_division_or_event_leaves_the_others_alone() -> None:
    stands = ruled(claim("fast", "6.1"), run("6.1"))
    assert next_id([stands, untouched("other", "6.5", division="U8")]) == "other"


def test_a_claim_that_awaits_its_second_review_holds_the_slower_ones_back() -> None:
    awaiting = state_of(claim("fast", "6.1"), [review(run("6.1"), claim_id="fast")])
    states = [awaiting, untouched("slow", "6.5"), untouched("other", "6.5", division="U8")]
    assert turns(arrange(states)) == {"fast": 0, "slow": 1, "other": 0}
    assert next_id(states, "two") == "fast"


def test_who_has_finished_goes_on_with_the_other_divisions_first() -> None:
    awaiting = state_of(claim("fast", "6.1"), [review(run("6.1"), claim_id="fast")])
    states = [awaiting, untouched("slow", "6.5"), untouched("other", "6.5", division="U8")]
    assert next_id(states, "one") == "other"
    assert next_id(states[:2], "one") == "slow"
    assert next_id(states[:1], "one") is None


def test_a_difference_is_due_for_those_who_made_it() -> None:
    reviews = [review(run("6.1"), claim_id="fast")]
    reviews.append(review(scratched("6.1"), claim_id="fast", reviewer="two"))
    assert next_id([state_of(claim("fast", "6.1"), reviews)], "one") == "fast"


def test_an_empty_docket_has_no_next_claim() -> None:
    assert next_claim(arrange([])) is None


@st.composite
def dockets(draw: st.DrawFn) -> list[ClaimState]:
    """Claims in one event and two divisions, on a small grid of times, some of them ruled."""
    states = []
    for number in range(draw(st.integers(0, 7))):
        tenths = draw(st.integers(1, 9))
        listed = claim(
            f"C-{number}",
            f"6.{tenths}",
            draw(st.sampled_from(["", "6.5", "7.0"])),
            division=draw(st.sampled_from(["U8", "U10"])),
        )
        fate = draw(st.sampled_from(["untouched", "stands", "falls", "next"]))
        best = run(f"6.{draw(st.integers(1, 9))}", number=2)
        runs = {"stands": [run(listed.time)], "falls": [scratched(listed.time)]}
        runs["next"] = [scratched(listed.time), best]
        states.append(state_of(listed, []) if fate == "untouched" else ruled(listed, *runs[fate]))
    return states


@given(dockets())
def test_the_order_of_work_equals_a_plain_reading_of_the_rule(states: list[ClaimState]) -> None:
    placed = arrange(states)
    assert sorted(ids(placed)) == sorted(s.claim.claim for s in states)
    for division in ("U8", "U10"):
        group = [p for p in placed if p.state.claim.division == division]
        standing = [float(p.state.ruled_time) for p in group if p.state.ruled_time]
        due = [
            p.state.claim.claim
            for p in group
            if not p.state.is_ruled
            and float(p.state.claim.time) <= float(p.state.claim.record or 99)
            and all(float(p.state.claim.time) <= time for time in standing)
        ]
        assert [p.state.claim.claim for p in group if p.place is not None] == due
        assert [p.place for p in group if p.place is not None] == list(range(len(due)))
        assert all(bool(p.set_aside) is (p.place is None and not p.state.is_ruled) for p in group)


@pytest.mark.parametrize("reviewer", [None, "one"])
@given(states=dockets())
def test_the_next_claim_is_on_top_of_its_division(
    states: list[ClaimState], reviewer: str | None
) -> None:
    placed = arrange(states)
    found = next_claim(placed, reviewer)
    tops = [p for p in placed if p.place == 0]
    assert found == (tops[0] if tops else None)


@pytest.mark.parametrize(
    ("time", "record", "both_hold", "beats"),
    [
        ("6.1", "7.000", True, "7.000"),
        ("7.0", "7.000", True, "7.000"),
        ("7.0", "7.000", False, ""),
        ("7.1", "7.000", True, ""),
        ("6.1", "", True, ""),
    ],
)
def test_a_ruled_claim_says_which_record_its_time_beats(
    time: str, record: str, both_hold: bool, beats: str
) -> None:
    (placed,) = arrange([ruled(claim("C-1", time, record), run(time))], both_hold=both_hold)
    assert placed.beats == beats


def test_of_two_that_beat_the_record_the_fastest_does() -> None:
    placed = arrange(
        [ruled(claim("C-1", "6.1"), run("6.1")), ruled(claim("C-2", "6.2"), run("6.2"))]
    )
    assert [one.beats for one in placed] == ["7.000", ""]
