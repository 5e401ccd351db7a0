"""The state of a claim, derived from the reviews of its session files and from nothing else."""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from itertools import combinations

from sessions.docket.claims import ListedClaim
from sessions.docket.review_summary import ReviewedRun, ReviewSummary
from sessions.ruling.ruling import Standing


class State(StrEnum):
    """Where a claim stands in the docket."""

    UNTOUCHED = "untouched"
    OPEN = "open"
    AWAITING = "awaiting second review"
    DIFFERING = "differing"
    STANDS = "stands"
    IN_DOUBT = "in doubt"
    SCRATCH = "scratch"
    VOID = "void"
    NOT_PROVEN = "not proven"
    NO_ATTEMPT = "no such attempt"
    SETTLED = "settled"


VERDICTS = (
    State.STANDS, State.IN_DOUBT, State.SCRATCH, State.VOID, State.NOT_PROVEN, State.NO_ATTEMPT,
)  # fmt: skip
"""What can be ruled of a claim. In doubt: the claimed time stands, with a rule not proven.

Not proven: the footage does not show what would prove the time or refute it. No such attempt: no
attempt on the footage reads the claimed time, and all of it was watched.
"""


@dataclass(frozen=True)
class ClaimState:
    """A claim with its reviews; ``verdict`` and ``deciding`` only where it is ruled.

    ``deciding`` are the reviews that carry the ruling: those that agree, or the one that settles.
    ``problems`` says of session files what keeps them from counting; ``issued`` is the number of
    the last ruling issued on the claim, 0 where none was. ``is_read`` is whether all sessions on it
    were: while they are not, the rest is of those that were. ``at_odds`` are the claims on the
    same footage whose rulings contradict this one.
    """

    claim: ListedClaim
    state: State
    verdict: State | None
    deciding: tuple[ReviewSummary, ...]
    reviews: tuple[ReviewSummary, ...]
    problems: tuple[str, ...]
    issued: int = 0
    is_read: bool = True
    at_odds: tuple[str, ...] = ()

    @property
    def is_ruled(self) -> bool:
        """Whether nothing more is due on this claim."""
        return self.verdict is not None

    @property
    def is_to_issue(self) -> bool:
        """Whether the claim is ruled and no document was issued of that yet."""
        return self.is_ruled and not self.issued

    @property
    def is_registered(self) -> bool:
        """Whether the claim is ruled, or was when a ruling on it was issued."""
        return self.is_ruled or self.issued > 0

    @property
    def claimed_runs(self) -> tuple[ReviewedRun, ...]:
        """The runs that read the claimed time, where the claim is ruled."""
        return self.deciding[0].reading(self.claim.time) if self.deciding else ()

    @property
    def counted(self) -> tuple[ReviewSummary, ...]:
        """The reviews behind the ruling: those that agree, or those settled and what settles."""
        settled = {sha256 for review in self.deciding for sha256 in review.settles}
        return (*(r for r in self.reviews if r.sha256 in settled), *self.deciding)

    @property
    def settled_otherwise(self) -> tuple[str, ...]:
        """Who settled the same reviews as well, and came to something else: the first counts."""
        if self.state is not State.SETTLED:
            return ()
        first = self.deciding[0]
        also = (r for r in self.reviews if r is not first and set(r.settles) == set(first.settles))
        ruled = ((r, verdict_of(self.claim, r)) for r in also)
        return tuple(
            r.reviewer
            for r, verdict in ruled
            if verdict and (verdict is not self.verdict or not _agree(r, first))
        )

    @property
    def ruled_time(self) -> str | None:
        """The claimed time where it stands; else the next slower time on the footage that does.

        A claim of which no attempt reads the time takes the fastest that stands.
        """
        if not self.deciding:
            return None
        return standing_time(self.claim, self.deciding[0], self.verdict)

    @property
    def unwatched(self) -> tuple[str, ...]:
        """Finished reviews that rule nothing yet, as the claimed time may stand in what they left.

        A sentence each, which tells that none of their runs upholds the time.
        """
        return tuple(
            f"{r.reviewer} found no run by which the claimed time stands, but {r.unwatched}: open "
            "the review again with a reason, and watch the rest."
            for r in self.reviews
            if _left_footage(self.claim, r)
        )

    def finished_by(self, reviewer: str) -> bool:
        """Whether this reviewer has finished a review of the claim, and need not watch the rest."""
        own = (r for r in self.reviews if r.reviewer == reviewer and not r.settles)
        return any(r.finished and not _left_footage(self.claim, r) for r in own)


def state_of(
    claim: ListedClaim,
    reviews: Sequence[ReviewSummary],
    reviews_due: int = 2,
    issued: int = 0,
    *,
    is_read: bool = True,
) -> ClaimState:
    """The state of a claim that ``reviews_due`` reviewers must rule alike."""
    faults = [_fault(claim, review) for review in reviews]
    sound = [review for review, fault in zip(reviews, faults, strict=True) if not fault]
    ruling = [(r, verdict) for r in sound if (verdict := verdict_of(claim, r)) is not None]
    state, deciding = _decide(ruling, reviews_due)
    if state is State.UNTOUCHED and reviews:
        state = State.OPEN
    verdict = next((ruled for r, ruled in ruling if deciding and r is deciding[0]), None)
    said = zip(reviews, faults, strict=True)
    problems = tuple(f"the session by {r.reviewer} {fault}" for r, fault in said if fault)
    return ClaimState(claim, state, verdict, deciding, tuple(reviews), problems, issued, is_read)


def _decide(
    ruling: Sequence[tuple[ReviewSummary, State]], reviews_due: int
) -> tuple[State, tuple[ReviewSummary, ...]]:
    """What reviews that rule come to together, and those that carry the ruling."""
    finished = tuple((r, verdict) for r, verdict in ruling if not r.settles)
    if not finished:
        return State.UNTOUCHED, ()
    hashes = {review.sha256 for review, _ in finished}
    for review, _ in ruling:
        if set(review.settles) == hashes:
            return State.SETTLED, (review,)
    (_, ruled), *others = finished
    agree = all(_agree(one, other) for (one, _), (other, _) in combinations(finished, 2))
    if not agree or any(verdict is not ruled for _, verdict in others):
        return State.DIFFERING, ()
    if len({review.reviewer for review, _ in finished}) < reviews_due:
        return State.AWAITING, ()
    return ruled, tuple(review for review, _ in finished)


def verdict_of(claim: ListedClaim, review: ReviewSummary) -> State | None:
    """What a finished review rules of the claimed time; nothing while it leaves that open.

    That the time stands takes the run alone, and what comes before it; that it falls takes all of
    the footage, as another run may read the same time.
    """
    claimed = review.reading(claim.time)
    standings = {run.standing for run in claimed}
    if not review.finished or not review.made or Standing.OPEN in standings:
        return None
    if Standing.STANDS in standings:
        sound = any(r.standing is Standing.STANDS and not r.is_doubtful for r in claimed)
        return State.STANDS if sound else State.IN_DOUBT
    return None if review.unwatched else _fallen(standings, review)


def standing_time(claim: ListedClaim, review: ReviewSummary, verdict: State | None) -> str | None:
    """The time that stands where a review comes to this verdict on a claim, if any does."""
    if verdict in (State.STANDS, State.IN_DOUBT):
        return claim.time
    if verdict in (State.NO_ATTEMPT, State.NOT_PROVEN):
        return review.best_time
    return review.best_time_above(claim.time)


def _fallen(standings: set[Standing], review: ReviewSummary) -> State:
    """What becomes of a claim by whose time no run stands, in footage that was watched."""
    if Standing.VOID in standings:
        return State.VOID
    if Standing.NOT_PROVEN in standings or (not standings and review.not_shown):
        return State.NOT_PROVEN
    return State.SCRATCH if standings else State.NO_ATTEMPT


def _left_footage(claim: ListedClaim, review: ReviewSummary) -> bool:
    """Whether a finished review leaves open only what is in the footage that nobody watched."""
    if not review.finished or not review.made or not review.unwatched:
        return False
    standings = {run.standing for run in review.reading(claim.time)}
    return not standings & {Standing.STANDS, Standing.OPEN}


def _fault(claim: ListedClaim, review: ReviewSummary) -> str:
    if review.problem or claim.event.endswith(".toml") or review.event == claim.event:
        return review.problem
    return f"judges the event {review.event}, not {claim.event} as the claims file says"


def _agree(one: ReviewSummary, other: ReviewSummary) -> bool:
    """Whether two reviews have in common what they must, beside the verdict: the footage, the fate
    of each attempt, and where its clock started and stopped.

    Doubts count through the verdict alone, and other brackets through what they lead to.
    """
    if _fates(one) != _fates(other):
        return False
    return not any(run.is_apart(same) for run, same in zip(one.runs, other.runs, strict=True))


def _fates(review: ReviewSummary) -> tuple[object, ...]:
    return review.footage_sha256, *((run.number, run.fate) for run in review.runs)
