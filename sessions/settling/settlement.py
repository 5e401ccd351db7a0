"""How a settling session decides what reviews differ on, and what it settled, in words.

A reason for a decision holds as long as that does. What was settled is told without the reviews.
"""

from sessions.record.entries import DifferenceSettled
from sessions.record.session import Session
from sessions.ruling.brackets import brackets
from sessions.ruling.fumbles import run_ladder
from sessions.ruling.judge import rule
from sessions.ruling.ruling import Place, RuledFinding, RuledRun, Ruling, place_of
from sessions.settling.agreement import CUPS
from sessions.settling.differences import TITLES, Difference, Matter, cup_title
from sessions.settling.opinions import of_checkpoint, of_instant, of_reading
from sessions.validation import Frozen

DECIDED = frozenset(
    {Matter.CHECKPOINT, Matter.INSTANT, Matter.CLOCK, Matter.READING, Matter.CUP}
)  # fmt: skip
"""Matters that the settling session itself must have decided to count as settled."""


def decision(dispute: Difference, session: Session, ruling: Ruling | None = None) -> str | None:
    """How a session decides a difference, as text to compare; ``None`` where it does not.

    ``ruling`` is the session's, where it is at hand.
    """
    if dispute.matter is Matter.INSTANT:
        return _sighted(dispute, session)
    ruling = rule(session) if ruling is None else ruling
    if dispute.run is None:
        cups = {f"{CUPS}.{cup.cup}": cup.outcome for cup in ruling.cups}
        outcome = cups.get(dispute.subject)
        return None if outcome is None or outcome.is_open else str(outcome)
    ruled = _ruled(dispute, ruling)
    return None if ruled is None else _in_run(dispute, ruled)


def _in_run(dispute: Difference, ruled: RuledRun) -> str | None:
    if dispute.matter is Matter.READING:
        return ruled.time
    finding = _finding(dispute, ruled)
    if finding is None or finding.outcome.is_open:
        return None
    timed = f" {ruled.time}" if dispute.matter is Matter.CLOCK else ""
    return f"{finding.outcome}{timed}"


def frame_found(dispute: Difference, session: Session, ruling: Ruling) -> int | None:
    """The frame by which a session decided what reviews differ on in a run; none of other matters.

    For a checkpoint that is its last look's, for the clock's reading where the display was read.
    """
    ruled = _ruled(dispute, ruling)
    run = session.run(dispute.run or 0)
    if ruled is None or run is None:
        return None
    if dispute.matter is Matter.INSTANT:
        return of_instant("", ruled, run, dispute.subject).frame
    if dispute.matter is Matter.READING:
        return of_reading("", ruled, run).frame
    finding = _finding(dispute, ruled)
    return None if finding is None else of_checkpoint("", finding, run).frame


def _ruled(dispute: Difference, ruling: Ruling) -> RuledRun | None:
    return next((run for run in ruling.runs if run.run == dispute.run), None)


def _finding(dispute: Difference, ruled: RuledRun) -> RuledFinding | None:
    """What came of the checkpoint, or of the clock, that a difference is about."""
    return next((f for f in ruled.findings if f.checkpoint == dispute.subject), None)


def _sighted(dispute: Difference, session: Session) -> str | None:
    """The bracket of an instant that the session sighted."""
    run = session.run(dispute.run or 0)
    if run is None:
        return None
    found = brackets(run_ladder(session.header.event, run.fumbles), run.marks)
    return str(found[dispute.subject]) if found.is_sighted(dispute.subject) else None


class SettledPoint(Frozen):
    """One difference as it was settled: whose finding was ``taken`` (nobody's: looked at again).

    ``run`` is the run that it is in, ``None`` for a cup; ``at`` are the frames that were named.
    """

    run: int | None
    title: str
    taken: str | None
    reason: str
    at: tuple[Place, ...]


def settled_points(session: Session, ruling: Ruling) -> tuple[SettledPoint, ...]:
    """Every difference that a session settles, in the order in which that was done."""
    entries = (line.entry for line in session.live)
    return tuple(
        _point(entry, session, ruling) for entry in entries if isinstance(entry, DifferenceSettled)
    )


def _point(entry: DifferenceSettled, session: Session, ruling: Ruling) -> SettledPoint:
    run, title = _subject(entry.difference, ruling)
    return SettledPoint(
        run=run,
        title=title,
        taken=entry.taken,
        reason=entry.reason,
        at=tuple(place_of(session.header.footage, spot.frame, spot.pts) for spot in entry.at),
    )


def _subject(key: str, ruling: Ruling) -> tuple[int | None, str]:
    """The run and the title of a difference by its key; its subject where it has no title.

    A key that this program never writes is its own title, and of no run.
    """
    cup = key.removeprefix(f"{CUPS}.")
    if cup != key and _is_number(cup):
        return None, cup_title(int(cup))
    number, _, subject = key.partition(".")
    if not _is_number(number):
        return None, key
    runs = (run for run in ruling.runs if str(run.run) == number)
    titles = {f.checkpoint: f.title for run in runs for f in run.findings} | TITLES
    return int(number), titles.get(subject, subject)


def _is_number(text: str) -> bool:
    return text.isascii() and text.isdecimal()
