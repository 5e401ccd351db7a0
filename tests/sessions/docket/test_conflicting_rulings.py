"""Rulings that contradict each other on one piece of footage."""

from sessions.docket.claim_state import ClaimState
from sessions.docket.work_order import compared
from sessions.ruling.ruling import Standing
from tests.sessions.docket.docket_samples import claim, review, ruled, run, scratched

FASTER, SLOWER = run("6.000", number=1), run("6.500", number=2)
SAME = "c" * 64


def odds(*states: ClaimState) -> list[tuple[str, ...]]:
    return [state.at_odds for state in compared(states)]


def state(name: str, *runs: object, footage: str = SAME) -> ClaimState:
    return ruled(claim(name, "6.000"), *runs, footage_sha256=footage)  # type: ignore[arg-type]


def test_rulings_alike_are_not_at_odds() -> None:
    assert odds(state("C-1", FASTER, SLOWER), state("C-2", FASTER, SLOWER)) == [(), ()]


def test_another_standing_time_rule_or_doubt_of_one_attempt_is_told_to_both() -> None:
    for other in (
        run("6.000", Standing.SCRATCH, number=1),
        run("6.001", number=1),
        scratched("6.000", rule="stop.free"),
        run("6.000", number=1, doubtful=["start.grip"]),
    ):
        assert odds(state("C-1", FASTER, SLOWER), state("C-2", other, SLOWER)) == [
            ("C-2",),
            ("C-1",),
        ]


def test_an_attempt_that_only_one_knows_contradicts_nothing() -> None:
    assert odds(state("C-1", FASTER), state("C-2", FASTER, SLOWER)) == [(), ()]


def test_other_footage_contradicts_nothing() -> None:
    other = run("6.000", Standing.SCRATCH, number=1)
    assert odds(state("C-1", FASTER), state("C-2", other, footage="d" * 64)) == [(), ()]


def test_every_claim_names_the_others_in_the_order_of_the_docket() -> None:
    falls, doubted = scratched("6.000", rule="stop.free"), run("6.000", number=1, doubtful=["x"])
    runs = {"C-1": FASTER, "C-2": falls, "C-3": doubted, "C-4": FASTER, "C-5": falls}
    assert odds(*(state(name, fate) for name, fate in runs.items())) == [
        ("C-2", "C-3", "C-5"),
        ("C-1", "C-3", "C-4"),
        ("C-1", "C-2", "C-4", "C-5"),
        ("C-2", "C-3", "C-5"),
        ("C-1", "C-3", "C-4"),
    ]


def test_a_claim_that_is_not_ruled_is_left_out() -> None:
    from sessions.docket.claim_state import state_of

    waiting = state_of(claim("C-3"), [review(FASTER, reviewer="one", claim_id="C-3")])
    assert odds(state("C-1", FASTER), waiting) == [(), ()]
