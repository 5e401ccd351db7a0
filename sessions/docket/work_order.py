"""The order of work: within an event and division, the fastest claim that beats the record first.

The time to beat is the claim's standing record, or a faster time that already stands by a ruling in
this docket. When a claim falls, the next fastest run that stands on its footage takes its place in
that comparison; so the next claim comes up only if it beats that run too. A claim that cannot beat
the time any more is set aside and says why; it stays in the list. Common practice, no source.

A run is one and the same wherever it is claimed: a claim on a run that another claim of the same
competitor has ruled is ruled by that. Whether two who reach an equal time both hold the record is
the league's setting (both, from memory).
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import groupby

from sessions.docket.claim_state import ClaimState, State
from sessions.docket.claims import ListedClaim
from sessions.docket.review_summary import ReviewSummary
from sessions.exact import micros
from sessions.ruling.ruling import Standing

Contest = tuple[str, str]

OUT_OF_REACH = "does not beat the standing record of {0} s"
OVERTAKEN = "does not beat {0} s, which stands by claim {1}"
RULED_BY = "is ruled by claim {0}, {1} ({2})"


@dataclass(frozen=True)
class Placed:
    """A claim in its place: ``set_aside`` says why it needs no look, ``place`` counts from 0.

    ``overtaken_by`` is the claim whose standing time it does not beat, or that has ruled this very
    run, where that is why. ``unclaimed`` are faster times that stand on the footage of a ruled
    claim, as displayed, and that no claim of the competitor is made on.
    ``beats`` is the record, as displayed, that the time beats or equals which stands by a ruling on
    the claim, where no other in the docket is faster; empty where it does neither.
    ``place`` is the claim's place among those of its event and division that are still to be ruled;
    the claim with place 0 is on top. It is ``None`` where the claim is ruled or set aside.
    """

    state: ClaimState
    set_aside: str = ""
    place: int | None = None
    overtaken_by: str = ""
    unclaimed: tuple[str, ...] = ()
    beats: str = ""

    def is_due(self, reviewer: str | None = None) -> bool:
        """Whether the claim waits for a look, by this reviewer where one is named."""
        if self.place is None or reviewer is None or self.state.state is State.DIFFERING:
            return self.place is not None
        return not self.state.finished_by(reviewer)


def contest_of(claim: ListedClaim) -> Contest:
    """The event and division in which a claim is made; its claims share one standing record."""
    return claim.event, claim.division


def arrange(states: Iterable[ClaimState], *, both_hold: bool = True) -> tuple[Placed, ...]:
    """All claims by event, division, claimed time ascending and id.

    ``both_hold`` is whether two who reach an equal time both hold the record.
    """
    ordered = sorted(states, key=_place)
    return tuple(
        placed
        for _, group in groupby(ordered, key=_contest)
        for placed in _placed(list(group), both_hold)
    )


def next_claim(placed: Iterable[Placed], reviewer: str | None = None) -> Placed | None:
    """The claim to look at next; of a reviewer, one that they have not finished yet.

    The claims on top of their event and division come before all others.
    """
    due = (claim for claim in placed if claim.is_due(reviewer))
    return min(due, key=lambda claim: claim.place or 0, default=None)


def standing_times(states: Iterable[ClaimState]) -> Iterator[tuple[int, str, str]]:
    """Times that stand by a ruling: in microseconds, as displayed, and the claim that ruled so."""
    for state in states:
        if state.ruled_time is not None:
            yield micros(state.ruled_time), state.ruled_time, state.claim.claim


def _placed(group: Sequence[ClaimState], both_hold: bool) -> Iterator[Placed]:
    fastest = min(standing_times(group), default=None)
    ruled = [state for state in group if state.deciding]
    claimed = {(state.claim.competitor, state.claim.time_micros) for state in group}
    place = 0
    for state in group:
        set_aside, by = "", ""
        if not state.is_ruled:
            set_aside, by = _same_run(state, ruled) or _set_aside(state, fastest, both_hold)
        waits = not state.is_ruled and not set_aside
        unclaimed = tuple(_unclaimed(state, claimed))
        beats = _beaten(state, fastest, both_hold)
        yield Placed(state, set_aside, place if waits else None, by, unclaimed, beats)
        place += waits


def _beaten(state: ClaimState, fastest: tuple[int, str, str] | None, both_hold: bool) -> str:
    """The record that the time beats, or shares, which stands by a ruling on the claim."""
    before = state.claim.record_micros
    if fastest is None or before is None or state.ruled_time is None:
        return ""
    time = micros(state.ruled_time)
    reached = time < before or (time == before and both_hold)
    return state.claim.record if time == fastest[0] and reached else ""


def _same_run(state: ClaimState, ruled: Sequence[ClaimState]) -> tuple[str, str] | None:
    """By which claim the run is ruled that this one is made on, and that claim's id.

    It is the same run where the same competitor's display reads the same time: on the same footage
    whatever became of it, on other footage where it stands.
    """
    claim = state.claim
    for other in ruled:
        if other.claim.competitor != claim.competitor:
            continue
        for run in other.deciding[0].reading(claim.time):
            stands = run.standing is Standing.STANDS
            if run.time is not None and (stands or other.claim.footage == claim.footage):
                by = other.claim.claim
                return RULED_BY.format(by, run.name, run.standing), by
    return None


def _unclaimed(state: ClaimState, claimed: set[tuple[str, int]]) -> Iterator[str]:
    """Faster times on the footage of a ruled claim that stand, and that nobody claims."""
    for review in state.deciding[:1]:
        for run in review.runs:
            if run.standing is not Standing.STANDS or run.time is None:
                continue
            is_faster = micros(run.time) < state.claim.time_micros
            if is_faster and (state.claim.competitor, micros(run.time)) not in claimed:
                yield run.time


def _set_aside(
    state: ClaimState, fastest: tuple[int, str, str] | None, both_hold: bool
) -> tuple[str, str]:
    """Why a claim cannot beat the time to beat, and the claim by which that stands, if any."""
    claim = state.claim
    reached = claim.time_micros + (0 if both_hold else 1)
    if claim.record_micros is not None and reached > claim.record_micros:
        return OUT_OF_REACH.format(claim.record), ""
    if fastest is not None and reached > fastest[0]:
        return OVERTAKEN.format(fastest[1], fastest[2]), fastest[2]
    return "", ""


def _contest(state: ClaimState) -> Contest:
    return contest_of(state.claim)


def _place(state: ClaimState) -> tuple[str, str, int, str]:
    claim = state.claim
    return claim.event, claim.division, claim.time_micros, claim.claim


# -- claims on the same footage whose rulings say different things of the same attempt


Fate = tuple[object, ...]
Fates = frozenset[tuple[int, Fate]]
"""What came of each attempt, by its number; claims ruled quite alike are looked at as one."""


def compared(states: Iterable[ClaimState]) -> list[ClaimState]:
    """All states, each ruled one with the claims whose rulings contradict it, in its order.

    Rulings on the same footage and event contradict each other where an attempt that both know
    has another standing, time or broken rule, or a doubt in one that the other has not.
    """
    found = list(states)
    groups: dict[tuple[str, str], dict[Fates, list[int]]] = {}
    for at, state in enumerate(found):
        for review in state.deciding[:1]:
            alike = groups.setdefault((review.footage_sha256, review.event), {})
            alike.setdefault(_fates(review), []).append(at)
    for alike in groups.values():
        for fates, members in alike.items():
            others = sorted(
                at for other, ats in alike.items() if _contradict(fates, other) for at in ats
            )
            odds = tuple(found[at].claim.claim for at in others)
            for at in members if odds else ():
                found[at] = replace(found[at], at_odds=odds)
    return found


def _contradict(one: Fates, other: Fates) -> bool:
    """Whether two rulings say different things of an attempt that both know."""
    said = dict(other)
    return any(said.get(number, fate) != fate for number, fate in one)


def _fates(review: ReviewSummary) -> Fates:
    return frozenset((run.number, (*run.fate, run.doubtful)) for run in review.runs)
