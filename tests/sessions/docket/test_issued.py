"""Issued rulings by the names of their files."""

from hypothesis import given
from hypothesis import strategies as st

from sessions.docket.register import file_stem, latest_numbers

CODES = st.text("ab.-_é/ ", min_size=1, max_size=6)


@given(CODES, CODES)
def test_two_claims_never_share_a_stem(one: str, other: str) -> None:
    assert (file_stem(one) == file_stem(other)) == (one == other)


@given(CODES, st.lists(st.integers(1, 99), min_size=1))
def test_the_last_number_counts_whatever_the_order(claim: str, numbers: list[int]) -> None:
    stem = file_stem(claim)
    names = [f"{stem}.ruling-{number}.json" for number in numbers]
    assert latest_numbers(names) == {stem: max(numbers)}


def test_drafts_printed_files_and_others_do_not_count() -> None:
    names = ["C-1.draft.json", "C-1.ruling-1.html", "C-1.ruling-01.json", "notes.txt"]
    assert latest_numbers(names) == {}
