"""What a reviewer may know of a claim: its id and event, and the rest once their review is done.

Who knows the claimed time looks for it. So neither it nor the competitor, the standing record or
another's review is shown before the own review is finished and leaves no run open, unless the
session was begun with the claim in sight. Linear sequential unmasking: Dror et al., Journal of
Forensic Sciences 60 (2015), from memory.
"""

from collections.abc import Iterable

from sessions.docket.claims import ListedClaim
from sessions.docket.review_summary import ReviewSummary
from sessions.record.header import Claim, Header
from sessions.ruling.ruling import Standing


def begins_blind(header: Header) -> bool:
    """Whether a session was begun without the claimed time and the competitor."""
    return header.claim.time is None and header.claim.competitor is None


def claim_for(listed: ListedClaim, *, shown: bool) -> Claim:
    """What the session of a listed claim is begun with: all of the claim, or its id alone."""
    if shown:
        return Claim(id=listed.claim, competitor=listed.competitor, time=listed.time)
    return Claim(id=listed.claim)


def is_done(finished: bool, decided: bool, standings: Iterable[Standing]) -> bool:
    """Whether a review leaves nothing to look at: finished, decided, and no run open."""
    return finished and decided and Standing.OPEN not in standings


def review_done(review: ReviewSummary) -> bool:
    """Whether one review of a docket is done."""
    return is_done(review.finished, review.made, (run.standing for run in review.runs))
