"""What a ruling says of the claimed time, where it knows one; that comes before the best time."""

from sessions.plural import joined
from sessions.ruling.checker import Outcome
from sessions.ruling.ruling import Lacking, RuledRun, Ruling, Standing

_FALLEN = {
    Standing.SCRATCH: "is a scratch",
    Standing.VOID: "is void",
    Standing.NOT_PROVEN: "is not proven",
    Standing.UNCOUNTED: "does not count",
}


def claimed_runs(ruling: Ruling) -> tuple[RuledRun, ...]:
    """The runs that read the claimed time."""
    return tuple(run for run in ruling.runs if run.run in ruling.claimed_runs)


def upheld(ruling: Ruling) -> RuledRun | None:
    """The run by which the claimed time stands, if it does; one without a doubt where there is."""
    standing = [run for run in claimed_runs(ruling) if run.standing is Standing.STANDS]
    return min(standing, key=lambda run: is_doubtful(ruling, run), default=None)


def is_not_proven(ruling: Ruling) -> bool:
    """Whether the claim ends as not proven: it may be so, and the footage does not show it.

    No run by which it stands or falls in all ways is there then, and one that may have read the
    time is not proven, or the footage fails to show something throughout and no run reads it.
    """
    if not ruling.made or ruling.claim.time is None or upheld(ruling) is not None:
        return False
    standings = {run.standing for run in claimed_runs(ruling)}
    if Standing.VOID in standings:
        return False
    return Standing.NOT_PROVEN in standings or (not standings and bool(ruling.not_shown))


def not_shown(ruling: Ruling) -> tuple[Lacking, ...]:
    """What the footage fails to show for the claim: for its runs, and throughout."""
    found = [lack for run in claimed_runs(ruling) for lack in run.not_shown]
    return tuple(dict.fromkeys((*found, *ruling.not_shown)))


def is_doubtful(ruling: Ruling, run: RuledRun) -> bool:
    """Whether something of a run, or of the cups, is unproven, or its display contradicted."""
    cups = any(cup.outcome is Outcome.UNPROVEN for cup in ruling.cups)
    return cups or bool(run.doubts)


def verdict_words(ruling: Ruling) -> str:
    """The ruling in short: the claimed time's verdict and then the best time, where it has both."""
    if not ruling.made or ruling.claim.time is None:
        return ruling.summary
    run = upheld(ruling)
    best = _best(ruling, run)
    if is_not_proven(ruling):
        return f"The claimed time of {ruling.claim.time} s is not proven: {_lacks(ruling)}.{best}"
    if run is None:
        return f"The claimed time of {ruling.claim.time} s does not stand: {_why(ruling)}.{best}"
    doubt = "; a doubt is noted" if is_doubtful(ruling, run) else ""
    return f"The claimed time of {ruling.claim.time} s stands: {_named(run)}{doubt}.{best}"


def _named(run: RuledRun) -> str:
    return f"run {run.run}" + ("" if run.number is None else f", attempt {run.number}")


def _lacks(ruling: Ruling) -> str:
    """What the footage does not show, and for which run."""
    lacks = [f"{lack.title[:1].lower()}{lack.title[1:]}" for lack in not_shown(ruling)]
    runs = [_named(run) for run in claimed_runs(ruling) if run.standing is Standing.NOT_PROVEN]
    on = f" of {joined(runs)}" if runs else ""
    return f"the footage does not show {joined(lacks)}{on}"


def _why(ruling: Ruling) -> str:
    fallen = [f"{_named(run)} {_FALLEN[run.standing]}" for run in claimed_runs(ruling)]
    if fallen:
        return "; ".join(fallen)
    if any(run.number is not None for run in ruling.runs):
        return "no run on this footage reads it"
    return "no attempt is on this footage"


def _best(ruling: Ruling, run: RuledRun | None) -> str:
    if ruling.unwatched:
        return f" What else the footage shows is open: {ruling.unwatched}."
    if ruling.best_time is None:
        return " No time on this footage stands." if run is None else ""
    if run is not None and run.run == ruling.best_run:
        return " It is the best on this footage that stands."
    best = next(one for one in ruling.runs if one.run == ruling.best_run)
    return f" The best on this footage that stands is {ruling.best_time} s: {_named(best)}."
