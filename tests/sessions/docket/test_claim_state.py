"""The state of a claim, from its reviews alone."""

from collections.abc import Sequence
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sessions.docket.claim_state import VERDICTS, ClaimState, State, state_of, verdict_of
from sessions.docket.review_summary import ReviewedRun, ReviewSummary
from sessions.ruling.ruling import Standing
from tests.sessions.docket.docket_samples import claim, review, run, scratched

STANDS = run("6.000")
DOUBTED = run("6.000", doubtful=["build.let-go"])
SCRATCHED = scratched("6.000")
VOIDED = run("6.000", Standing.VOID, ["cup.mark"])
OPEN = run("6.000", Standing.OPEN)
ELSEWHERE = run("6.100")
UNPROVEN = run("6.000", Standing.NOT_PROVEN)
UNREAD = run(None, Standing.NOT_PROVEN)


@pytest.mark.parametrize(
    ("runs", "verdict"),
    [
        ([STANDS], State.STANDS),
        ([run("6.0")], State.STANDS),
        ([DOUBTED], State.IN_DOUBT),
        ([DOUBTED, STANDS], State.STANDS),
        ([SCRATCHED], State.SCRATCH),
        ([SCRATCHED, STANDS], State.STANDS),
        ([SCRATCHED, ELSEWHERE], State.SCRATCH),
        ([VOIDED], State.VOID),
        ([UNPROVEN], State.NOT_PROVEN),
        ([SCRATCHED, UNPROVEN], State.NOT_PROVEN),
        ([UNPROVEN, STANDS], State.STANDS),
        ([UNREAD], State.NOT_PROVEN),
        ([replace(UNREAD, possible=("5.999", "6.001"))], State.NOT_PROVEN),
        ([replace(UNREAD, possible=("6.000", "6.001"))], State.NO_ATTEMPT),
        ([UNREAD, SCRATCHED], State.SCRATCH),
        ([replace(UNREAD, standing=Standing.STANDS, doubtful=("clock.picture",))], State.IN_DOUBT),
        ([ELSEWHERE], State.NO_ATTEMPT),
        ([run(None, Standing.SCRATCH)], State.NO_ATTEMPT),
        ([], State.NO_ATTEMPT),
        ([OPEN], None),
        ([OPEN, STANDS], None),
    ],
)
def test_a_finished_review_rules_of_the_claimed_time(
    runs: Sequence[ReviewedRun], verdict: State | None
) -> None:
    assert verdict_of(claim(), review(*runs)) is verdict


def test_no_such_attempt_is_ruled_only_of_footage_that_was_shown_whole() -> None:
    left = "681 of 864 frames were never shown (frames 183-863)"
    partly = replace(review(ELSEWHERE), unwatched=left)
    assert verdict_of(claim(), partly) is None
    found = state_of(claim(), [partly, replace(partly, reviewer="two")])
    assert (found.state, found.verdict) == (State.OPEN, None)
    assert [
        words.startswith(f"{name} found no run by which the claimed time stands, but {left}")
        for name, words in zip(("one", "two"), found.unwatched, strict=True)
    ] == [True, True]
    assert not found.finished_by("one")
    assert verdict_of(claim(), replace(review(STANDS), unwatched=left)) is State.STANDS
    assert not state_of(claim(), [replace(review(STANDS), unwatched=left)]).unwatched


@pytest.mark.parametrize("broken", [{"finished": False}, {"made": False}])
def test_a_review_that_is_not_through_rules_nothing(broken: dict[str, bool]) -> None:
    unfinished = review(STANDS, finished=broken.get("finished", True))
    unfinished = replace(unfinished, made=broken.get("made", True))
    assert verdict_of(claim(), unfinished) is None
    assert state_of(claim(), [unfinished]).state is State.OPEN


ONE, TWO = review(STANDS), review(STANDS, reviewer="two")
FALLEN = review(SCRATCHED, reviewer="two")
THIRD = review(STANDS, reviewer="three")
SETTLED = (ONE.sha256, FALLEN.sha256)


def seen(start: int, stop: int | None = None) -> ReviewedRun:
    """A run that stands, its clock seen so many frames later than at frames 10 and 130."""
    until = start if stop is None else stop
    return replace(STANDS, start=(9 + start, 10 + start), stop=(129 + until, 130 + until))


SIGHTED = review(seen(0))


def settling(run: ReviewedRun, settles: tuple[str, ...], finished: bool = True) -> ReviewSummary:
    return review(run, reviewer="umpire", settles=settles, finished=finished)


@pytest.mark.parametrize(
    ("reviews", "state", "verdict"),
    [
        ([], State.UNTOUCHED, None),
        ([review(finished=False)], State.OPEN, None),
        ([ONE], State.AWAITING, None),
        ([ONE, review(reviewer="two", finished=False)], State.AWAITING, None),
        ([ONE, replace(ONE, sha256="a copy")], State.AWAITING, None),
        ([ONE, TWO], State.STANDS, State.STANDS),
        ([ONE, TWO, review(reviewer="three", finished=False)], State.STANDS, State.STANDS),
        ([ONE, FALLEN], State.DIFFERING, None),
        ([ONE, TWO, review(SCRATCHED, reviewer="three")], State.DIFFERING, None),
        ([ONE, review(DOUBTED, reviewer="two")], State.DIFFERING, None),
        ([ONE, review(STANDS, ELSEWHERE, reviewer="two")], State.DIFFERING, None),
        ([ONE, review(STANDS, reviewer="two", footage_sha256="0" * 64)], State.DIFFERING, None),
        ([ONE, review(run("6.0"), reviewer="two")], State.STANDS, State.STANDS),
        ([SIGHTED, review(seen(1), reviewer="two")], State.STANDS, State.STANDS),
        ([SIGHTED, review(STANDS, reviewer="two")], State.STANDS, State.STANDS),
        ([SIGHTED, review(seen(30), reviewer="two")], State.DIFFERING, None),
        ([SIGHTED, review(seen(0, 30), reviewer="two")], State.DIFFERING, None),
        (
            [SIGHTED, review(seen(2), reviewer="two"), review(seen(4), reviewer="three")],
            State.DIFFERING,
            None,
        ),
        (
            [
                review(scratched("6.000", rule="stop.free")),
                review(scratched("6.000", rule="stop.flat"), reviewer="two"),
            ],
            State.DIFFERING,
            None,
        ),
        ([ONE, FALLEN, settling(STANDS, SETTLED)], State.SETTLED, State.STANDS),
        ([ONE, FALLEN, settling(SCRATCHED, SETTLED)], State.SETTLED, State.SCRATCH),
        ([ONE, FALLEN, settling(STANDS, SETTLED, finished=False)], State.DIFFERING, None),
        ([ONE, FALLEN, settling(STANDS, (ONE.sha256,))], State.DIFFERING, None),
        ([ONE, FALLEN, settling(STANDS, (*SETTLED, "gone"))], State.DIFFERING, None),
        ([settling(STANDS, SETTLED)], State.OPEN, None),
        (
            [ONE, FALLEN, THIRD, settling(STANDS, SETTLED)],
            State.DIFFERING,
            None,
        ),
    ],
)
def test_the_reviews_of_a_claim_make_its_state(
    reviews: Sequence[ReviewSummary], state: State, verdict: State | None
) -> None:
    found = state_of(claim(), reviews)
    assert (found.state, found.verdict, found.is_ruled) == (state, verdict, verdict is not None)


def test_where_one_review_is_enough_a_claim_awaits_no_second() -> None:
    assert state_of(claim(), [ONE], reviews_due=1).state is State.STANDS


def test_a_ruled_claim_knows_its_runs_its_time_and_who_ruled() -> None:
    reviews = [review(SCRATCHED, run("6.4", number=2), reviewer=name) for name in ("one", "two")]
    found = state_of(claim(), reviews)
    assert found.claimed_runs == (SCRATCHED,)
    assert found.ruled_time == "6.4"
    assert found.counted == found.deciding == tuple(reviews)


def both(*runs: ReviewedRun) -> ClaimState:
    return state_of(claim(), [review(*runs, reviewer=name) for name in ("one", "two")])


def test_a_claim_that_stands_has_its_own_time_however_fast_the_rest_of_its_footage_is() -> None:
    found = both(run("5.000"), run("6.000", number=2))
    assert (found.verdict, found.ruled_time) == (State.STANDS, "6.000")


def test_a_claim_that_falls_leaves_its_place_to_the_next_slower_time_that_stands() -> None:
    fallen = scratched("6.000", number=2)
    found = both(run("5.000"), fallen, run("6.700", number=3), run("6.400", number=4))
    assert (found.verdict, found.ruled_time) == (State.SCRATCH, "6.400")
    assert both(run("5.000"), fallen).ruled_time is None


def test_a_time_that_no_attempt_reads_leaves_its_place_to_the_fastest() -> None:
    found = both(run("5.000"), run("6.400", number=2))
    assert (found.verdict, found.ruled_time) == (State.NO_ATTEMPT, "5.000")


def test_an_unruled_claim_tells_no_run_and_no_time() -> None:
    found = state_of(claim(), [ONE])
    assert (found.claimed_runs, found.ruled_time, found.counted) == ((), None, ())


@pytest.mark.parametrize(
    ("other", "told"),
    [(SCRATCHED, ("second",)), (STANDS, ()), (run("6.000", number=2), ("second",)), (OPEN, ())],
)
def test_it_is_told_who_settled_the_same_reviews_otherwise(
    other: ReviewedRun, told: tuple[str, ...]
) -> None:
    later = replace(settling(other, SETTLED), reviewer="second")
    found = state_of(claim(), [ONE, FALLEN, settling(STANDS, SETTLED), later])
    assert found.verdict is State.STANDS
    assert found.settled_otherwise == told
    assert state_of(claim(), [ONE, TWO]).settled_otherwise == ()


def test_a_settlement_counts_with_the_reviews_that_it_settles() -> None:
    umpire = settling(STANDS, SETTLED)
    found = state_of(claim(), [ONE, umpire, FALLEN, review(reviewer="late", finished=False)])
    assert found.deciding == (umpire,)
    assert found.counted == (ONE, FALLEN, umpire)


def test_a_claim_knows_who_has_finished_a_review_of_it() -> None:
    umpire = settling(STANDS, SETTLED)
    found = state_of(claim(), [ONE, umpire, review(reviewer="two", finished=False)])
    assert [found.finished_by(name) for name in ("one", "two", "umpire")] == [True, False, False]


def test_a_session_of_another_event_does_not_count_and_is_named() -> None:
    found = state_of(claim(event="cycle"), [ONE, TWO])
    assert found.state is State.OPEN
    assert found.problems[0] == (
        "the session by one judges the event 3-3-3, not cycle as the claims file says"
    )


def test_a_session_that_cannot_be_used_does_not_count_and_says_why() -> None:
    found = state_of(claim(), [ONE, replace(TWO, problem="is damaged")])
    assert found.state is State.AWAITING
    assert found.problems == ("the session by two is damaged",)


def test_an_event_from_a_file_is_known_by_its_file_alone() -> None:
    assert state_of(claim(event="events/our.toml"), [ONE, TWO]).state is State.STANDS


RUNS = st.sampled_from([STANDS, DOUBTED, SCRATCHED, VOIDED, OPEN, ELSEWHERE])


@given(st.permutations([ONE, FALLEN, THIRD, settling(STANDS, SETTLED)]))
def test_the_order_of_the_reviews_does_not_matter(reviews: Sequence[ReviewSummary]) -> None:
    assert state_of(claim(), reviews).state is State.DIFFERING
    first_two = [r for r in reviews if r is not THIRD]
    assert state_of(claim(), first_two).state is State.SETTLED


@given(st.lists(st.tuples(RUNS, st.booleans()), max_size=4), st.integers(1, 3))
def test_only_a_ruled_claim_has_a_verdict_and_only_finished_reviews_rule(
    drawn: Sequence[tuple[ReviewedRun, bool]], due: int
) -> None:
    reviews = [
        review(r, reviewer=f"r{place}", finished=finished)
        for place, (r, finished) in enumerate(drawn)
    ]
    found = state_of(claim(), reviews, due)
    assert (found.state in VERDICTS) is found.is_ruled
    if found.is_ruled:
        assert len(found.deciding) >= due
        assert all(r.finished and verdict_of(claim(), r) is found.verdict for r in found.deciding)
