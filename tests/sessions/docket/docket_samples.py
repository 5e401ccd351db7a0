"""Dockets to test with: invented claims, reviews of them, and session files on the disk."""

from collections.abc import Iterable
from pathlib import Path

from sessions.docket.claim_state import ClaimState, State, state_of
from sessions.docket.claims import ListedClaim, write_claims
from sessions.docket.docket import Docket, DocketFolder
from sessions.docket.review_summary import ReviewedRun, ReviewSummary
from sessions.record.entries import Entry, Finished
from sessions.record.header import Claim, Header
from sessions.record.journal import Journal
from sessions.rules.events import load_event
from sessions.ruling.ruling import Standing
from tests.sessions.samples import footage, header, standing_session

FINISHED = Finished(blind=True)
STANDING_TIME = "4.004"
"""What the display shows after the faultless run of a 3-3-3 in the samples."""


def claim(
    claim_id: str = "C-1",
    time: str = "6.000",
    record: str = "7.000",
    event: str = "3-3-3",
    division: str = "U10",
) -> ListedClaim:
    return ListedClaim(claim_id, event, division, f"S-{claim_id}", time, record, "footage/a.mp4")


LISTED = claim("C-1", STANDING_TIME)


def run(
    time: str | None,
    standing: Standing = Standing.STANDS,
    broken: Iterable[str] = (),
    doubtful: Iterable[str] = (),
    number: int = 1,
) -> ReviewedRun:
    return ReviewedRun(number, standing, time, tuple(broken), tuple(doubtful))


def scratched(time: str, number: int = 1, rule: str = "start.still") -> ReviewedRun:
    return run(time, Standing.SCRATCH, [rule], number=number)


def review(
    *runs: ReviewedRun,
    reviewer: str = "one",
    claim_id: str = "C-1",
    finished: bool = True,
    made: bool = True,
    settles: tuple[str, ...] = (),
    event: str = "3-3-3",
    footage_sha256: str = "f" * 64,
) -> ReviewSummary:
    """A review with these runs, its best time the least that stands."""
    standing = [r.time for r in runs if r.standing is Standing.STANDS and r.time]
    return ReviewSummary(
        claim=claim_id,
        reviewer=reviewer,
        event=event,
        finished=finished,
        settles=settles,
        made=made,
        best_time=min(standing, key=float, default=None),
        runs=runs,
        footage_sha256=footage_sha256,
        sha256=f"hash of {claim_id} by {reviewer}",
        last_at=f"2031-05-04T09:30:0{len(reviewer) % 10}Z",
    )


def ruled(listed: ListedClaim, *runs: ReviewedRun, footage_sha256: str = "f" * 64) -> ClaimState:
    """A claim that two reviewers rule alike."""
    reviews = [
        review(
            *runs, reviewer=name, claim_id=listed.claim, event=listed.event,
            footage_sha256=footage_sha256,
        )
        for name in ("one", "two")
    ]  # fmt: skip
    return state_of(listed, reviews)


def session_header(claim_id: str | None, reviewer: str) -> Header:
    made = header("3-3-3")
    return Header(
        made=made.made,
        program=made.program,
        footage=footage(),
        event=load_event("3-3-3"),
        claim=Claim(id=claim_id),
        reviewer=reviewer,
    )


def write_session(path: Path, head: Header, entries: Iterable[Entry]) -> None:
    with Journal.create(path, head, now=lambda: head.made) as journal:
        for entry in entries:
            journal.append(entry)


def standing_review(folder: DocketFolder, claim_id: str, reviewer: str) -> Path:
    """A finished session file in which one run stands."""
    head = session_header(claim_id, reviewer)
    path = folder.session(claim_id, reviewer)
    write_session(path, head, [*standing_session(head), FINISHED])
    return path


def new_docket(path: Path, claims: Iterable[ListedClaim]) -> DocketFolder:
    folder = DocketFolder(path)
    folder.sessions.mkdir(parents=True)
    write_claims(folder.claims_file, claims)
    return folder


def states(docket: Docket) -> dict[str, State]:
    """The state of each claim, by its id."""
    return {placed.state.claim.claim: placed.state.state for placed in docket.placed}
