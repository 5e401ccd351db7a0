"""Entries as the format: what they refuse, and how they are written."""

from datetime import UTC, datetime, timedelta, timezone
from fractions import Fraction
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import AwareDatetime, TypeAdapter, ValidationError

from sessions.evidence.sighting import Sighting
from sessions.record.entries import (
    CupsSeen,
    Fumble,
    Line,
    Look,
    NotShown,
    OtherFault,
    Reading,
    Retracted,
    RunBegun,
    Shown,
    Sighted,
    Spot,
)
from sessions.record.header import Claim, Header, rfc3339
from sessions.rules.rulebook import OTHER
from sessions.validation import Frozen, first_problem
from tests.sessions.samples import WHEN, footage, header, spot

STAMP = TypeAdapter(AwareDatetime)
LINE = {"seq": 3, "at": WHEN, "prev": "0" * 64}


# RFC 3339, section 5.8, the examples that a calendar without leap seconds can hold; the seconds
# since 1970 were worked out with another library.
@pytest.mark.parametrize(
    ("text", "seconds", "written"),
    [
        ("1985-04-12T23:20:50.52Z", "482196050.52", "1985-04-12T23:20:50.520000Z"),
        ("1996-12-19T16:39:57-08:00", "851042397", "1996-12-20T00:39:57Z"),
        ("1937-01-01T12:00:27.87+00:20", None, "1937-01-01T11:40:27.870000Z"),
    ],
)
def test_times_are_those_of_the_standard(text: str, seconds: str | None, written: str) -> None:
    moment = STAMP.validate_json(f'"{text}"')
    assert rfc3339(moment) == written
    if seconds is not None:
        since = moment - datetime(1970, 1, 1, tzinfo=UTC)
        assert Fraction(since // timedelta(microseconds=1), 10**6) == Fraction(seconds)


@pytest.mark.parametrize("text", ["1985-04-12T23:20:50.52", "1985-04-31T00:00:00Z", "yesterday"])
def test_a_time_without_its_zone_or_its_day_is_refused(text: str) -> None:
    with pytest.raises(ValidationError):
        STAMP.validate_json(f'"{text}"')


@given(st.datetimes(datetime(1000, 1, 1), datetime(9999, 12, 30)), st.integers(-840, 840))
def test_a_time_is_read_back_as_it_was_written(naive: datetime, minutes: int) -> None:
    moment = naive.replace(tzinfo=UTC).astimezone(timezone(timedelta(minutes=minutes)))
    assert STAMP.validate_json(f'"{rfc3339(moment)}"') == moment
    assert rfc3339(moment).endswith("Z")


def test_lines_and_headers_are_written_in_utc() -> None:
    east = WHEN.astimezone(timezone(timedelta(hours=9)))
    line = Line(seq=1, at=east, prev="0" * 64, entry=Shown(ranges=((0, 1),)))
    assert '"at":"2031-05-04T09:30:00.250000Z"' in line.model_dump_json()
    head = header().model_copy(update={"made": east})
    assert '"made":"2031-05-04T09:30:00.250000Z"' in head.model_dump_json()


def problem(model: type[Frozen], **fields: Any) -> str:
    with pytest.raises(ValidationError) as caught:
        model.model_validate(fields)
    return first_problem(caught.value)


SPOT = {"frame": 5, "pts": 8008}
LATER = {"frame": 6, "pts": 9009}
NEVER = {"frame": -1, "pts": 0}


@pytest.mark.parametrize(
    ("model", "fields", "says"),
    [
        (Sighted, {"run": 1, "moment": "start", "after": SPOT, "by": SPOT}, "after (5) must be"),
        (
            Look,
            {"run": 1, "checkpoint": "x", "saw": "unproven", "after": LATER, "by": SPOT},
            "after (6)",
        ),
        (
            Look,
            {"run": 1, "checkpoint": "x", "saw": "proven", "after": SPOT, "by": LATER},
            "one frame",
        ),
        (Look, {"run": 1, "checkpoint": "x", "saw": "seen", "by": SPOT}, "saw: "),
        (Look, {"run": 1, "checkpoint": "x", "saw": "proven", "by": NEVER}, "by.frame: "),
        (
            Look,
            {"run": 1, "checkpoint": "x", "saw": "proven", "by": SPOT, "eye": "left"},
            "eye: is not",
        ),
        (Shown, {"ranges": ((5, 4),)}, "ranges: a range ends before it begins"),
        (Shown, {"ranges": ()}, "ranges: "),
        (Shown, {"ranges": ((0, 1), (3, 4)), "stamps": ((0, 1),)}, "2 ranges have 1 pairs"),
        (
            OtherFault,
            {"run": 1, "rule": OTHER, "saw": "refuted", "by": SPOT},
            "another rule than the listed ones needs its reason",
        ),
        (
            NotShown,
            {"what": "stop", "first": LATER, "last": SPOT, "reason": "hidden"},
            "first (6) is after last (5)",
        ),
        (CupsSeen, {"cups": (0,), "saw": "proven", "at": SPOT}, "cups.0: "),
        (CupsSeen, {"cups": (), "saw": "proven", "at": SPOT}, "cups: "),
        (Reading, {"run": 1, "display": "6,482", "at": SPOT}, "display: "),
        (Reading, {"run": 1, "display": "-1.2", "at": SPOT}, "display: "),
        (Fumble, {"run": 1, "fumble": "x0", "stack": "s", "phase": "up", "at": SPOT}, "fumble: "),
        (RunBegun, {"run": 0, "begins": SPOT}, "run: "),
        (Claim, {"time": "6:48"}, "time: "),
        (Line, {**LINE, "entry": {"kind": "retracted", "seq": 3}}, "the whole: line 3 refers to"),
        (Line, {**LINE, "entry": Shown(ranges=((0, 1),)), "replaces": 4}, "the whole: line 3"),
        (Line, {**LINE, "entry": {"kind": "guess"}}, "entry: "),
        (
            Line,
            {**LINE, "at": "0001-01-01T00:00:00+14:00", "entry": Shown(ranges=((0, 1),))},
            "at: ",
        ),
        (Spot, {"frame": 2**31, "pts": 0}, "frame: should be below 2147483648"),
        (Spot, {"frame": 0, "pts": 2**63}, "pts: should be below 9223372036854775808"),
        (Line, {**LINE, "prev": "xyz", "entry": Shown(ranges=((0, 1),))}, "prev: "),
    ],
)
def test_an_entry_refuses_what_it_cannot_mean(
    model: type[Frozen], fields: dict[str, Any], says: str
) -> None:
    assert says in problem(model, **fields)


@pytest.mark.parametrize("base", ["0", "-1/30000", "1/0", "soon", "", "1e400"])
def test_a_time_base_is_above_0(base: str) -> None:
    with pytest.raises(ValidationError, match="time_base"):
        type(footage()).model_validate(footage().model_dump() | {"time_base": base})


def test_a_time_stamp_is_rational_seconds_from_the_first_frame() -> None:
    facts = footage()
    assert facts.seconds(spot(0).pts) == 0
    assert facts.seconds(spot(30).pts) == Fraction(30 * 1001, 30000)


@pytest.mark.parametrize(("after", "bracket"), [(None, Sighting(-1, 5)), (4, Sighting(4, 5))])
def test_before_the_footage_counts_as_frame_minus_1(after: int | None, bracket: Sighting) -> None:
    first = None if after is None else spot(after)
    assert Sighted(run=1, moment="start", after=first, by=spot(5)).bracket == bracket


def test_data_cannot_be_changed() -> None:
    with pytest.raises(ValidationError, match="frozen"):
        header().reviewer = "another"  # type: ignore[misc]


def test_a_line_may_refer_to_any_line_before_it() -> None:
    assert Line(seq=3, at=WHEN, prev="0" * 64, entry=Retracted(seq=2)).seq == 3
    shown = Shown(ranges=((0, 1),))
    assert Line(seq=3, at=WHEN, prev="0" * 64, entry=shown, replaces=1).replaces == 1


def test_a_header_is_read_back_as_it_was_written() -> None:
    head = header(claim="6.482")
    assert Header.model_validate_json(head.model_dump_json(exclude_none=True)) == head
