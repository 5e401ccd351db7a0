"""The order of work: within an event and division, the fastest claim that beats the record first.

The time to beat is the claim's standing record, or a faster time that already stands by a ruling in
this docket. When a claim falls, the next fastest run that stands on its footage takes its place in
that comparison; so the next claim comes up only if it beats that run too. A claim that cannot beat
the time any more is set aside and says why; it stays in the list. Common practice, no source.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby

from sessions.docket.claim_state import ClaimState, State
from sessions.docket.claims import ListedClaim
from sessions.exact import micros

Contest = tuple[str, str]

OUT_OF_REACH = "does not beat the standing record of {0} s"
OVERTAKEN = "does not beat {0} s, which stands by claim {1}"


@dataclass(frozen=True)
class Placed:
    """A claim in its place: ``set_aside`` says why it needs no look, ``place`` counts from 0.

    ``overtaken_by`` is the claim whose standing time it does not beat, where that is why.
    ``place`` is the claim's place among those of its event and division that are still to be ruled;
    the claim with place 0 is on top. It is ``None`` where the claim is ruled or set aside.
    """

    state: ClaimState
    set_aside: str = ""
    place: int | None = None
    overtaken_by: str = ""

    def is_due(self, reviewer: str | None = None) -> bool:
        """Whether the claim waits for a look, by this reviewer where one is named."""
        if self.place is None or reviewer is None or self.state.state is State.DIFFERING:
            return self.place is not None
        return not self.state.finished_by(reviewer)


def contest_of(claim: ListedClaim) -> Contest:
    """The event and division in which a claim is made; its claims share one standing record."""
    return claim.event, claim.division


def arrange(states: Iterable[ClaimState]) -> tuple[Placed, ...]:
    """All claims by event, division, claimed time ascending and id."""
    ordered = sorted(states, key=_place)
    return tuple(
        placed for _, group in groupby(ordered, key=_contest) for placed in _placed(list(group))
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


def _placed(group: Sequence[ClaimState]) -> Iterator[Placed]:
    fastest = min(standing_times(group), default=None)
    place = 0
    for state in group:
        set_aside, by = ("", "") if state.is_ruled else _set_aside(state, fastest)
        waits = not state.is_ruled and not set_aside
        yield Placed(state, set_aside, place if waits else None, by)
        place += waits


def _set_aside(state: ClaimState, fastest: tuple[int, str, str] | None) -> tuple[str, str]:
    """Why a claim cannot beat the time to beat, and the claim by which that stands, if any."""
    claim = state.claim
    if claim.record_micros is not None and claim.time_micros >= claim.record_micros:
        return OUT_OF_REACH.format(claim.record), ""
    if fastest is not None and claim.time_micros >= fastest[0]:
        return OVERTAKEN.format(fastest[1], fastest[2]), fastest[2]
    return "", ""


def _contest(state: ClaimState) -> Contest:
    return contest_of(state.claim)


def _place(state: ClaimState) -> tuple[str, str, int, str]:
    claim = state.claim
    return claim.event, claim.division, claim.time_micros, claim.claim
