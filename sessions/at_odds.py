"""Claims on the same footage whose rulings say different things of the same attempt."""

from collections.abc import Iterable, Sequence
from dataclasses import replace

from sessions.claim_columns import micros
from sessions.claim_state import ClaimState
from sessions.review import Review

Fate = tuple[object, ...]


def compared(states: Iterable[ClaimState]) -> list[ClaimState]:
    """All states, each ruled one with the claims whose rulings contradict it, in its order.

    Rulings on the same footage and event contradict each other where an attempt that both know
    has another standing, time or broken rule, or a doubt in one that the other has not.
    """
    found = list(states)
    groups: dict[tuple[str, str], list[int]] = {}
    for at, state in enumerate(found):
        for review in state.deciding[:1]:
            groups.setdefault((review.footage_sha256, review.event), []).append(at)
    for group in groups.values():
        for at in group if len(group) > 1 else ():
            odds = _odds(found[at], [found[other] for other in group if other != at])
            found[at] = replace(found[at], at_odds=odds)
    return found


def _odds(state: ClaimState, others: Sequence[ClaimState]) -> tuple[str, ...]:
    own = _fates(state.deciding[0])
    return tuple(
        other.claim.claim
        for other in others
        if any(own.get(number, fate) != fate for number, fate in _fates(other.deciding[0]).items())
    )


def _fates(review: Review) -> dict[int, Fate]:
    return {
        run.number: (run.standing, run.time and micros(run.time), run.broken, run.doubtful)
        for run in review.runs
    }
