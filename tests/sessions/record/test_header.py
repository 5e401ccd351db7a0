"""The footage as the header keeps it: its time codes and its joints."""

import pytest
from pydantic import ValidationError

from sessions.record.header import FootageFacts
from tests.sessions.samples import footage


def kept(**changed: object) -> FootageFacts:
    return FootageFacts.model_validate(footage().model_dump() | changed)


@pytest.mark.parametrize(
    ("rate", "start", "frame", "code"),
    [
        # SMPTE ST 12-1: labels 0 and 1 of a minute are dropped, but not of each tenth
        ("30000/1001", "00:00:59;29", 1, "00:01:00;02"),
        ("30000/1001", "00:09:59;29", 1, "00:10:00;00"),
        ("30000/1001", "00:00:59:29", 1, "00:01:00:00"),  # a recorder that drops none
        ("25", "10:00:00:00", 30, "10:00:01:05"),
        ("60", "23:59:59:59", 1, "00:00:00:00"),
    ],
)
def test_time_codes_go_on_from_the_one_of_the_recorder(
    rate: str, start: str, frame: int, code: str
) -> None:
    facts = kept(nominal_rate=rate, start_timecode=start)
    assert facts.timecode(0) == start
    assert facts.timecode(frame) == code
    assert facts.frame_of(code) == frame
    assert facts.frame_of(start) == 0


def test_a_start_time_code_is_of_no_use_where_no_rate_is_kept() -> None:
    facts = kept(nominal_rate=None, start_timecode="10:00:00:00")
    assert facts.timecode(3) is None
    assert facts.frame_of("10:00:00:03") is None


def test_a_joint_lies_between_the_frames_on_its_two_sides() -> None:
    facts = kept(joints=[100, 200])
    assert facts.joint_between(99, 100) == 100
    assert facts.joint_between(100, 199) is None
    assert facts.joint_between(0, 300) == 100
    assert facts.joint_between(150, 300) == 200


@pytest.mark.parametrize("joints", [[200, 100], [100, 100], [0]])
def test_joints_that_do_not_rise_from_the_second_frame_on_are_refused(joints: list[int]) -> None:
    with pytest.raises(ValidationError):
        kept(joints=joints)
