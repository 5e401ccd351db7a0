"""Which frames a document shows: two for each finding not in order, and for start and stop."""

from collections.abc import Callable, Iterator

from sessions.ruling.checker import Outcome
from sessions.ruling.ruling import Bracket, Place, RuledFinding, RuledRun, Ruling, Standing
from tui.documents.pages import Exhibit, Shot

PlaceAt = Callable[[int], Place]
"""The place of a frame, by its number."""

_CLOCK = "clock"


def subjects(ruling: Ruling) -> tuple[RuledRun, ...]:
    """The runs that the document is about: those of the claimed time, else the best."""
    wanted = ruling.claimed_runs or ((ruling.best_run,) if ruling.best_run is not None else ())
    return tuple(run for run in ruling.runs if run.run in wanted)


def told_runs(ruling: Ruling) -> tuple[RuledRun, ...]:
    """Every run that counts, those that the document is about first."""
    first = subjects(ruling)
    others = [run for run in ruling.runs if run not in first]
    return tuple(run for run in (*first, *others) if run.standing is not Standing.UNCOUNTED)


def plan(ruling: Ruling, place_at: PlaceAt) -> tuple[Exhibit, ...]:
    """All exhibits, not yet looked at, in the order of the document."""
    frames = ruling.footage.frames
    return tuple(
        exhibit
        for run in told_runs(ruling)
        for exhibit in _of_run(run, run in subjects(ruling), frames, place_at)
    )


def _of_run(run: RuledRun, subject: bool, frames: int, place_at: PlaceAt) -> Iterator[Exhibit]:
    for finding in run.findings:
        wanted = subject and finding.checkpoint == _CLOCK
        if finding.outcome is Outcome.PROVEN and not wanted:
            continue
        for number, (brackets, pair) in enumerate(_pairs(finding, frames), 1):
            yield Exhibit(
                name=f"run-{run.run}.{finding.checkpoint}.{number}",
                run=run.run,
                checkpoint=finding.checkpoint,
                moment="; ".join(bracket.moment for bracket in brackets),
                shots=(_shot(pair[0], brackets, place_at), _shot(pair[1], brackets, place_at)),
            )


Pair = tuple[int, int]


def _pairs(finding: RuledFinding, frames: int) -> Iterator[tuple[list[Bracket], Pair]]:
    """Each two frames to show, once, with the brackets that they are to be held against."""
    if finding.checkpoint == _CLOCK:
        # start and stop say nothing of each other
        clock = [bracket for bracket in (finding.met, finding.due) if bracket is not None]
        yield from (([b], pair) for b in clock if (pair := _ends(b)) is not None)
        return
    brackets = [bracket for bracket in (finding.due, finding.met) if bracket is not None]
    pairs = [pair for bracket in brackets if (pair := _ends(bracket)) is not None]
    if finding.due is not None and _ends(finding.due) is None:
        pairs[:0] = _decisive(finding.due.by, frames)
    if not pairs and finding.met is not None:
        pairs = _decisive(finding.met.by or finding.met.after, frames)
    yield from ((brackets, pair) for pair in dict.fromkeys(pairs))


def _ends(bracket: Bracket) -> Pair | None:
    """Both ends of a bracket, where it has both."""
    if bracket.after is None or bracket.by is None:
        return None
    return bracket.after.frame, bracket.by.frame


def _decisive(place: Place | None, frames: int) -> list[Pair]:
    """The frame that decides, after the one before it (or before the one after the first)."""
    if place is None or frames < 2:
        return []
    last = max(place.frame, 1)
    return [(last - 1, last)]


def _shot(frame: int, brackets: list[Bracket], place_at: PlaceAt) -> Shot:
    says = tuple(word for b in brackets if (word := _says(frame, b)))
    return Shot(place=place_at(frame), says=says)


def _says(frame: int, bracket: Bracket) -> str:
    """What a bracket says of one frame: nothing, where nobody looked."""
    if bracket.after is not None and frame <= bracket.after.frame:
        return f"not yet: {bracket.moment}"
    if bracket.by is not None and frame >= bracket.by.frame:
        return f"already so: {bracket.moment}"
    return ""
