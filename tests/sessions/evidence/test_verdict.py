"""Verdicts against Kleene's strong tables."""

from itertools import product

import pytest

from sessions.evidence.verdict import Verdict, all_of, any_of

T, U, F = Verdict.PROVEN, Verdict.UNPROVEN, Verdict.REFUTED

# S. C. Kleene, Introduction to Metamathematics (1952), section 64, the strong tables of "not",
# "and" and "or"; rows and columns in his order t, f, u. Section number and order from memory.
NOT = {T: F, F: T, U: U}
AND = {T: (T, F, U), F: (F, F, F), U: (U, F, U)}
OR = {T: (T, T, T), F: (T, F, U), U: (T, U, U)}
COLUMNS = (T, F, U)


@pytest.mark.parametrize("value", COLUMNS)
def test_not_follows_the_strong_table(value: Verdict) -> None:
    assert ~value is NOT[value]


@pytest.mark.parametrize(("row", "column"), list(product(COLUMNS, COLUMNS)))
def test_and_and_or_follow_the_strong_tables(row: Verdict, column: Verdict) -> None:
    place = COLUMNS.index(column)
    assert row & column is AND[row][place]
    assert row | column is OR[row][place]


def test_all_and_any_of_nothing() -> None:
    assert all_of([]) is T
    assert any_of([]) is F


@pytest.mark.parametrize("three", list(product(COLUMNS, repeat=3)))
def test_all_and_any_of_three_are_the_tables_applied_twice(three: tuple[Verdict, ...]) -> None:
    first, second, third = three
    both, either = AND[first], OR[first]
    inner_and, inner_or = both[COLUMNS.index(second)], either[COLUMNS.index(second)]
    assert all_of(three) is AND[inner_and][COLUMNS.index(third)]
    assert any_of(three) is OR[inner_or][COLUMNS.index(third)]
