"""Issuing rulings from a docket: that of one claim, or all that have no documents yet.

A document rests on the session that rules the claim, and tells of all reviews that count.
"""

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, replace
from datetime import datetime
from hashlib import sha256
from pathlib import Path

from sessions.docket.blindness import claim_for
from sessions.docket.claim_state import ClaimState
from sessions.docket.docket import Docket, DocketFolder
from sessions.docket.records import Advance
from sessions.docket.register import file_stem
from sessions.docket.review_summary import ReviewSummary
from sessions.errors import DocumentError, FootageError, SessionError
from sessions.record.journal import utc_now
from tui.documents.issued_files import issued_rulings
from tui.documents.issuing import Documents, IssueWish, issue
from tui.documents.league import load_league
from tui.documents.pages import (
    DocketFacts,
    NewRecord,
    RecordHeld,
    ReviewFacts,
    RulingDocument,
)
from tui.documents.records import record_with
from tui.documents.sources import Listing, read_whole_session, session_facts
from tui.footage.cache import Progress


@dataclass(frozen=True, slots=True)
class LastIssued:
    """The last ruling issued on a claim.

    ``holds`` is whether it rests on the same sessions that rule the claim now.
    """

    number: int
    day: str
    holds: bool


def issue_claim(
    docket: Docket,
    state: ClaimState,
    wish: IssueWish,
    folder: Path | None = None,
    now: Callable[[], datetime] = utc_now,
    progress: Progress | None = None,
) -> Documents:
    """Issue the ruling of a ruled claim into the docket's folder of rulings, or another one.

    The league is that of the docket's ``league.toml`` where the wish names none. Raises
    DocumentError for a claim that is not ruled, else as ``issue``.
    """
    place, review = docket.folder, ruling_review(state)
    wish = with_league(place, wish)
    listing = _listing(docket, state, f"{now():%Y-%m-%d}", anonymous=wish.anonymous)
    return issue(
        place.session(review.claim, review.reviewer, settling=bool(review.settles)),
        place.inside(state.claim.footage),
        folder or place.rulings,
        replace(wish, listing=listing),
        now,
        progress,
    )


def with_league(folder: DocketFolder, wish: IssueWish) -> IssueWish:
    """A wish with the docket's own league, where there is one and the wish names none."""
    if wish.league is None and folder.league_file.exists():
        return replace(wish, league=load_league(folder.league_file))
    return wish


def ruling_review(state: ClaimState) -> ReviewSummary:
    """The review from which a claim is ruled: the one that settles, else the earliest finished.

    Raises DocumentError where the claim is not ruled.
    """
    if not state.deciding:
        raise DocumentError(
            f"Claim {state.claim.claim} is not ruled yet (it is {state.state}); documents are "
            "issued once it is."
        )
    return state.deciding[0]


def last_issued(folder: DocketFolder, state: ClaimState) -> LastIssued | None:
    """The last ruling issued on a claim, if any was; raises DocumentError for a damaged one."""
    issued = issued_rulings(folder.rulings, file_stem(state.claim.claim))
    if not issued:
        return None
    document = issued[-1].document
    holds = bool(state.deciding) and _digests(document) == {
        *(review.sha256 for review in state.counted if not review.settles),
        state.deciding[0].sha256,
    }
    return LastIssued(issued[-1].number, document.issued[:10], holds)


def _digests(document: RulingDocument) -> set[str]:
    """The SHA-256 of every session that a document rests on."""
    reviews = () if document.docket is None else document.docket.reviews
    return {document.session.sha256, *(review.sha256 for review in reviews)}


def _listing(docket: Docket, state: ClaimState, today: str, *, anonymous: bool) -> Listing:
    listed, folder = state.claim, docket.folder
    reviews = (review for review in state.counted if not review.settles)
    facts = DocketFacts(
        division=listed.division,
        record=listed.record,
        claims_sha256=sha256(_bytes(folder.claims_file)).hexdigest(),
        reviews=tuple(_facts(folder, review, listed.time) for review in reviews),
        new_record=_new_record(record_with(docket, state, today), anonymous),
    )
    return Listing(claim_for(listed, shown=True), facts)


def _new_record(advance: Advance | None, anonymous: bool) -> NewRecord | None:
    if advance is None:
        return None
    before = (
        RecordHeld(
            time=held.time,
            holder=None if anonymous else held.holder or None,
            day=held.day or None,
        )
        for held in advance.before
    )
    return NewRecord(time=advance.held.time, before=tuple(before))


def _bytes(path: Path) -> bytes:
    try:
        return path.read_bytes()
    except OSError as error:
        raise DocumentError(
            f"The claims file {path} cannot be read ({error.strerror}); put it back."
        ) from None


def _facts(folder: DocketFolder, review: ReviewSummary, time: str) -> ReviewFacts:
    path = folder.session(review.claim, review.reviewer)
    session, digest = read_whole_session(path)
    if digest != review.sha256:
        raise DocumentError(f"The review {path} was changed just now; try once more.")
    facts = session_facts(session, path, digest, anonymous=False)
    return ReviewFacts(
        reviewer=review.reviewer,
        sha256=digest,
        begun=facts.begun,
        finished=facts.finished,
        blind=facts.blind,
        taken_over=facts.taken_over,
        amended=facts.amended,
        shown=len(session.shown),
        claimed=bool(review.reading(time)),
    )


AT_ODDS = (
    "its ruling contradicts that on another claim on the same footage, which the docket names to "
    "whoever may know it; look at both, then issue it by itself."
)


def outstanding(states: Iterable[ClaimState]) -> tuple[ClaimState, ...]:
    """The ruled claims on which nothing was issued yet, in the order given."""
    return tuple(state for state in states if state.is_to_issue)


def issue_each(
    docket: Docket,
    states: Iterable[ClaimState],
    wish: IssueWish,
    now: Callable[[], datetime] = utc_now,
    progress: Progress | None = None,
) -> Iterator[tuple[ClaimState, Documents | str]]:
    """Issue the rulings of claims; yields what was written for each, or why it was left out.

    One that contradicts another on the same footage is left out. Raises DocumentError, with
    nothing issued, where the league's words cannot be read.
    """
    wish = with_league(docket.folder, wish)
    for state in states:
        yield state, _issue(docket, state, wish, now, progress)


def _issue(
    docket: Docket,
    state: ClaimState,
    wish: IssueWish,
    now: Callable[[], datetime],
    progress: Progress | None,
) -> Documents | str:
    if state.at_odds:
        return AT_ODDS
    try:
        return issue_claim(docket, state, wish, now=now, progress=progress)
    except (DocumentError, SessionError, FootageError) as error:
        return str(error)
