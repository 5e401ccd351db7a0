"""Exact numbers against the standard library's own fractions, and what is refused."""

from fractions import Fraction

import pytest

from sessions.exact import exact


@pytest.mark.parametrize("text", ["12", "0.001", ".01", "1.", "1e-3", "1/30000", "-0.5", "+2", "0"])
def test_a_number_is_what_the_standard_library_reads(text: str) -> None:
    assert exact(text) == Fraction(text)


@pytest.mark.parametrize(
    "text",
    ["", ".", "/", "fast", "nan", "inf", "1/0", "1/2e3", "1_000", "٣", "1e400", "1e-400",
     "1e999999999", "9" * 20, f"1/{'9' * 20}", " 1", "1\n"],
)  # fmt: skip
def test_what_is_no_short_number_is_refused_at_once(text: str) -> None:
    with pytest.raises(ValueError, match="is not a number such as"):
        exact(text)
