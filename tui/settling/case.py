"""A claim whose finished reviews differ: what is to be settled, and the session that settles it."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from importlib.metadata import version
from itertools import count
from pathlib import Path

from pydantic import ValidationError

from sessions.docket.claim_state import ClaimState, verdict_of
from sessions.docket.docket import DocketFolder
from sessions.docket.review_summary import ReviewSummary, read_review
from sessions.errors import FramecallError, SessionError
from sessions.record.entries import SettledReview, Settling
from sessions.record.header import Header
from sessions.record.journal import Journal, utc_now
from sessions.record.recording import Recording, read_session
from sessions.record.session import fold
from sessions.ruling.ruling import Standing
from sessions.sanitize import sanitize
from sessions.settling.differences import Differences, Matter, differences
from sessions.validation import first_problem
from tui.settling.settlement import begin

CONSEQUENCES = frozenset({Matter.STANDING, Matter.ATTEMPT})
"""What reviews may still differ on where no checkpoint differs: only some looked at it."""


class NothingToSettle(FramecallError):
    """The reviews of a claim cannot be settled, or need no settling."""


@dataclass(frozen=True)
class Case:
    """The finished reviews of a claim: their files, what they say, and where they differ."""

    state: ClaimState
    footage: Path
    files: Mapping[Path, str]
    settling: Settling
    head: Header
    found: Differences

    def changed(self) -> str:
        """Which review is no longer as it was when settling began; empty where all are."""
        for path, digest in self.files.items():
            if _digest(path) != digest:
                return f"The review {path.name} was changed after settling began: settle anew."
        return ""


def check_own_is_finished(folder: DocketFolder, claim: str, reviewer: str) -> None:
    """Raises NothingToSettle for a reviewer who would see others' tags before finishing."""
    path = folder.session(claim, reviewer)
    if path.exists() and not read_review(path, claim, reviewer).finished:
        raise NothingToSettle(
            f"The review of claim {sanitize(claim)} by {sanitize(reviewer)} is not finished; "
            "finish it before you see what others found."
        )


def find_case(folder: DocketFolder, state: ClaimState, reviews_due: int) -> Case:
    """The reviews to settle; raises NothingToSettle where they are not finished or not apart."""
    claim = state.claim.claim
    reviews = _finished(state, reviews_due)
    files = {folder.session(claim, review.reviewer): review.sha256 for review in reviews}
    recordings = [_recording(path, digest) for path, digest in files.items()]
    _check_alike(recordings, claim)
    found = differences([fold(recording.header, recording.lines) for recording in recordings])
    if not found.disputes and not any(r.matter in CONSEQUENCES for r in found.remarks):
        raise NothingToSettle(
            f"The reviews of claim {sanitize(claim)} by {' and '.join(found.reviewers)} do not "
            "differ; there is nothing to settle."
        )
    settled = tuple(SettledReview(reviewer=r.reviewer, sha256=r.sha256) for r in reviews)
    return Case(
        state=state,
        footage=folder.inside(state.claim.footage),
        files=files,
        settling=Settling(reviews=settled),
        head=recordings[0].header,
        found=found,
    )


def _finished(state: ClaimState, due: int) -> list[ReviewSummary]:
    """The reviews that rule, by reviewer."""
    own = [review for review in state.reviews if not review.settles]
    ruling = [review for review in own if verdict_of(state.claim, review) is not None]
    if len(ruling) >= due:
        return sorted(ruling, key=lambda review: review.reviewer)
    waiting = [f"{review.reviewer} {_waits_for(review)}" for review in own if review not in ruling]
    told = f" ({', '.join(waiting)})" if waiting else ""
    raise NothingToSettle(
        f"Claim {sanitize(state.claim.claim)} has {len(ruling)} of {due} finished reviews"
        f"{sanitize(told)}; settle it once they are all finished."
    )


def _waits_for(review: ReviewSummary) -> str:
    """Why a review rules nothing yet."""
    if not review.finished:
        return "is not finished"
    is_open = not review.made or any(run.standing is Standing.OPEN for run in review.runs)
    return "left runs open" if is_open else "left footage unseen"


def _recording(path: Path, digest: str) -> Recording:
    recording = read_session(path)
    if recording.sha256 != digest:
        raise NothingToSettle(f"The review {path} was changed just now; try once more.")
    return recording


def _digest(path: Path) -> str:
    """SHA-256 of the whole lines of a session file; empty where it cannot be read."""
    try:
        return read_session(path).sha256
    except SessionError:
        return ""


def _check_alike(recordings: Sequence[Recording], claim: str) -> None:
    first, *others = [recording.header for recording in recordings]
    for other in others:
        if other.footage.sha256 != first.footage.sha256:
            what = "other footage"
        elif not other.footage.counts_as(first.footage):
            what = "footage counted otherwise (--track, --scan or --whole)"
        elif other.event != first.event:
            what = "an event defined otherwise"
        else:
            continue
        raise NothingToSettle(
            f"The review of claim {sanitize(claim)} by {sanitize(other.reviewer)} is of {what} "
            f"than that by {sanitize(first.reviewer)}; one of them must be made anew."
        )


def check_same(path: Path, case: Case) -> None:
    """Raises NothingToSettle where a settling session is of reviews as they are no longer."""
    if words := outdated(path, case):
        raise NothingToSettle(f"{words} To settle anew, add --anew; what was settled is kept.")


def outdated(path: Path, case: Case) -> str:
    """Which reviews were changed after a settling session was begun; empty where none was."""
    if not path.exists():
        return ""
    entries = (line.entry for line in read_session(path).lines)
    begun = next((entry for entry in entries if isinstance(entry, Settling)), None)
    if begun is None or begun == case.settling:
        return ""
    before = {review.reviewer: review.sha256 for review in begun.reviews}
    now = {review.reviewer: review.sha256 for review in case.settling.reviews}
    changed = sorted(name for name in before | now if before.get(name) != now.get(name))
    return (
        f"The review of claim {sanitize(case.state.claim.claim)} by "
        f"{sanitize(' and '.join(changed))} was changed after settling began, "
        "so what was settled does not hold any more."
    )


def set_aside(path: Path) -> None:
    """Keep a settling session under another name, where no docket reads it.

    Raises SessionError where the disk does not allow that.
    """
    aside = next(
        place
        for number in count(1)
        if not (place := path.with_name(f"{path.name}.aside-{number}")).exists()
    )
    try:
        path.rename(aside)
    except OSError as error:
        raise SessionError(
            f"The settling session {path} cannot be set aside ({error.strerror}); check who may "
            "write to its folder."
        ) from None


def open_journal(path: Path, case: Case, reviewer: str) -> Journal:
    """The settling session, with all that it begins with; begun if it is new."""
    if path.exists():
        journal = Journal.reopen(path)
    else:
        journal = Journal.create(path, _head(case.head, reviewer))
    with journal:
        begin(journal, case.settling, case.found)
    return Journal.reopen(path)


def _head(first: Header, reviewer: str) -> Header:
    """The first line of the settling session: as the reviews', but by whom and when."""
    fields = first.model_dump() | {
        "made": utc_now(), "program": f"framecall {version('framecall')}", "reviewer": reviewer,
        "seal": None,
    }  # fmt: skip
    try:
        return Header.model_validate(fields)
    except ValidationError as error:
        raise SessionError(
            f"The settling cannot be begun: {first_problem(error)}; give a code, --reviewer R1."
        ) from None
