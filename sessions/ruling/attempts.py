"""Counting attempts: each timed run takes the next number, each starting over spends one more."""

from collections.abc import Iterable
from dataclasses import dataclass

from sessions.record.session import Run


@dataclass(frozen=True, slots=True)
class Attempt:
    """An attempt number: performed as ``run``, or spent where ``run`` was started over."""

    number: int
    run: int
    spent: bool = False


def count_attempts(runs: Iterable[Run]) -> tuple[Attempt, ...]:
    """The attempts of runs given in the order of the footage; others than attempts take none."""
    attempts: list[Attempt] = []
    for run in runs:
        if not run.counts:
            continue
        attempts.append(Attempt(len(attempts) + 1, run.id))
        for _ in run.restarts:
            attempts.append(Attempt(len(attempts) + 1, run.id, spent=True))
    return tuple(attempts)


def number_of(run_id: int, attempts: Iterable[Attempt]) -> int | None:
    """The attempt number of a run, if it takes one."""
    return next((a.number for a in attempts if a.run == run_id and not a.spent), None)


def explain_number(run_id: int, runs: Iterable[Run], attempts: Iterable[Attempt]) -> str:
    """Why a run counts as the attempt that it counts as, in words."""
    counted = [run for run in runs if run.counts]
    place = [run.id for run in counted].index(run_id) + 1
    number = number_of(run_id, attempts)
    spent = [a for a in attempts if a.spent and number is not None and a.number < number]
    if not spent:
        return f"timed run {place} counts as attempt {number}"
    times = "once" if len(spent) == 1 else f"{len(spent)} times"
    return (
        f"timed run {place} counts as attempt {number}, because the event was started over "
        f"{times} before it, which spends an attempt each time"
    )
