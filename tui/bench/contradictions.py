"""What may be written: a tag that contradicts those that stand is refused, and they are named."""

from collections.abc import Callable, Iterator, Sequence

from sessions.errors import EntryRefused
from sessions.evidence.sighting import Sighting
from sessions.record.entries import Entry, Line, Look, Retracted, Sighted
from sessions.record.journal import utc_now
from sessions.record.session import Mark, Session, fold
from sessions.rules.ladder import Ladder
from sessions.ruling.brackets import brackets
from sessions.ruling.checker import Checked, check_run
from sessions.ruling.fumbles import run_ladder

GENESIS = "0" * 64


def check_fits(
    session: Session,
    before: Checked,
    entry: Entry,
    replaces: int | None,
    key_of: Callable[[str], str],
    retracts: Sequence[int] = (),
) -> None:
    """Raises EntryRefused where an entry would contradict what is tagged in its run.

    ``before`` is the run as it was judged so far; ``key_of`` names commands in what is said, and
    ``retracts`` the lines that are taken back with it.
    """
    *taken_back, trial = _trial(len(session.lines) + 1, entry, replaces, retracts)
    after = fold(session.header, [*session.lines, *taken_back, trial])
    run = after.run(before.run.id)
    if run is None:
        return
    fresh = check_run(after, run).brackets.conflicts - before.brackets.conflicts
    if not fresh:
        return
    others = [line.entry for line in after.live if line is not trial]
    marks = [m for m in others if isinstance(m, Look | Sighted) and m.run == run.id]
    ladder = run_ladder(session.header.event, run.fumbles)
    raise EntryRefused(_against(entry, marks, ladder, min(fresh), key_of))


def _trial(
    first: int, entry: Entry, replaces: int | None, retracts: Sequence[int]
) -> Iterator[Line]:
    """The lines that would be written, the entry last, as if they were."""
    written = [*((Retracted(seq=seq), None) for seq in retracts), (entry, replaces)]
    for number, (said, amended) in enumerate(written, first):
        yield Line(seq=number, at=utc_now(), prev=GENESIS, entry=said, replaces=amended)


def _against(
    entry: Entry, marks: list[Mark], ladder: Ladder, moment: str, key_of: Callable[[str], str]
) -> str:
    """Which tag an entry contradicts, where it must lie to agree, or how to take that tag back."""
    told = brackets(ladder, marks)[moment]
    words = ladder.moments[moment].words
    keys = f"{key_of('ladder.list')} for its checkpoint, then {key_of('retract')}"
    take_back = f"take that tag back first ({keys})"
    if not isinstance(entry, Look | Sighted):
        return f'This contradicts an earlier tag of "{words}"; look again, or {take_back}.'
    against = next((mark for mark in reversed(marks) if _excludes(entry, mark, ladder)), None)
    so, way = _way(entry, told)
    tag = f'an earlier tag of "{words}"{so}'
    if against is not None:
        checkpoint = ladder.checkpoint(
            against.checkpoint if isinstance(against, Look) else against.moment
        )
        tag = f'the tag "{checkpoint.title if checkpoint else ""}" at frame {against.by.frame}'
    return f"Frame {entry.by.frame} contradicts {tag}: {way}, or {take_back}."


def _excludes(entry: Mark, mark: Mark, ladder: Ladder) -> bool:
    """Whether two tags cannot both be true."""
    return bool(brackets(ladder, [entry, mark]).conflicts)


def _way(entry: Mark, told: Sighting) -> tuple[str, str]:
    """What was told of a moment, and where a tag must lie to agree with it."""
    frame = entry.by.frame
    if told.after is not None and frame <= told.after:
        return f", not yet so in frame {told.after}", f"go to {told.after + 1} or later"
    if told.by is not None and frame >= told.by:
        last = told.by if isinstance(entry, Sighted) else told.by - 1
        return f", so in frame {told.by}", f"go to {last} or earlier"
    return ", at another time", "look again"
