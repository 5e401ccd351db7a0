"""Claims on the same footage whose rulings say different things of the same attempt."""

from collections.abc import Iterable
from dataclasses import replace

from sessions.docket.claim_state import ClaimState
from sessions.docket.review_summary import ReviewSummary

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
