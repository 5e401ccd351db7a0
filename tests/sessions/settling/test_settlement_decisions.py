"""What a session makes of a difference of reviews, and by which frame."""

from collections.abc import Sequence

import pytest

from sessions.record.entries import Entry
from sessions.record.session import Session
from sessions.ruling.judge import rule
from sessions.settling.differences import Difference, differences
from sessions.settling.settlement import decision, frame_found
from tests.sessions.samples import header, session_of, standing_session
from tests.sessions.tags import session_from

HEAD = header("3-3-3")
CLEAN = standing_session(HEAD)
LATE = [f"look 1 start.{part} proven 40" for part in ("flat", "grip", "still")]
OTHER: list[Entry] = [
    e.model_copy(update={"display": "4.005"}) if e.kind == "reading" else e for e in CLEAN
]
"""The clean run with another reading, which the picture allows as well."""


def of_tags(*tags: str, before: Sequence[Entry] = CLEAN) -> Session:
    return session_from(HEAD, tags, *before)


def dispute(other: Session, key: str) -> Difference:
    return next(d for d in differences([of_tags(), other]).disputes if d.key == key)


CASES = [
    ("1.start", of_tags(*LATE, "sighted 1 start 39 40"), "drop 1 start", 10),
    ("1.reading", of_tags(before=OTHER), "reading 1 4.006 at 170", 160),
    ("1.start.still", of_tags("look 1 start.still refuted 9"), "drop 1 start.still", 40),
]


@pytest.mark.parametrize(("key", "other", "undoing", "frame"), CASES, ids=[c[0] for c in CASES])
def test_a_difference_is_decided_otherwise_by_either_and_not_without_its_entry(
    key: str, other: Session, undoing: str, frame: int
) -> None:
    about, own, without = dispute(other, key), of_tags(), of_tags(undoing)
    assert decision(about, own) == decision(about, own, rule(own)) is not None
    assert decision(about, other) not in (None, decision(about, own))
    assert decision(about, without) is None
    assert frame_found(about, own, rule(own)) == frame


@pytest.mark.parametrize(("key", "other"), [case[:2] for case in CASES], ids=[c[0] for c in CASES])
def test_a_session_without_the_run_decides_nothing_in_it(key: str, other: Session) -> None:
    about, empty = dispute(other, key), session_of(HEAD, [])
    assert decision(about, empty) is None
    assert frame_found(about, empty, rule(empty)) is None
