"""What a ruling says of the claimed time, where it knows one; that comes before the best time."""

from sessions.ruling.checker import Outcome
from sessions.ruling.ruling import RuledRun, Ruling, Standing

_FALLEN = {
    Standing.SCRATCH: "is a scratch",
    Standing.VOID: "is void",
    Standing.UNCOUNTED: "does not count",
}


def claimed_runs(ruling: Ruling) -> tuple[RuledRun, ...]:
    """The runs that read the claimed time."""
    return tuple(run for run in ruling.runs if run.run in ruling.claimed_runs)


def upheld(ruling: Ruling) -> RuledRun | None:
    """The run by which the claimed time stands, if it does; one without a doubt where there is."""
    standing = [run for run in claimed_runs(ruling) if run.standing is Standing.STANDS]
    return min(standing, key=lambda run: is_doubtful(ruling, run), default=None)


def is_doubtful(ruling: Ruling, run: RuledRun) -> bool:
    """Whether the picture leaves something of a run, or of the cups, unproven."""
    cups = any(cup.outcome is Outcome.UNPROVEN for cup in ruling.cups)
    return cups or bool(run.with_outcome(Outcome.UNPROVEN))


def verdict_words(ruling: Ruling) -> str:
    """The ruling in short: the claimed time's verdict and then the best time, where it has both."""
    if not ruling.made or ruling.claim.time is None:
        return ruling.summary
    run = upheld(ruling)
    best = _best(ruling, run)
    if run is None:
        return f"The claimed time of {ruling.claim.time} s does not stand: {_why(ruling)}.{best}"
    doubt = "; a doubt is noted" if is_doubtful(ruling, run) else ""
    return f"The claimed time of {ruling.claim.time} s stands: {_named(run)}{doubt}.{best}"


def _named(run: RuledRun) -> str:
    return f"run {run.run}" + ("" if run.number is None else f", attempt {run.number}")


def _why(ruling: Ruling) -> str:
    fallen = [f"{_named(run)} {_FALLEN[run.standing]}" for run in claimed_runs(ruling)]
    return "; ".join(fallen) or "no run on this footage reads it"


def _best(ruling: Ruling, run: RuledRun | None) -> str:
    if ruling.best_time is None:
        return " No time on this footage stands."
    if run is not None and run.run == ruling.best_run:
        return " It is the best on this footage that stands."
    best = next(one for one in ruling.runs if one.run == ruling.best_run)
    return f" The best on this footage that stands is {ruling.best_time} s: {_named(best)}."
