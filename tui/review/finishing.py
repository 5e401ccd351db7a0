"""Finishing a review: what is still open, the entry that says it is done, and what comes after."""

import math
from collections.abc import Iterator, Sequence
from fractions import Fraction

from sessions.checker import Outcome
from sessions.counted import counted, nouns
from sessions.coverage import never_shown
from sessions.due import due_steps
from sessions.entries import Finished, Played
from sessions.equipment import check_cups
from sessions.errors import EntryRefused
from sessions.role import role_of
from sessions.ruling import RuledRun, Standing
from sessions.session import Run
from sessions.timing import seconds_text
from tui.review.blind import begins_blind, is_finished
from tui.review.desk import Desk
from tui.review.reasons import checked_reason
from tui.review.rows import clock_of

NAMED = 3
"""Steps of a run that are named before the rest is only counted."""

WATCH = "Run {0} is a scratch now: before you finish, watch it once at full speed, start to stop."

LEAST_PICTURES = 8
"""Pictures drawn a second of footage, on average, from which playing counts as having watched it.

Common practice, no source: fewer show single postures, and not how one came of the other.
"""

TOO_COARSE = (
    "Run {0} is a scratch that was played at full speed, but with only {1} pictures drawn a "
    "second; {2} are needed. Use a faster line, a smaller terminal or no loupe, let nothing else "
    "run, and play it again from before its start to its stop."
)

REOPENED = "Amending: what is changed now is told in the ruling. Finish again when you are done."


def finish(desk: Desk) -> str:
    """Say that the review is done; raises EntryRefused where it was said already."""
    check_unfinished(desk)
    again = is_finished(desk)
    desk.write(Finished(blind=begins_blind(desk.session.header) and not again))
    return "The review is finished."


def reopen(desk: Desk, reason: str) -> str:
    """Take a finished review up again; raises EntryRefused where no reason is given.

    Nothing is written yet: a reason without a change leaves the review as it was.
    """
    desk.amending = checked_reason(reason)
    return REOPENED


def check_unfinished(desk: Desk) -> None:
    """Raises EntryRefused where the review is finished already, or settles others."""
    if role_of(desk.session).settles:
        raise EntryRefused("A settling is finished where its differences are listed: leave first.")
    if desk.is_closed:
        raise EntryRefused("This review is finished already.")


def still_open(desk: Desk, settle: str = "Settle the clock") -> list[str]:
    """What a finished review would leave open, a sentence each; ``settle`` is the key for that."""
    return [
        *_runs(desk, settle),
        *(f"Problem: {problem}." for problem in desk.ruling.problems),
        *_cups(desk),
        *filter(None, [unseen_text(desk)]),
    ]


def settled_clocks(desk: Desk) -> list[str]:
    """Contradictions of clock and picture that were settled, with the reasons; one a line."""
    return [
        f"Run {run.id}: {clock.words}. Settled: {said.reason.rstrip('.')}."
        for run in desk.session.runs
        if run.counts and (clock := clock_of(desk, run)) is not None and clock.state == "fault"
        for said in run.settled
    ]


def missing(desk: Desk) -> str:
    """What keeps the ruling open, by name and in few words; empty where nothing does."""
    runs = [run for run in desk.ruling.runs if run.standing is Standing.OPEN]
    if desk.ruling.made or not runs:
        return ""
    parts = [f"run {run.run}: {gaps}" for run in runs if (gaps := ", ".join(_gaps(desk, run)))]
    if left := _left(desk):
        parts.append(f"{nouns(len(left), 'cup')} {numbers_text(left)} not cleared")
    return f"open, {'; '.join(parts)}" if parts else ""


def _gaps(desk: Desk, ruled: RuledRun) -> Iterator[str]:
    """What a run lacks, as the ruling line has room for."""
    run = desk.session.run(ruled.run)
    assert run is not None
    if due := len(list(due_steps(desk.checked(run)))):
        yield counted(due, "step")
    if not run.readings:
        yield "no reading"
    if _is_clock_open(run, ruled):
        yield "clock contradicts the picture"
    yield from (f"{f.title.lower()} contradictory" for f in ruled.with_outcome(Outcome.CONFLICT))
    if run.ends is None:
        yield "not closed"


def _is_clock_open(run: Run, ruled: RuledRun) -> bool:
    """Whether clock and picture contradict each other, and nobody has settled it."""
    refuted = ruled.with_outcome(Outcome.REFUTED)
    return not run.settled and any(finding.checkpoint == "clock" for finding in refuted)


def _runs(desk: Desk, settle: str) -> Iterator[str]:
    if not desk.session.runs:
        yield "No run was opened yet."
    for ruled in desk.ruling.runs:
        run = desk.session.run(ruled.run)
        assert run is not None
        if ruled.ends is None:
            yield f"Run {ruled.run} is not closed."
        if ruled.standing is Standing.OPEN and (looks := _open_steps(ruled)):
            yield f"Run {ruled.run} is open: {looks}."
        if run.counts and _is_clock_open(run, ruled) and (clock := clock_of(desk, run)):
            yield (
                f"Run {ruled.run}: {clock.words}. Read the display again, or settle it with a "
                f"reason ({settle})."
            )
        if ruled.standing is Standing.SCRATCH and not was_watched(desk, ruled.run):
            yield _unwatched(desk, ruled.run)


def _unwatched(desk: Desk, run_id: int) -> str:
    coarse = [_rate(desk, played) for played in _over(desk, run_id)]
    if coarse:
        most = Fraction(math.floor(max(coarse) * 10), 10)
        return TOO_COARSE.format(run_id, seconds_text(most, 1), LEAST_PICTURES)
    return (
        f"Run {run_id} is a scratch that was not yet watched at full speed: go to before its "
        "start, set the speed to 1x and play it to its stop."
    )


def _open_steps(run: RuledRun) -> str:
    found = run.with_outcome(Outcome.UNLOOKED, Outcome.CONFLICT)
    named = ", ".join(finding.title for finding in found[:NAMED])
    return named + (f" and {len(found) - NAMED} more" if len(found) > NAMED else "")


def _left(desk: Desk) -> list[int]:
    """The cups that are not cleared."""
    return [found.cup for found in check_cups(desk.session) if found.outcome.is_open]


def _cups(desk: Desk) -> Iterator[str]:
    if left := _left(desk):
        yield f"Not cleared: {nouns(len(left), 'cup')} {numbers_text(left)}."


def unseen_text(desk: Desk) -> str:
    """The stretches of the footage that were never shown, in a sentence; empty where all was."""
    words = never_shown(desk.seen.all.missing(desk.frames), desk.frames)
    return f"{words}." if words else ""


def numbers_text(numbers: Sequence[int]) -> str:
    """Sorted numbers with neighbours drawn together: ``4, 6-9``."""
    parts: list[list[int]] = []
    for number in numbers:
        if parts and number == parts[-1][-1] + 1:
            parts[-1].append(number)
        else:
            parts.append([number])
    return ", ".join(str(p[0]) if len(p) == 1 else f"{p[0]}-{p[-1]}" for p in parts)


def was_watched(desk: Desk, run_id: int) -> bool:
    """Whether a run was played from its start to its stop at full speed, without a pause.

    Slow motion makes a fault look meant: Caruso et al., PNAS 113 (2016) 9250, from memory. Where
    fewer pictures than ``LEAST_PICTURES`` a second were drawn, it was not watched.
    """
    return any(_is_fine(desk, played) for played in _over(desk, run_id))


def _over(desk: Desk, run_id: int) -> Iterator[Played]:
    """What was played at full speed over the whole of a run."""
    run = desk.session.run(run_id)
    if run is None:
        return
    brackets = desk.checked(run).brackets
    start, stop = brackets["start"].by, brackets["stop"].by
    if start is None or stop is None:
        return
    for line in desk.session.live:
        played = line.entry
        if not isinstance(played, Played) or played.speed != "1":
            continue
        if played.first <= start and stop <= played.last:
            yield played


def _is_fine(desk: Desk, played: Played) -> bool:
    """Whether enough was drawn; all frames are enough, and older sessions do not say."""
    if played.drawn is None or played.drawn > played.last - played.first:
        return True
    return _rate(desk, played) >= LEAST_PICTURES


def _rate(desk: Desk, played: Played) -> Fraction:
    """Pictures drawn a second of footage, over what was played."""
    footage = desk.session.header.footage
    first, last = (footage.seconds(desk.stamp(frame)) for frame in (played.first, played.last))
    return Fraction(played.drawn or 0) / (last - first) if last > first else Fraction(0)


class Unwatched:
    """Says once a run that it has become a scratch before it was watched at full speed."""

    def __init__(self, desk: Desk) -> None:
        self._told = {run.run for run in desk.ruling.runs if run.standing is Standing.SCRATCH}

    def after(self, desk: Desk) -> str:
        """What to add to what a deed says; a settling rests on reviews that were watched."""
        if role_of(desk.session).settles:
            return ""
        for run in desk.ruling.runs:
            if run.standing is Standing.SCRATCH and run.run not in self._told:
                self._told.add(run.run)
                return "" if was_watched(desk, run.run) else WATCH.format(run.run)
        return ""
