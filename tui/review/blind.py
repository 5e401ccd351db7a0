"""What a reviewer may know of a claim: its id and event, and the rest once their review is done.

Who knows the claimed time looks for it. So neither it nor the competitor, the standing record or
another's review is shown before the own review is finished and leaves no run open, unless the
session was begun with the claim in sight. Linear sequential unmasking: Dror et al., Journal of
Forensic Sciences 60 (2015), from memory.
"""

from collections.abc import Iterable

from sessions.claim_columns import micros
from sessions.claims import ListedClaim
from sessions.header import Claim, Header
from sessions.plain import plain
from sessions.review import Review
from sessions.role import role_of
from sessions.ruling import Standing
from tui.review.desk import Desk


def begins_blind(header: Header) -> bool:
    """Whether a session was begun without the claimed time and the competitor."""
    return header.claim.time is None and header.claim.competitor is None


def claim_for(listed: ListedClaim, *, shown: bool) -> Claim:
    """What the session of a listed claim is begun with: all of the claim, or its id alone."""
    if shown:
        return Claim(id=listed.claim, competitor=listed.competitor, time=listed.time)
    return Claim(id=listed.claim)


def is_done(finished: bool, made: bool, standings: Iterable[Standing]) -> bool:
    """Whether a review leaves nothing to look at: finished, ruled, and no run open."""
    return finished and made and Standing.OPEN not in standings


def review_done(review: Review) -> bool:
    """Whether one review of a docket is done."""
    return is_done(review.finished, review.made, (run.standing for run in review.runs))


def is_finished(desk: Desk) -> bool:
    """Whether the reviewer has finished this review."""
    return role_of(desk.session).finished


def may_know(desk: Desk) -> bool:
    """Whether the claim may be shown on the bench."""
    if not begins_blind(desk.session.header):
        return True
    ruling = desk.ruling
    return is_done(is_finished(desk), ruling.made, (run.standing for run in ruling.runs))


def claim_words(desk: Desk, listed: ListedClaim | None) -> str:
    """The claim as far as the reviewer may know it; empty where there is none."""
    claim = desk.session.header.claim
    if not may_know(desk):
        return "" if claim.id is None else f"claim {plain(claim.id)}: hidden until you finish"
    if listed is not None:
        record = f", record {listed.record} s" if listed.record else ", no record"
        words = f"{listed.time} s by {listed.competitor} in {listed.division}{record}"
        return plain(f"claim {listed.claim}: {words}")
    parts = [claim.id or "", f"{claim.time} s" if claim.time else "", claim.competitor or ""]
    return plain("claim " + ", ".join(part for part in parts if part)) if any(parts) else ""


def read_in(desk: Desk, listed: ListedClaim) -> str:
    """In which runs the display read the claimed time, and how these stand."""
    wanted = micros(listed.time)
    runs = [run for run in desk.ruling.runs if run.time and micros(run.time) == wanted]
    if not runs:
        return "No run on this footage reads the claimed time."
    named = ", ".join(f"run {run.run} ({run.standing})" for run in runs)
    return f"The claimed time is read in {named}."
