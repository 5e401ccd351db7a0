"""The capture rate of slow motion, said on the bench."""

from collections.abc import Callable
from fractions import Fraction
from pathlib import Path

import pytest

from sessions.errors import EntryRefused
from sessions.record.entries import CaptureRate
from tests.tui.footage import clips
from tui.bench.history import deed_words
from tui.bench.opening import ReviewWish, footage_facts, open_review
from tui.bench.review import Review
from tui.bench.runs import capture_rate
from tui.footage.footage import Footage


def opened(folder: Path, pts: Callable[[int], int] | None = None) -> tuple[Review, Footage]:
    made = clips.write(folder / "a.mp4", range(60), options=clips.h264(), pts=pts)
    footage = Footage.open(made.path, folder / "cache")
    return open_review(ReviewWish(made.path, folder / "s.jsonl", "3-3-3"), footage), footage


def test_it_is_typed_with_its_source_and_taken_back(tmp_path: Path) -> None:
    review, _ = opened(tmp_path)
    assert "divided by 4" in capture_rate(review, "240, by the camera's settings")
    assert "divided by 2" in capture_rate(review, "120 the label says so")
    assert review.session.capture_rates == (CaptureRate(rate="120", source="the label says so"),)
    assert "120 frames a second" in deed_words(review.lines[-1:], review.session)
    assert "footage itself" in capture_rate(review, "0")
    assert review.session.timed_header == review.session.header
    with pytest.raises(EntryRefused, match="none to take back"):
        capture_rate(review, "0")
    for text in ("fast", "240", "-3 no", "1/0 x"):
        with pytest.raises(EntryRefused, match="Type frames a second"):
            capture_rate(review, text)
    review.journal.close()


def test_footage_of_no_steady_rate_takes_none(tmp_path: Path) -> None:
    review, _ = opened(tmp_path, clips.irregular(60).__getitem__)
    with pytest.raises(EntryRefused, match="not shown at a steady rate"):
        capture_rate(review, "240, by the label")
    review.journal.close()


@pytest.mark.parametrize(("told", "kept"), [("240", "240"), ("60", None), ("62", None)])
def test_what_the_file_tells_is_kept_where_it_is_slow_motion(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, told: str, kept: str | None
) -> None:
    monkeypatch.setattr("tui.footage.facts._capture_rate", lambda _: Fraction(told))
    review, footage = opened(tmp_path)
    assert footage_facts(footage).capture_rate == kept
    assert review.session.header.footage.slowed == (4 if kept else 1)
    review.journal.close()
