"""What part a session plays among the reviews of a claim."""

import pytest

from sessions.record.entries import Entry, Finished, Retracted, SettledReview, Settling
from sessions.record.role import Role, role_of
from tests.sessions.samples import header
from tests.sessions.tags import session_from

FIRST, SECOND = (SettledReview(reviewer=f"R{n}", sha256=f"{n}" * 64) for n in (1, 2))
SETTLING = Settling(reviews=(SECOND, FIRST))


@pytest.mark.parametrize(
    ("entries", "role"),
    [
        ([], Role()),
        ([Finished(blind=True)], Role(finished=True)),
        ([SETTLING], Role(settles=("1" * 64, "2" * 64))),
        ([SETTLING, SETTLING, Finished(blind=False)], Role(True, ("1" * 64, "2" * 64))),
        ([Finished(blind=True), Retracted(seq=1)], Role()),
        ([SETTLING, Finished(blind=False), Retracted(seq=1)], Role(finished=True)),
    ],
)
def test_a_session_is_finished_and_settles_as_its_living_lines_say(
    entries: list[Entry], role: Role
) -> None:
    assert role_of(session_from(header(), [], *entries)) == role
