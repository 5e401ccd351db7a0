"""The truth that dockets are held against: plain rules of states, order, register and season.

Written from the README's words, with loops and no thought of speed; times are fractions here.
Nothing of what is tested is called; its types and constants alone are used.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import combinations

from sessions.docket.claim_state import State
from sessions.docket.claims import ListedClaim
from sessions.docket.review_summary import Frames, ReviewedRun, ReviewSummary
from sessions.ruling.ruling import Standing

NOBODYS = "clock.picture"
"""That display and picture part is a doubt, and nobody's fault."""


@dataclass(frozen=True)
class Truth:
    """A claim as it must be: its state, what is ruled, and the reviews that carry that."""

    claim: ListedClaim
    state: State
    verdict: State | None
    carrying: tuple[ReviewSummary, ...]

    @property
    def beaten_by(self) -> Fraction | None:
        """The time that stands by this claim's ruling, which others have to beat."""
        if self.verdict in (State.STANDS, State.IN_DOUBT):
            return Fraction(self.claim.time)
        times = [
            Fraction(run.time)
            for review in self.carrying[:1]
            for run in review.runs
            if run.standing is Standing.STANDS and run.time
        ]
        if self.verdict not in (State.NO_ATTEMPT, State.NOT_PROVEN):
            times = [time for time in times if time > Fraction(self.claim.time)]
        return min(times, default=None)


def truth_of(claim: ListedClaim, reviews: Sequence[ReviewSummary]) -> Truth:
    """What two reviewers or more make of a claim; ``reviews`` by their last entry's time."""
    words = {review.sha256: verdict(claim, review) for review in reviews}
    ruling = [r for r in reviews if words[r.sha256] is not None]
    own = [review for review in ruling if not review.settles]
    if not own:
        return Truth(claim, State.OPEN if reviews else State.UNTOUCHED, None, ())
    for review in ruling:
        if review.settles and set(review.settles) == {one.sha256 for one in own}:
            return Truth(claim, State.SETTLED, words[review.sha256], (review,))
    for one, other in combinations(own, 2):
        if words[one.sha256] is not words[other.sha256] or not alike(one, other):
            return Truth(claim, State.DIFFERING, None, ())
    word = words[own[0].sha256]
    if word is None or len({review.reviewer for review in own}) < 2:
        return Truth(claim, State.AWAITING, None, ())
    return Truth(claim, word, word, tuple(own))


def verdict(claim: ListedClaim, review: ReviewSummary) -> State | None:
    """What one review rules of the claimed time, if anything."""
    own_event = claim.event.endswith(".toml")
    usable = not review.problem and (own_event or review.event == claim.event)
    runs = claimed(claim, review)
    if not usable or not review.finished or not review.made:
        return None
    if any(run.standing is Standing.OPEN for run in runs):
        return None
    standing = [run for run in runs if run.standing is Standing.STANDS]
    if standing:
        doubts = [run.doubtful or NOBODYS in run.broken for run in standing]
        return State.IN_DOUBT if all(doubts) else State.STANDS
    if review.unwatched:
        return None
    if any(run.standing is Standing.VOID for run in runs):
        return State.VOID
    if any(run.standing is Standing.NOT_PROVEN for run in runs):
        return State.NOT_PROVEN
    if runs:
        return State.SCRATCH
    return State.NOT_PROVEN if review.not_shown else State.NO_ATTEMPT


def claimed(claim: ListedClaim, review: ReviewSummary) -> list[ReviewedRun]:
    """The runs that read the time; else those that nobody could read and that may have read it."""
    time = Fraction(claim.time)
    read = [run for run in review.runs if run.time and Fraction(run.time) == time]
    return read or [run for run in review.runs if is_a_riddle(run, time)]


def is_a_riddle(run: ReviewedRun, time: Fraction) -> bool:
    """Whether nobody could read a run that may yet be good, and the picture leaves it the time."""
    if run.time or run.standing not in (Standing.STANDS, Standing.NOT_PROVEN):
        return False
    bounds = [Fraction(bound) for bound in run.possible or ()]
    return not bounds or (bounds[0] < time and time < bounds[1])


def alike(one: ReviewSummary, other: ReviewSummary) -> bool:
    """Whether two reviews saw the same footage, and the same of each attempt in it."""
    if one.footage_sha256 != other.footage_sha256 or len(one.runs) != len(other.runs):
        return False
    return all(same(a, b) for a, b in zip(one.runs, other.runs, strict=True))


def same(one: ReviewedRun, other: ReviewedRun) -> bool:
    """Whether two say the same of an attempt, with the clock's instants near enough."""
    times = [run.time and Fraction(run.time) for run in (one, other)]
    return (
        one.number == other.number
        and one.standing is other.standing
        and times[0] == times[1]
        and one.broken == other.broken
        and near(one.start, other.start)
        and near(one.stop, other.stop)
    )


def near(one: Frames | None, other: Frames | None) -> bool:
    """Whether no more frames lie between two brackets than the narrower is wide."""
    if one is None or other is None:
        return True
    between = max(one[0], other[0]) - min(one[1], other[1])
    return between <= min(one[1] - one[0], other[1] - other[0])


# -- the order of work


def is_out(truth: Truth, among: Sequence[Truth], both_hold: bool = True) -> bool:
    """Whether a claim that is not ruled needs no look: it is too slow, or its run is ruled.

    Whose time equals another's reaches it where the league lets both hold the record.
    """
    time = Fraction(truth.claim.time)
    to_beat = [Fraction(truth.claim.record)] if truth.claim.record else []
    rivals = [other for other in among if contest(other) == contest(truth)]
    to_beat += [other.beaten_by for other in rivals if other.beaten_by is not None]
    slow = any(time > other or (time == other and not both_hold) for other in to_beat)
    return truth.verdict is None and (slow or any(has_ruled(other, truth) for other in rivals))


def contest(truth: Truth) -> tuple[str, str]:
    return truth.claim.event, truth.claim.division


def has_ruled(other: Truth, truth: Truth) -> bool:
    """Whether a ruled claim has the very run that another of the same competitor is made on."""
    if not other.carrying or other.claim.competitor != truth.claim.competitor:
        return False
    for run in other.carrying[0].runs:
        reads = run.time is not None and Fraction(run.time) == Fraction(truth.claim.time)
        same_tape = other.claim.footage == truth.claim.footage
        if reads and (same_tape or run.standing is Standing.STANDS):
            return True
    return False


def faster_unclaimed(truth: Truth, truths: Sequence[Truth]) -> set[Fraction]:
    """Times that stand on a ruled claim's footage, faster than claimed, that nobody claims."""
    mine = {
        Fraction(other.claim.time)
        for other in truths
        if contest(other) == contest(truth) and other.claim.competitor == truth.claim.competitor
    }
    standing = {
        Fraction(run.time)
        for review in truth.carrying[:1]
        for run in review.runs
        if run.time and run.standing is Standing.STANDS
    }
    return {time for time in standing if time < Fraction(truth.claim.time)} - mine


def turns(truths: Sequence[Truth]) -> dict[str, int]:
    """The place of every claim that waits, from 0 in each event and division, the fastest first."""
    found: dict[str, int] = {}
    waiting = [t for t in truths if t.verdict is None and not is_out(t, truths)]
    for truth in waiting:
        before = [
            other
            for other in waiting
            if (other.claim.event, other.claim.division)
            == (truth.claim.event, truth.claim.division)
            and (Fraction(other.claim.time), other.claim.claim)
            < (Fraction(truth.claim.time), truth.claim.claim)
        ]
        found[truth.claim.claim] = len(before)
    return found


def next_up(truths: Sequence[Truth], reviews: Sequence[ReviewSummary], reviewer: str) -> set[str]:
    """The claims any of which the reviewer may be led to: the first place that waits for them."""
    due = {
        claim: place
        for claim, place in turns(truths).items()
        if next(t for t in truths if t.claim.claim == claim).state is State.DIFFERING
        or not any(is_over(truths, review, reviewer, claim) for review in reviews)
    }
    return {claim for claim, place in due.items() if place == min(due.values())}


def is_over(truths: Sequence[Truth], review: ReviewSummary, reviewer: str, claim: str) -> bool:
    """Whether a reviewer finished a claim, and need not watch more of its footage."""
    if (review.claim, review.reviewer) != (claim, reviewer) or review.settles:
        return False
    listed = next(t.claim for t in truths if t.claim.claim == claim)
    held = any(run.standing in (Standing.STANDS, Standing.OPEN) for run in claimed(listed, review))
    return review.finished and not (review.made and review.unwatched and not held)


# -- register and season


def faults(truths: Sequence[Truth]) -> dict[tuple[str, str], int]:
    """How many runs of ruled footage a rule took, by rule and event; shared footage once."""
    counts: dict[tuple[str, str], int] = {}
    seen: list[tuple[str, str]] = []
    for truth in truths:
        for review in truth.carrying[:1]:
            if (review.footage_sha256, review.event) in seen:
                continue
            seen.append((review.footage_sha256, review.event))
            for run in review.runs:
                fell = run.standing in (Standing.SCRATCH, Standing.VOID)
                for rule in set(run.broken) - {NOBODYS} if fell else ():
                    counts[rule, review.event] = counts.get((rule, review.event), 0) + 1
    return counts


def told(truth: Truth) -> tuple[set[str], set[str]]:
    """The rules broken and the doubts in the runs that read the claimed time of a ruled claim."""
    runs = claimed(truth.claim, truth.carrying[0])
    broken = {rule for run in runs for rule in run.broken}
    doubts = {rule for run in runs for rule in run.doubtful}
    return broken - {NOBODYS}, doubts | broken & {NOBODYS}


def contradicted(truth: Truth, truths: Sequence[Truth]) -> set[str]:
    """The claims on the same footage whose rulings say otherwise of an attempt."""
    return {
        other.claim.claim
        for other in truths
        for one in truth.carrying[:1]
        for two in other.carrying[:1]
        if (one.footage_sha256, one.event) == (two.footage_sha256, two.event)
        for a in one.runs
        for b in two.runs
        if a.number == b.number
        and (a.standing, a.time and Fraction(a.time), a.broken, a.doubtful)
        != (b.standing, b.time and Fraction(b.time), b.broken, b.doubtful)
    }
