"""How a session decides what reviews differ on: a reason for it holds as long as that does."""

from sessions.record.session import Session
from sessions.ruling.brackets import brackets
from sessions.ruling.fumbles import run_ladder
from sessions.ruling.judge import rule
from sessions.ruling.ruling import RuledFinding, RuledRun, Ruling
from sessions.settling.agreement import CUPS
from sessions.settling.differences import Difference, Matter
from sessions.settling.opinions import of_checkpoint, of_instant, of_reading

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
