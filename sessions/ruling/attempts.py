"""Counting attempts: each timed run takes the next number, each starting over spends one more."""

from collections.abc import Iterable
from dataclasses import dataclass

from sessions.plural import plural
from sessions.record.entries import Spot
from sessions.record.session import Run, Session


@dataclass(frozen=True, slots=True)
class Attempt:
    """An attempt number: performed as ``run``, or spent as it was started over, which is ``at``."""

    number: int
    run: int
    at: Spot | None = None

    @property
    def spent(self) -> bool:
        """Whether starting over used it up, so that it was never performed."""
        return self.at is not None


def used_before(session: Session) -> int:
    """How many attempts were used before the footage begins; the most, where entries differ."""
    return max((entry.attempts for entry in session.attempts_before), default=0)


def count_attempts(runs: Iterable[Run], before: int = 0) -> tuple[Attempt, ...]:
    """The attempts of runs given in the order of the footage; others than attempts take none.

    ``before`` are those used before the footage begins. Starting over is counted once a frame:
    entered twice at one frame, it is the same.
    """
    attempts: list[Attempt] = []
    for run in runs:
        if not run.counts:
            continue
        attempts.append(Attempt(before + len(attempts) + 1, run.id))
        for at in run.restarts:
            attempts.append(Attempt(before + len(attempts) + 1, run.id, at))
    return tuple(attempts)


def number_of(run_id: int, attempts: Iterable[Attempt]) -> int | None:
    """The attempt number of a run, if it takes one."""
    return next((a.number for a in attempts if a.run == run_id and not a.spent), None)


def explain_number(run_id: int, session: Session, attempts: Iterable[Attempt]) -> str:
    """Why a run counts as the attempt that it counts as, in words."""
    counted = [run for run in session.runs if run.counts]
    place = [run.id for run in counted].index(run_id) + 1
    number = number_of(run_id, attempts)
    spent = [a for a in attempts if a.at is not None and number is not None and a.number < number]
    words = f"timed run {place} counts as attempt {number}"
    reasons = [
        f"{plural(entry.attempts, 'attempt')} came before this footage ({entry.source})"
        for entry in session.attempts_before
    ]
    if spent:
        times = "once" if len(spent) == 1 else f"{len(spent)} times"
        where = ", ".join(f"frame {a.at.frame} of run {a.run}" for a in spent if a.at is not None)
        reasons.append(
            f"the event was started over {times} before it ({where}), which spends an attempt "
            "each time"
        )
    return f"{words}, because {' and '.join(reasons)}" if reasons else words


def uses_of(number: int, attempts: Iterable[Attempt], before: int) -> str:
    """What used up the attempts before a number, in words, such as ``attempt 1 by run 1``."""
    earlier = [a for a in attempts if a.number < number]
    parts = [f"attempt {n} before this footage" for n in range(1, before + 1)]
    parts += [
        f"attempt {a.number} by run {a.run}"
        if a.at is None
        else f"attempt {a.number} by starting over at frame {a.at.frame} of run {a.run}"
        for a in earlier
    ]
    return ", ".join(parts)
