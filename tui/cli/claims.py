"""The claim as given on the command line."""

from pydantic import ValidationError

from sessions.errors import SessionError
from sessions.record.header import Claim
from sessions.validation import first_problem


def claim_of(claim_id: str | None, competitor: str | None, time: str | None) -> Claim:
    """A claim from its parts; raises SessionError where one cannot be taken."""
    try:
        return Claim(id=claim_id, competitor=competitor, time=time)
    except ValidationError as error:
        if error.errors()[0]["loc"] == ("time",):
            raise SessionError(
                f'The claimed time "{time}" is not a time in seconds such as 6.482; give up to '
                "four digits and six decimals, with a point: --claimed-time 6.482."
            ) from None
        raise SessionError(
            f"The claim cannot be taken: {first_problem(error)}; give a code."
        ) from None
