"""Finishing a review: what is still open, the entry that says it is done, and what comes after."""

import math
from collections.abc import Iterator, Sequence
from fractions import Fraction

from sessions.docket.blindness import begins_blind, is_done
from sessions.docket.claims import ListedClaim
from sessions.errors import EntryRefused
from sessions.exact import micros
from sessions.plural import nouns, plural
from sessions.record.entries import Finished, Played
from sessions.record.role import role_of
from sessions.record.session import Run
from sessions.ruling.brackets import Outcome
from sessions.ruling.checker import due_checkpoints
from sessions.ruling.ruling import RuledRun, Standing
from sessions.ruling.timing import seconds_text
from sessions.ruling.whole_footage import check_cups, never_shown
from sessions.sanitize import sanitize
from tui.bench.review import Review
from tui.bench.rows import clock_of

NAMED = 3
"""Checkpoints of a run that are named before the rest is only counted."""

WATCH = "Run {0} is a scratch now: before you finish, watch it once at full speed, start to stop."

LEAST_PICTURES = 8
"""Pictures drawn a second of footage, on average, from which playing counts as having watched it.

Common practice, no source: fewer show single postures, and not how one came of the other.
"""

TOO_COARSE = (
    "Run {0} is a scratch that was played at full speed, but with only {1} pictures drawn a "
    "second; {2} are needed. Use a faster line, a smaller terminal or no lens, let nothing else "
    "run, and play it again from before its start to its stop."
)

REOPENED = "Amending: what is changed now is told in the ruling. Finish again when you are done."


def finish(review: Review) -> str:
    """Say that the review is done; raises EntryRefused where it was said already."""
    check_unfinished(review)
    again = is_finished(review)
    review.write(Finished(blind=begins_blind(review.session.header) and not again))
    return "The review is finished."


def reopen(review: Review, reason: str) -> str:
    """Take a finished review up again; raises EntryRefused where no reason is given.

    Nothing is written yet: a reason without a change leaves the review as it was.
    """
    review.amending = checked_reason(reason)
    return REOPENED


def check_unfinished(review: Review) -> None:
    """Raises EntryRefused where the review is finished already, or settles others."""
    if role_of(review.session).settles:
        raise EntryRefused(
            "A settling is finished where its differences are listed: leave the bench first."
        )
    review.check_read()
    if review.is_closed:
        raise EntryRefused("This review is finished already.")


def still_open(review: Review, accept: str = "Accept the reading") -> list[str]:
    """What a finished review would leave open, a sentence each; ``accept`` is a key's name."""
    return [
        *_runs(review, accept),
        *(f"Problem: {problem}." for problem in review.ruling.problems),
        *_cups(review),
        *filter(None, [unseen_text(review)]),
    ]


def accepted_readings(review: Review) -> list[str]:
    """Readings that were accepted against the picture, with the reasons; one a line."""
    return [
        f"Run {run.id}: {clock.words}. Accepted: {said.reason.rstrip('.')}."
        for run in review.session.runs
        if run.counts and (clock := clock_of(review, run)) is not None and clock.state == "fault"
        for said in run.acceptances
    ]


def missing(review: Review) -> str:
    """What keeps the ruling open, by name and in few words; empty where nothing does."""
    runs = [run for run in review.ruling.runs if run.standing is Standing.OPEN]
    if review.ruling.made or not runs:
        return ""
    parts = [f"run {run.run}: {gaps}" for run in runs if (gaps := ", ".join(_gaps(review, run)))]
    if left := cups_left(review):
        parts.append(f"{nouns(len(left), 'cup')} {numbers_text(left)} not cleared")
    return f"open, {'; '.join(parts)}" if parts else ""


def _gaps(review: Review, ruled: RuledRun) -> Iterator[str]:
    """What a run lacks, as the ruling line has room for."""
    run = review.session.run(ruled.run)
    assert run is not None
    if due := len(list(due_checkpoints(review.checked(run)))):
        yield plural(due, "checkpoint")
    if not run.readings:
        yield "no reading"
    if _is_clock_open(run, ruled):
        yield "clock contradicts the picture"
    yield from (f"{f.title.lower()} contradictory" for f in ruled.with_outcome(Outcome.CONFLICT))
    if run.ends is None:
        yield "not ended"


def _is_clock_open(run: Run, ruled: RuledRun) -> bool:
    """Whether the picture contradicts the reading, and nobody has accepted it."""
    refuted = ruled.with_outcome(Outcome.REFUTED)
    return not run.acceptances and any(finding.checkpoint == "clock" for finding in refuted)


def _runs(review: Review, accept: str) -> Iterator[str]:
    if not review.session.runs:
        yield "No run was begun yet."
    for ruled in review.ruling.runs:
        run = review.session.run(ruled.run)
        assert run is not None
        if ruled.ends is None:
            yield f"Run {ruled.run} is not ended."
        if ruled.standing is Standing.OPEN and (looks := _open_checkpoints(ruled)):
            yield f"Run {ruled.run} is open: {looks}."
        if run.counts and _is_clock_open(run, ruled) and (clock := clock_of(review, run)):
            yield (
                f"Run {ruled.run}: {clock.words}. Read the display again, or accept the "
                f"reading with a reason ({accept})."
            )
        if ruled.standing is Standing.SCRATCH and not was_watched(review, ruled.run):
            yield _unwatched(review, ruled.run)


def _unwatched(review: Review, run_id: int) -> str:
    coarse = [_rate(review, played) for played in _over(review, run_id)]
    if coarse:
        most = Fraction(math.floor(max(coarse) * 10), 10)
        return TOO_COARSE.format(run_id, seconds_text(most, 1), LEAST_PICTURES)
    return (
        f"Run {run_id} is a scratch that was not yet watched at full speed: go to before its "
        "start, set the speed to 1x and play it to its stop."
    )


def _open_checkpoints(run: RuledRun) -> str:
    found = run.with_outcome(Outcome.UNLOOKED, Outcome.CONFLICT)
    named = ", ".join(finding.title for finding in found[:NAMED])
    return named + (f" and {len(found) - NAMED} more" if len(found) > NAMED else "")


def cups_left(review: Review) -> list[int]:
    """The cups that are not cleared."""
    return [found.cup for found in check_cups(review.session) if found.outcome.is_open]


def _cups(review: Review) -> Iterator[str]:
    if left := cups_left(review):
        yield f"Not cleared: {nouns(len(left), 'cup')} {numbers_text(left)}."


def unseen_text(review: Review) -> str:
    """The stretches of the footage that were never shown, in a sentence; empty where all was."""
    words = never_shown(review.seen.all.missing(review.frames), review.frames)
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


def was_watched(review: Review, run_id: int) -> bool:
    """Whether a run was played from its start to its stop at full speed, without a pause.

    Slow motion makes a fault look meant: Caruso et al., PNAS 113 (2016) 9250, from memory. Where
    fewer pictures than ``LEAST_PICTURES`` a second were drawn, it was not watched.
    """
    return any(_is_fine(review, played) for played in _over(review, run_id))


def _over(review: Review, run_id: int) -> Iterator[Played]:
    """What was played at full speed over the whole of a run."""
    run = review.session.run(run_id)
    if run is None:
        return
    brackets = review.checked(run).brackets
    start, stop = brackets["start"].by, brackets["stop"].by
    if start is None or stop is None:
        return
    for line in review.session.live:
        played = line.entry
        if not isinstance(played, Played) or played.speed != "1":
            continue
        if played.first <= start and stop <= played.last:
            yield played


def _is_fine(review: Review, played: Played) -> bool:
    """Whether enough was drawn; all frames are enough, and older sessions do not say."""
    if played.drawn is None or played.drawn > played.last - played.first:
        return True
    return _rate(review, played) >= LEAST_PICTURES


def _rate(review: Review, played: Played) -> Fraction:
    """Pictures drawn a second of footage, over what was played."""
    footage = review.session.header.footage
    first, last = (footage.seconds(review.stamp(frame)) for frame in (played.first, played.last))
    return Fraction(played.drawn or 0) / (last - first) if last > first else Fraction(0)


class Unwatched:
    """Says once a run that it has become a scratch before it was watched at full speed."""

    def __init__(self, review: Review) -> None:
        self._told = {run.run for run in review.ruling.runs if run.standing is Standing.SCRATCH}

    def after(self, review: Review) -> str:
        """What to add to what a command says; a settling rests on reviews that were watched."""
        if role_of(review.session).settles:
            return ""
        for run in review.ruling.runs:
            if run.standing is Standing.SCRATCH and run.run not in self._told:
                self._told.add(run.run)
                return "" if was_watched(review, run.run) else WATCH.format(run.run)
        return ""


# -- reasons as reviewers type them


def checked_reason(text: str) -> str:
    """A reason as typed, without blanks around it; raises EntryRefused where there is none."""
    words = text.strip()
    if not 0 < len(words) <= 2000:
        raise EntryRefused("A reason is needed: type 1 to 2000 characters.")
    return words


# -- the claim under review, as far as the reviewer may know it by ``sessions.docket.blindness``


def is_finished(review: Review) -> bool:
    """Whether the reviewer has finished this review."""
    return role_of(review.session).finished


def may_know(review: Review) -> bool:
    """Whether the claim may be shown on the bench."""
    if not begins_blind(review.session.header):
        return True
    ruling = review.ruling
    return is_done(is_finished(review), ruling.decided, (run.standing for run in ruling.runs))


def claim_words(review: Review, listed: ListedClaim | None) -> str:
    """The claim as far as the reviewer may know it; empty where there is none."""
    claim = review.session.header.claim
    if not may_know(review):
        return "" if claim.id is None else f"claim {sanitize(claim.id)}: hidden until you finish"
    if listed is not None:
        record = f", record {listed.record} s" if listed.record else ", no record"
        words = f"{listed.time} s by {listed.competitor} in {listed.division}{record}"
        return sanitize(f"claim {listed.claim}: {words}")
    parts = [claim.id or "", f"{claim.time} s" if claim.time else "", claim.competitor or ""]
    return sanitize("claim " + ", ".join(part for part in parts if part)) if any(parts) else ""


def read_in(review: Review, listed: ListedClaim) -> str:
    """In which runs the display read the claimed time, and how these stand."""
    wanted = micros(listed.time)
    runs = [run for run in review.ruling.runs if run.time and micros(run.time) == wanted]
    if not runs:
        return "No run on this footage reads the claimed time."
    named = ", ".join(f"run {run.run} ({run.standing})" for run in runs)
    return f"The claimed time is read in {named}."
