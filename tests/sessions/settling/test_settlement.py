"""What a settling session says it settled, by run and title, for whoever has no reviews at hand."""

import pytest

from sessions.record.entries import DifferenceSettled, Entry, Retracted
from sessions.ruling.judge import rule
from sessions.settling.settlement import SettledPoint, settled_points
from tests.sessions.samples import header, spot
from tests.sessions.tags import session_from


def settled(key: str, taken: str | None = "R1") -> DifferenceSettled:
    return DifferenceSettled(difference=key, taken=taken, reason="Seen so.", at=(spot(8),))


def points(*entries: Entry) -> tuple[SettledPoint, ...]:
    session = session_from(header("3-3-3"), ("clean 1 at 0",), *entries)
    return settled_points(session, rule(session))


def test_a_checkpoint_is_named_by_its_run_and_title() -> None:
    (point,) = points(settled("1.start.flat"))
    assert (point.run, point.title, point.taken) == (1, "Hands flat at start", "R1")
    (place,) = point.at
    assert (place.frame, place.pts) == (8, spot(8).pts)


def test_every_other_matter_has_a_title() -> None:
    keys = ("1.reading", "1.run", "1.started-over", "1.fumbles", "1.clock", "cup.mark.3")
    assert [(point.run, point.title) for point in points(*map(settled, keys))] == [
        (1, "Reading of the display"),
        (1, "Counts as an attempt"),
        (1, "Started over"),
        (1, "Fumbles"),
        (1, "Display against picture"),
        (None, "Maker's mark of cup 3"),
    ]


def test_a_checkpoint_that_is_no_longer_in_the_ladder_keeps_its_subject() -> None:
    (point,) = points(settled("1.x9.closed", taken=None))
    assert (point.title, point.taken) == ("x9.closed", None)


@pytest.mark.parametrize("key", ["start.flat", "cup.mark.x", "cup.mark.", ".", "x", "\u0661.run"])
def test_a_key_that_names_no_difference_is_told_as_it_is(key: str) -> None:
    (point,) = points(settled(key))
    assert (point.run, point.title) == (None, key)


def test_what_was_taken_back_is_not_told() -> None:
    assert len(points(settled("1.run"))) == 1
    assert points(settled("1.run"), Retracted(seq=1)) == ()
