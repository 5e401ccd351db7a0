"""Measures of agreement against the worked examples that the literature publishes."""

import math
from collections.abc import Sequence

import krippendorff
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from sessions.settling.measures import (
    Figure,
    Limits,
    Ratings,
    cohen_kappa,
    krippendorff_alpha,
    limits_of_agreement,
    observed_agreement,
    prevalence,
    wilson,
)


def pairs_of(table: Sequence[Sequence[int]]) -> list[Ratings]:
    return [
        (row, column)
        for row, counts in enumerate(table)
        for column, count in enumerate(counts)
        for _ in range(count)
    ]


COHEN = [[88, 14, 18], [10, 40, 10], [2, 6, 12]]
"""J. Cohen, Educ. Psychol. Meas. 20 (1960) 37; the table in counts of 200, from memory."""


def test_kappa_of_cohens_example() -> None:
    # po .70, pe .41, kappa .492: Cohen 1960, from memory
    pairs = pairs_of(COHEN)
    assert observed_agreement(pairs).value == pytest.approx(0.70)
    assert cohen_kappa(pairs).value == pytest.approx((0.70 - 0.41) / (1 - 0.41))
    assert cohen_kappa(pairs).value == pytest.approx(0.492, abs=0.0005)


@pytest.mark.parametrize(
    ("table", "kappa", "first_share"),
    [([[40, 9], [6, 45]], 0.6995, 0.475), ([[80, 10], [5, 5]], 0.3182, 0.875)],
)
def test_kappa_falls_with_prevalence_though_the_agreement_is_the_same(
    table: Sequence[Sequence[int]], kappa: float, first_share: float
) -> None:
    # A. R. Feinstein, D. V. Cicchetti, J. Clin. Epidemiol. 43 (1990) 543; tables from memory
    pairs = pairs_of(table)
    assert observed_agreement(pairs).value == pytest.approx(0.85)
    assert cohen_kappa(pairs).value == pytest.approx(kappa, abs=0.00005)
    assert prevalence(c for pair in pairs for c in pair)[0] == pytest.approx(first_share)


@pytest.mark.parametrize(
    ("table", "low", "high"),
    [
        (COHEN, 0.3915637020535469, 0.59148714540408),
        ([[40, 9], [6, 45]], 0.5595903407506923, 0.8394481207877692),
        ([[80, 10], [5, 5]], 0.05661184308109374, 0.5797517932825422),
        ([[5, 1, 0], [0, 7, 2], [1, 0, 9]], 0.5338988821231927, 0.9747006264763156),
    ],
)
def test_the_interval_of_kappa_is_that_of_fleiss_cohen_and_everitt(
    table: Sequence[Sequence[int]], low: float, high: float
) -> None:
    # computed with statsmodels 0.15.0, stats.inter_rater.cohens_kappa, which takes the formula
    # from J. L. Fleiss, J. Cohen, B. S. Everitt, Psychol. Bull. 72 (1969) 323
    found = cohen_kappa(pairs_of(table))
    assert (found.low, found.high) == pytest.approx((low, high))


def test_the_interval_of_kappa_stays_within_its_range() -> None:
    assert cohen_kappa(pairs_of([[3, 0, 0], [0, 3, 1], [0, 0, 3]])).high == 1.0
    assert cohen_kappa(pairs_of([[0, 5], [3, 1]])).low == -1.0


@pytest.mark.parametrize(
    ("table", "kappa"), [([[5, 0], [0, 5]], 1.0), ([[5, 5], [0, 0]], 0.0), ([[0, 5], [5, 0]], -1.0)]
)
def test_kappa_without_spread_has_no_interval_and_says_so(
    table: Sequence[Sequence[int]], kappa: float
) -> None:
    words = "the large-sample formula gives this table no interval"
    assert cohen_kappa(pairs_of(table)) == Figure(kappa, words=words)


@pytest.mark.parametrize(
    ("pairs", "words"),
    [
        ([], "no checkpoint was judged by both reviewers"),
        ([("a", "a")] * 9, "both gave every checkpoint the same outcome"),
    ],
)
def test_kappa_is_undefined_in_words(pairs: list[Ratings], words: str) -> None:
    found = cohen_kappa(pairs)
    assert found.value is None
    assert found.words.startswith(words)


KRIPPENDORFF = (
    (1, 2, 3, 3, 2, 1, 4, 1, 2, None, None, None),
    (1, 2, 3, 3, 2, 2, 4, 1, 2, 5, None, 3),
    (None, 3, 3, 3, 2, 3, 4, 2, 2, 5, 1, None),
    (1, 2, 3, 3, 2, 4, 4, 1, 2, 5, 1, None),
)
"""Twelve units by four observers, some ratings missing: K. Krippendorff, Computing Krippendorff's
Alpha-Reliability (2011), section C."""


def units_of(reviewers: Sequence[Sequence[int | None]]) -> list[list[int]]:
    return [
        [r for r in ratings if r is not None] for ratings in zip(*reviewers, strict=True)
    ]  # fmt: skip


def test_alpha_of_krippendorffs_example() -> None:
    # .743 for nominal data: Krippendorff 2011, section C
    assert krippendorff_alpha(units_of(KRIPPENDORFF)).value == pytest.approx(0.743, abs=0.0005)


FLEISS = """
444444 222555 233335 555555 222444 113333 333355 113334 114444 555555
144444 124444 222333 144444 224445 333335 111455 111112 224444 133555
555555 244444 224555 114444 144445 222224 111155 224444 133333 555555
"""
"""Thirty patients, each put by six raters into one of five diagnoses: J. L. Fleiss, Psychol. Bull.
76 (1971) 378, as in statsmodels' tests."""


def test_alpha_of_fleiss_example_follows_from_his_kappa() -> None:
    # kappa .430245 as statsmodels gives it; for complete data alpha takes chance without
    # replacement: 1 - alpha = (1 - kappa) (n - 1) / n with n = 180 ratings
    expected = 1 - (1 - 0.430245) * 179 / 180
    assert krippendorff_alpha(FLEISS.split()).value == pytest.approx(expected, abs=1e-6)


@pytest.mark.parametrize(
    ("units", "words"),
    [
        ([], "no checkpoint was judged by two reviewers"),
        ([["a"], [], ["b"]], "no checkpoint was judged by two reviewers"),
        ([["a", "a"], ["a", "a", "a"], ["b"]], "all gave every checkpoint the same outcome"),
    ],
)
def test_alpha_is_undefined_in_words(units: list[list[str]], words: str) -> None:
    found = krippendorff_alpha(units)
    assert found.value is None
    assert found.words.startswith(words)


RATINGS = st.lists(
    st.tuples(*[st.sampled_from([0, 1, 2, None])] * 4), min_size=1, max_size=12
)  # fmt: skip


@given(RATINGS)
def test_alpha_equals_that_of_the_krippendorff_package(
    ratings: list[tuple[int | None, ...]],
) -> None:
    units = [[r for r in unit if r is not None] for unit in ratings]
    ours = krippendorff_alpha(units)
    pairable = {r for unit in units if len(unit) > 1 for r in unit}
    if len(pairable) < 2:
        assert ours.value is None
        return
    data = np.array([[math.nan if r is None else r for r in unit] for unit in ratings]).T
    theirs = krippendorff.alpha(reliability_data=data, level_of_measurement="nominal")
    assert ours.value == pytest.approx(theirs)


@pytest.mark.parametrize(
    ("successes", "trials", "low", "high"),
    [
        (81, 263, 0.2553, 0.3662),
        (15, 148, 0.0624, 0.1605),
        (0, 20, 0.0, 0.1611),
        (1, 29, 0.0061, 0.1718),
    ],
)
def test_wilsons_interval(successes: int, trials: int, low: float, high: float) -> None:
    # R. G. Newcombe, Statist. Med. 17 (1998) 857, Table I, method 3; from memory
    found = wilson(successes, trials)
    assert found.value == pytest.approx(successes / trials)
    assert (found.low, found.high) == pytest.approx((low, high), abs=5e-5)


@given(st.integers(1, 500), st.integers(0, 500))
def test_wilsons_interval_mirrors(trials: int, successes: int) -> None:
    successes = min(successes, trials)
    one, other = wilson(successes, trials), wilson(trials - successes, trials)
    assert one.low is not None
    assert other.high is not None
    assert one.low == pytest.approx(1 - other.high)
    assert 0 <= one.low <= successes / trials


def test_a_share_of_nothing_is_undefined_in_words() -> None:
    assert wilson(0, 0) == Figure(None, words="there is nothing to take a share of")


WRIGHT = (494, 395, 516, 434, 476, 557, 413, 442, 650, 433, 417, 656, 267, 478, 178, 423, 427)
MINI = (512, 430, 520, 428, 500, 600, 364, 380, 658, 445, 432, 626, 260, 477, 259, 350, 451)
"""Peak flow in l/min by two meters: J. M. Bland, D. G. Altman, Lancet 327 (1986) 307, Table."""


def test_limits_of_agreement_of_the_peak_flow_meters() -> None:
    # mean -2.118 and SD 38.765 l/min, limits at 2 SD -79.65 and 75.41: Bland & Altman 1986
    differences = [one - other for one, other in zip(WRIGHT, MINI, strict=True)]
    found = limits_of_agreement(differences, multiple=2)
    assert found.count == 17
    assert found.bias == pytest.approx(-2.118, abs=5e-4)
    assert found.deviation == pytest.approx(38.765, abs=5e-4)
    assert (found.low, found.high) == pytest.approx((-79.65, 75.41), abs=5e-3)


def test_limits_are_at_1_96_deviations_unless_told_otherwise() -> None:
    found = limits_of_agreement([-1.0, 0.0, 1.0])
    assert (found.low, found.high) == pytest.approx((-1.959964, 1.959964))


def test_limits_without_a_spread_are_undefined_in_words() -> None:
    assert limits_of_agreement([]) == Limits(0, words="no instant was bracketed by both reviewers")
    assert limits_of_agreement([3]) == Limits(1, 3.0, words="one difference has no spread")


@given(st.lists(st.tuples(st.integers(0, 2), st.integers(0, 2)), max_size=30))
def test_nothing_is_ever_nan(pairs: list[Ratings]) -> None:
    figures = [observed_agreement(pairs), cohen_kappa(pairs), krippendorff_alpha(pairs)]
    for figure in figures:
        numbers = [n for n in (figure.value, figure.low, figure.high) if n is not None]
        assert all(math.isfinite(number) for number in numbers)
        assert figure.value is not None or figure.words
    kappa = figures[1]
    if kappa.low is not None and kappa.value is not None and kappa.high is not None:
        assert -1 <= kappa.low <= kappa.value <= kappa.high <= 1


@given(st.lists(st.tuples(st.integers(0, 2), st.integers(0, 2)), max_size=30))
def test_kappa_does_not_depend_on_who_is_first(pairs: list[Ratings]) -> None:
    assert cohen_kappa(pairs) == cohen_kappa([(b, a) for a, b in pairs])


def test_prevalence_is_by_share_greatest_first() -> None:
    assert list(prevalence("abbb").items()) == [("b", 0.75), ("a", 0.25)]
    assert prevalence([]) == {}
