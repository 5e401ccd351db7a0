"""Differences on what no checkpoint asks for: other faults, what is not shown, attempts before."""

from collections.abc import Sequence

import pytest

from sessions.record.entries import CaptureRate
from sessions.record.session import Session
from sessions.ruling.judge import rule
from sessions.settling.differences import Difference, Differences, Matter, differences
from sessions.settling.merge import agreed_entries
from sessions.settling.taking import take_side
from tests.sessions.samples import as_lines, cups_and_frames, faultless_run, header, session_of
from tests.sessions.tags import session_from

HEAD = header("3-3-3")
CLEAN = [*cups_and_frames(HEAD), *faultless_run(HEAD.event)]
ON_MAT = "other 1 mat.cups refuted 69 70"
NO_START = ("drop 1 start", "lacks 1 start 0 9 a head is before it")


def of_tags(*tags: str) -> Session:
    return session_from(HEAD, tags, *CLEAN)


def between(*sides: Sequence[str]) -> Differences:
    return differences([of_tags(*tags) for tags in sides])


def settled(found: Differences, difference: Difference, side: int) -> Session:
    """A settling that takes one side of one difference, from all that is agreed."""
    session = session_of(HEAD, list(agreed_entries(found)))
    taking = take_side(found, difference, side, session)
    assert not taking.retract
    return session_of(HEAD, [*(line.entry for line in session.live), *taking.write])


@pytest.mark.parametrize("side", [0, 1])
@pytest.mark.parametrize(
    ("tags", "matter", "key", "words"),
    [
        ([ON_MAT], Matter.OTHER_FAULT, "1.other.mat.cups",
         ["no fault noted", "FAULT at frame 70"]),
        (["before 2 the list"], Matter.BEFORE, "attempts-before",
         ["no attempt before this footage", "2 attempts before this footage (the list)"]),
        (["lacks - table 0 9 a pillar"], Matter.NOT_SHOWN, "not-shown",
         ["nothing is said not to be shown", "table not shown in frames 0-9"]),
    ],
)  # fmt: skip
def test_what_only_one_noted_is_settled_by_either_side(
    tags: list[str], matter: Matter, key: str, words: list[str], side: int
) -> None:
    found = between([], tags)
    (dispute,) = found.disputes
    assert (dispute.matter, dispute.key) == (matter, key)
    assert [opinion.words for opinion in dispute.opinions] == words
    made = settled(found, dispute, side)
    assert rule(made).runs[0].standing is rule(found.sessions[side]).runs[0].standing
    assert not differences([made, found.sessions[side]]).disputes


def test_a_start_that_only_one_was_shown_is_one_dispute() -> None:
    found = between([], NO_START)
    assert [(d.matter, d.key) for d in found.disputes] == [(Matter.NOT_SHOWN, "1.not-shown")]


def test_what_all_noted_is_agreed_whatever_their_reasons() -> None:
    found = between(["before 2 the list", ON_MAT], ["before 2 the tape", f"{ON_MAT} a red cup"])
    assert not found.disputes
    session = session_of(HEAD, list(agreed_entries(found)))
    assert [entry.source for entry in session.attempts_before] == ["the list"]
    assert [fault.by.frame for fault in session.runs[0].other_faults] == [70]
    assert rule(session).runs[0].number == 3
    assert as_lines(agreed_entries(found))


def test_a_doubt_and_a_fault_differ() -> None:
    (dispute,) = between([ON_MAT.replace("refuted", "unproven")], [ON_MAT]).disputes
    assert [opinion.value for opinion in dispute.opinions] == ["unproven", "refuted"]


SLOW = CaptureRate(rate="240", source="the camera's menu")


def of_rates(*rates: CaptureRate) -> Session:
    return session_of(HEAD, [*CLEAN, *rates])


@pytest.mark.parametrize("side", [0, 1])
def test_a_capture_rate_that_only_one_tells_is_settled_by_either_side(side: int) -> None:
    found = differences([of_rates(), of_rates(SLOW)])
    (dispute,) = found.disputes
    assert dispute.matter is Matter.CAPTURE
    assert [opinion.words for opinion in dispute.opinions] == [
        "nothing is said of the capture rate",
        "taken at 240 frames a second (the camera's menu)",
    ]
    made = settled(found, dispute, side)
    assert made.capture_rates == ((), (SLOW,))[side]


def test_a_capture_rate_that_both_tell_is_agreed() -> None:
    found = differences([of_rates(SLOW), of_rates(SLOW)])
    assert not found.disputes
    assert session_of(HEAD, list(agreed_entries(found))).capture_rates == (SLOW,)
