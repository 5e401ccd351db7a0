"""Counts in words."""

import pytest

from sessions.plural import are, nouns, plural, were


@pytest.mark.parametrize(
    ("count", "words"), [(0, "0 frames are"), (1, "1 frame is"), (2, "2 frames are")]
)
def test_only_one_is_singular(count: int, words: str) -> None:
    assert f"{plural(count, 'frame')} {are(count)}" == words
    assert f"{count} {nouns(count, 'frame')} {are(count)}" == words


def test_what_was_follows_the_same_count() -> None:
    assert [were(count) for count in (0, 1, 2)] == ["were", "was", "were"]


@pytest.mark.parametrize(
    ("noun", "many"),
    [("entry", "entries"), ("stretch", "stretches"), ("loss", "losses"), ("tag", "tags")],
)
def test_the_plural_is_the_regular_one(noun: str, many: str) -> None:
    assert [plural(count, noun) for count in (1, 2)] == [f"1 {noun}", f"2 {many}"]
