"""The claim under review, as far as the reviewer may know it by ``sessions.docket.blindness``."""

from sessions.docket.blindness import begins_blind, is_done
from sessions.docket.claims import ListedClaim
from sessions.exact import micros
from sessions.record.role import role_of
from sessions.sanitize import sanitize
from tui.bench.review import Review


def is_finished(review: Review) -> bool:
    """Whether the reviewer has finished this review."""
    return role_of(review.session).finished


def may_know(review: Review) -> bool:
    """Whether the claim may be shown on the bench."""
    if not begins_blind(review.session.header):
        return True
    ruling = review.ruling
    return is_done(is_finished(review), ruling.decided, (run.standing for run in ruling.runs))


def claim_words(review: Review, listed: ListedClaim | None) -> str:
    """The claim as far as the reviewer may know it; empty where there is none."""
    claim = review.session.header.claim
    if not may_know(review):
        return "" if claim.id is None else f"claim {sanitize(claim.id)}: hidden until you finish"
    if listed is not None:
        record = f", record {listed.record} s" if listed.record else ", no record"
        words = f"{listed.time} s by {listed.competitor} in {listed.division}{record}"
        return sanitize(f"claim {listed.claim}: {words}")
    parts = [claim.id or "", f"{claim.time} s" if claim.time else "", claim.competitor or ""]
    return sanitize("claim " + ", ".join(part for part in parts if part)) if any(parts) else ""


def read_in(review: Review, listed: ListedClaim) -> str:
    """In which runs the display read the claimed time, and how these stand."""
    wanted = micros(listed.time)
    runs = [run for run in review.ruling.runs if run.time and micros(run.time) == wanted]
    if not runs:
        return "No run on this footage reads the claimed time."
    named = ", ".join(f"run {run.run} ({run.standing})" for run in runs)
    return f"The claimed time is read in {named}."
