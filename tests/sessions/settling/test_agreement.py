"""Agreement between the reviews of claims, from their rulings."""

from collections.abc import Iterable, Sequence

import pytest

from sessions.record.entries import CupsSeen, Entry, Look, RunBegun, RunEnded, Sighted
from sessions.ruling.brackets import Outcome
from sessions.ruling.judge import rule
from sessions.ruling.ruling import RuledRun, Ruling
from sessions.settling.agreement import Agreement, agreement, align, compare, kind_of
from tests.sessions.samples import (
    cups_and_frames,
    faultless_run,
    header,
    session_of,
    spot,
    standing_session,
)

HEAD = header("3-3-3")
LET_GO = "f1.s1.let-go"


def ruling_of(entries: Iterable[Entry]) -> Ruling:
    return rule(session_of(HEAD, entries))


def without(entries: Iterable[Entry], checkpoint: str) -> list[Entry]:
    return [e for e in entries if not (isinstance(e, Look) and e.checkpoint == checkpoint)]


def seen(checkpoint: str, saw: str) -> list[Entry]:
    """A standing session in which one checkpoint came out otherwise."""
    by, after = spot(60), spot(50) if saw == "unproven" else None
    look = Look.model_validate(
        {"run": 1, "checkpoint": checkpoint, "saw": saw, "after": after, "by": by}
    )
    return [*without(standing_session(HEAD), checkpoint), look]


def started(after: int, by: int) -> list[Entry]:
    """A standing session whose clock starts in this bracket."""
    entries = [
        e for e in standing_session(HEAD) if not (isinstance(e, Sighted) and e.moment == "start")
    ]
    return [*entries, Sighted(run=1, moment="start", after=spot(after), by=spot(by))]


CLEAN = ruling_of(standing_session(HEAD))
BROKEN = ruling_of(seen(LET_GO, "refuted"))
UNCLEAR = ruling_of(seen(LET_GO, "unproven"))
UNLOOKED = ruling_of(without(standing_session(HEAD), LET_GO))


def rows(*claims: Sequence[Ruling]) -> dict[str, Agreement]:
    return {row.kind: row for row in agreement(claims)}


def test_two_reviews_alike_agree_on_everything_and_kappa_is_undefined_in_words() -> None:
    found = rows([CLEAN, CLEAN])
    overall = found["overall"]
    units = list(compare([CLEAN, CLEAN]))
    assert (overall.claims, overall.pairs) == (1, len(units))
    assert overall.observed.value == 1
    assert overall.prevalence == {"proven": 1.0}
    assert overall.kappa.value is None
    assert overall.kappa.words
    assert overall.alpha.value is None


def test_the_overall_row_comes_first_and_the_kinds_in_the_order_of_the_rules() -> None:
    kinds = [row.kind for row in agreement([[CLEAN, CLEAN]])]
    assert kinds[:4] == ["overall", "flat", "grip", "still"]
    assert len(kinds) == len(set(kinds))
    assert {"let_go", "cup.mark", "clock.picture", "count.allowance"} <= set(kinds)


def test_every_unit_is_counted_under_one_kind() -> None:
    found = rows([CLEAN, BROKEN], [CLEAN, UNCLEAR])
    overall = found.pop("overall")
    assert sum(row.pairs for row in found.values()) == overall.pairs


def test_a_difference_shows_in_its_kind_and_in_no_other() -> None:
    found = rows([CLEAN, BROKEN], [BROKEN, BROKEN], [CLEAN, CLEAN])
    let_go = found["let_go"]
    # three claims of three checkpoints: 6 proven by both, 2 refuted by both, 1 differs
    assert let_go.claims == 3
    assert let_go.pairs == 9
    assert let_go.observed.value == pytest.approx(8 / 9)
    assert let_go.prevalence == {"proven": pytest.approx(15 / 18), "refuted": pytest.approx(3 / 18)}
    # by hand: first 8 proven and 1 refuted, second 7 and 2
    chance = (8 * 7 + 1 * 2) / 81
    assert let_go.kappa.value == pytest.approx((8 / 9 - chance) / (1 - chance))
    assert found["flat"].observed.value == 1


def test_a_checkpoint_that_one_reviewer_left_open_is_no_pair() -> None:
    assert rows([CLEAN, UNLOOKED])["let_go"].pairs == rows([CLEAN, CLEAN])["let_go"].pairs - 1


def test_the_third_review_counts_for_alpha_alone() -> None:
    two, three = rows([CLEAN, CLEAN])["let_go"], rows([CLEAN, CLEAN, BROKEN])["let_go"]
    assert (three.observed, three.kappa) == (two.observed, two.kappa)
    # nine ratings in three units of three, 8 proven and 1 refuted; off the diagonal: 4 / 2
    assert three.alpha.value == pytest.approx(1 - 8 * (4 / 2) / (81 - 64 - 1))


def test_a_claim_with_one_review_has_nothing_to_agree_on() -> None:
    overall = rows([CLEAN])["overall"]
    assert (overall.claims, overall.pairs, overall.observed.value) == (0, 0, None)
    assert overall.distance.words == "no instant was bracketed by both reviewers"


def test_no_claims_make_one_row_without_figures() -> None:
    (overall,) = agreement([])
    assert overall.kappa.words == "no checkpoint was judged by both reviewers"


def test_cups_are_compared_one_by_one() -> None:
    entries = [
        *standing_session(HEAD)[1:],
        CupsSeen(cups=tuple(range(2, 10)), saw="proven", at=spot(0)),
        CupsSeen(cups=(1,), saw="unproven", at=spot(0)),
    ]
    cups = rows([CLEAN, ruling_of(entries)])["cup.mark"]
    assert cups.pairs == 9
    assert cups.observed.value == pytest.approx(8 / 9)


def test_a_cup_that_only_one_footage_has_is_no_pair() -> None:
    fewer = CLEAN.model_copy(update={"cups": CLEAN.cups[:4]})
    assert rows([fewer, CLEAN])["cup.mark"].pairs == 4
    last = [unit for unit in compare([fewer, CLEAN]) if unit.checkpoint == "cup 9"]
    assert [unit.ratings for unit in last] == [(None, Outcome.PROVEN)]


def test_the_distance_of_brackets_is_between_their_middles() -> None:
    first, second = ruling_of(started(9, 10)), ruling_of(started(10, 13))
    overall = rows([first, second])["overall"]
    # the start lies 2 frames later by the middles, apart; the stop is the same; both hands are off
    # the pad in (9, 30] or (10, 30], and the first comes to it in (120, 130]
    assert overall.distance.count == 4
    assert overall.distance.bias == pytest.approx((2.0 + 0.0 + 0.5 + 0.0) / 4)
    assert overall.overlapping.value == pytest.approx(3 / 4)


def test_brackets_that_share_an_instant_overlap() -> None:
    overall = rows([ruling_of(started(8, 11)), ruling_of(started(10, 13))])["overall"]
    assert overall.overlapping.value == 1


def test_an_instant_that_several_checkpoints_rest_on_counts_once() -> None:
    units = list(compare([CLEAN, CLEAN]))
    moments = [apart.moment for unit in units for apart in unit.apart]
    assert moments.count("the clock starts") > 1
    assert rows([CLEAN, CLEAN])["overall"].distance.count == len(set(moments))


def test_the_same_instant_of_two_claims_counts_twice() -> None:
    once = rows([CLEAN, CLEAN])["overall"].distance.count
    assert rows([CLEAN, CLEAN], [CLEAN, CLEAN])["overall"].distance.count == 2 * once


def opened(run: int, first: int, last: int | None) -> list[Entry]:
    entries: list[Entry] = [RunBegun(run=run, begins=spot(first))]
    return entries if last is None else [*entries, RunEnded(run=run, ends=spot(last))]


def runs_of(*spans: tuple[int, int | None]) -> tuple[RuledRun, ...]:
    entries = [e for n, (first, last) in enumerate(spans, 1) for e in opened(n, first, last)]
    return ruling_of(entries).runs


def starts(*reviews: Sequence[RuledRun]) -> list[list[int | None]]:
    return [
        [run.begins.frame if run is not None and run.begins else None for run in row]
        for row in align(reviews)
    ]


def test_runs_that_share_frames_are_one_run_whatever_their_numbers() -> None:
    assert starts(runs_of((0, 90), (100, 190)), runs_of((110, 180))) == [[0, None], [100, 110]]


def test_a_run_that_is_still_open_reaches_to_the_end() -> None:
    assert starts(runs_of((0, 90), (100, None)), runs_of((300, 400))) == [[0, None], [100, 300]]


def test_two_runs_of_one_review_are_never_one() -> None:
    assert starts(runs_of((0, 90)), runs_of((0, 40), (50, 90))) == [[0, 0], [None, 50]]


def test_a_run_without_a_beginning_counts_from_the_first_frame() -> None:
    (run,) = runs_of((50, 90))
    unknown = run.model_copy(update={"begins": None})
    assert align([[unknown], runs_of((10, 20))])[0][1] is not None


def test_the_checkpoints_of_a_run_that_one_reviewer_missed_are_no_pairs() -> None:
    both = ruling_of([*cups_and_frames(HEAD), *faultless_run(HEAD.event)])
    more = ruling_of(standing_session(HEAD, runs=2))
    assert rows([more, both])["overall"].pairs == rows([both, both])["overall"].pairs


def test_a_checkpoint_of_one_review_alone_has_one_rating() -> None:
    (run,) = CLEAN.runs
    fewer = CLEAN.model_copy(update={"runs": (run.model_copy(update={"findings": ()}),)})
    assert all(unit.ratings[0] is None for unit in compare([fewer, CLEAN]) if unit.run == 0)


def test_a_rule_without_a_kind_of_checkpoint_is_its_own_kind() -> None:
    assert (kind_of("count.allowance"), kind_of("build.let-go")) == ("count.allowance", "let_go")
