"""What may be written: what contradicts the record as it stands is refused, and that is named.

The rules are those by which any session file is judged (``sessions.ruling``); the sentences here
say as well by which keys to go on.
"""

from collections.abc import Callable, Sequence

from sessions.errors import EntryRefused
from sessions.evidence.sighting import Sighting
from sessions.record.entries import Entry, Line, Look, Sighted
from sessions.record.session import Mark, Run, Session
from sessions.rules.ladder import Ladder
from sessions.ruling.brackets import brackets
from sessions.ruling.checker import Checked, Outcome
from sessions.ruling.judge import JudgedRuns


def check_fits(
    before: Session,
    after: Session,
    said: Sequence[Line],
    judged: JudgedRuns,
    key_of: Callable[[str], str],
) -> None:
    """Raises EntryRefused where the lines ``said`` would contradict what ``before`` holds.

    ``after`` is the session with them; ``key_of`` names commands in what is said. What is only
    taken back contradicts nothing.
    """
    entries = [line.entry for line in said if getattr(line.entry, "run", None) is not None]
    if not entries:
        return
    for run in after.runs:
        old = before.run(run.id)
        if run is old:
            continue
        now = judged.check(after, run)
        then = None if old is None else judged.check(before, old)
        known = then.brackets.conflicts if then is not None else frozenset()
        if fresh := now.brackets.conflicts - known:
            written = {line.seq for line in said}
            lines = [line for line in after.said_of(run.id) if line.seq not in written]
            marks = [line.entry for line in lines if isinstance(line.entry, Look | Sighted)]
            raise EntryRefused(_against(entries[-1], marks, now.ladder, min(fresh), key_of))
        if problems := [p for p in _problems(now) if then is None or p not in _problems(then)]:
            raise EntryRefused(_unfit(run, problems[0]))


def _problems(checked: Checked) -> list[str]:
    """What keeps the record of a run from holding together."""
    found = (f for f in checked.findings if f.checkpoint == "record")
    return [finding.detail for finding in found if finding.outcome is Outcome.CONFLICT]


def _unfit(run: Run, problem: str) -> str:
    return (
        f"This does not fit what is recorded of run {run.id}: {problem}. Do it at another frame, "
        "or put that right first."
    )


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
