"""Measures of agreement between reviewers, as the literature defines them.

A figure that a case leaves undefined is ``None`` and says why; nothing here is ever NaN. These
figures describe reviewers; no ruling rests on them, so they are floats.
"""

from collections import Counter
from collections.abc import Hashable, Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import sqrt
from statistics import NormalDist, mean, stdev

CONFIDENCE = 0.95

Ratings = tuple[Hashable, Hashable]
"""The categories that two reviewers gave one unit."""


@dataclass(frozen=True, slots=True)
class Figure:
    """A figure with its interval; ``words`` say why one of them is missing."""

    value: float | None
    low: float | None = None
    high: float | None = None
    words: str = ""


@dataclass(frozen=True, slots=True)
class Limits:
    """Limits of agreement of ``count`` differences: their mean, SD and mean -/+ k SD."""

    count: int
    bias: float | None = None
    deviation: float | None = None
    low: float | None = None
    high: float | None = None
    words: str = ""


def normal_quantile(confidence: float = CONFIDENCE) -> float:
    """The two-sided standard normal quantile: 1.96 for 95 %."""
    return NormalDist().inv_cdf((1 + confidence) / 2)


def wilson(successes: int, trials: int, confidence: float = CONFIDENCE) -> Figure:
    """A proportion with Wilson's score interval, no continuity correction.

    Source: E. B. Wilson, J. Am. Stat. Assoc. 22 (1927) 209; method 3 in R. G. Newcombe, Statist.
    Med. 17 (1998) 857.
    """
    if trials == 0:
        return Figure(None, words="there is nothing to take a share of")
    z, share = normal_quantile(confidence), successes / trials
    middle = share + z**2 / (2 * trials)
    half = z * sqrt(share * (1 - share) / trials + (z / (2 * trials)) ** 2)
    scale = 1 + z**2 / trials
    low = 0.0 if successes == 0 else (middle - half) / scale
    high = 1.0 if successes == trials else (middle + half) / scale
    return Figure(share, low, high)


def observed_agreement(pairs: Sequence[Ratings]) -> Figure:
    """The share of units on which two reviewers agree, with its Wilson interval."""
    return wilson(sum(a == b for a, b in pairs), len(pairs))


def cohen_kappa(pairs: Sequence[Ratings], confidence: float = CONFIDENCE) -> Figure:
    """Cohen's kappa of two reviewers, with a large-sample interval.

    Source: J. Cohen, Educ. Psychol. Meas. 20 (1960) 37; interval by the standard error of
    J. L. Fleiss, J. Cohen, B. S. Everitt, Psychol. Bull. 72 (1969) 323, kept within -1 and 1.
    """
    if not pairs:
        return Figure(None, words="no checkpoint was judged by both reviewers")
    table = _Table(pairs)
    if table.by_chance == 1:
        words = "both gave every checkpoint the same outcome, which leaves kappa undefined"
        return Figure(None, words=words)
    kappa, variance = table.kappa, table.variance
    if variance == 0:
        words = "the large-sample formula gives this table no interval"
        return Figure(float(kappa), words=words)
    half = normal_quantile(confidence) * sqrt(variance)
    return Figure(float(kappa), max(-1.0, kappa - half), min(1.0, kappa + half))


class _Table:
    """The contingency table of two reviewers, in exact shares."""

    def __init__(self, pairs: Sequence[Ratings]) -> None:
        self.n = len(pairs)
        self.cells = {pair: Fraction(count, self.n) for pair, count in Counter(pairs).items()}
        self.first = self._shares(a for a, _ in pairs)
        self.second = self._shares(b for _, b in pairs)
        self.by_chance = sum(
            (share * self.second.get(c, Fraction()) for c, share in self.first.items()), Fraction()
        )

    def _shares(self, ratings: Iterable[Hashable]) -> dict[Hashable, Fraction]:
        return {category: Fraction(count, self.n) for category, count in Counter(ratings).items()}

    @property
    def kappa(self) -> Fraction:
        agreed = sum((share for (a, b), share in self.cells.items() if a == b), Fraction())
        return (agreed - self.by_chance) / (1 - self.by_chance)

    @property
    def variance(self) -> Fraction:
        """The variance of kappa, not assuming that it is 0 (Fleiss, Cohen & Everitt 1969)."""
        beyond = 1 - self.kappa
        total = Fraction()
        for (a, b), share in self.cells.items():
            if a == b:
                total += share * (1 - (self.first[a] + self.second[a]) * beyond) ** 2
            else:
                crossed = self.second.get(a, Fraction()) + self.first.get(b, Fraction())
                total += share * crossed**2 * beyond**2
        total -= (self.kappa - self.by_chance * beyond) ** 2
        return total / (self.n * (1 - self.by_chance) ** 2)


def krippendorff_alpha(units: Iterable[Sequence[Hashable]]) -> Figure:
    """Krippendorff's alpha for nominal categories; each unit holds the ratings that were given it.

    Any number of reviewers; a missing rating is left out of its unit. Source: K. Krippendorff,
    Computing Krippendorff's Alpha-Reliability (2011), by the coincidence matrix.
    """
    rated = [Counter(unit) for unit in units if len(unit) > 1]
    totals: Counter[Hashable] = sum(rated, Counter())
    n = totals.total()
    if n == 0:
        return Figure(None, words="no checkpoint was judged by two reviewers")
    by_chance = n * n - sum(count * count for count in totals.values())
    if by_chance == 0:
        words = "all gave every checkpoint the same outcome, which leaves alpha undefined"
        return Figure(None, words=words)
    disagreed = sum(_disagreement(unit) for unit in rated)
    return Figure(1 - (n - 1) * disagreed / by_chance)


def _disagreement(unit: Counter[Hashable]) -> float:
    """A unit's share in the coincidences off the diagonal."""
    m = unit.total()
    return (m * m - sum(count * count for count in unit.values())) / (m - 1)


def limits_of_agreement(differences: Sequence[float], multiple: float | None = None) -> Limits:
    """Mean difference and limits of agreement, by default mean -/+ 1.96 SD.

    Source: J. M. Bland, D. G. Altman, Lancet 327 (1986) 307, whose example takes ``multiple`` 2.
    """
    if not differences:
        return Limits(0, words="no instant was bracketed by both reviewers")
    if len(differences) == 1:
        return Limits(1, float(differences[0]), words="one difference has no spread")
    bias, deviation = mean(differences), stdev(differences)
    half = (normal_quantile() if multiple is None else multiple) * deviation
    return Limits(len(differences), bias, deviation, bias - half, bias + half)


def prevalence(ratings: Iterable[Hashable]) -> dict[Hashable, float]:
    """The share of each category among all ratings, greatest first: to be read along with kappa.

    Source: A. R. Feinstein, D. V. Cicchetti, J. Clin. Epidemiol. 43 (1990) 543.
    """
    counts = Counter(ratings)
    return {category: count / counts.total() for category, count in counts.most_common()}
