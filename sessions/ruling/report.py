"""A ruling in words: the verdict in short, and all of it as plain text.

Where a ruling knows a claimed time, what it says of that comes before the best time.
"""

from collections.abc import Iterator

from sessions.evidence.frames import FrameSet
from sessions.plural import are, joined, nouns, plural
from sessions.record.header import FootageFacts
from sessions.ruling.brackets import Outcome
from sessions.ruling.ruling import (
    Bracket,
    Lacking,
    Place,
    RuledFinding,
    RuledRun,
    Ruling,
    Standing,
)
from sessions.ruling.timing import seconds_text
from sessions.ruling.whole_footage import damaged_words
from sessions.sanitize import sanitize

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


WORDS = {
    Outcome.PROVEN: "in order",
    Outcome.REFUTED: "FAULT",
    Outcome.UNPROVEN: "not proven",
    Outcome.UNLOOKED: "open",
    Outcome.CONFLICT: "contradiction",
}


def report(ruling: Ruling, damaged: FrameSet | None = None) -> str:
    """Everything a ruling says, with all findings that are not in order.

    ``damaged`` are the frames whose pictures are not to be trusted; ``None`` where the footage was
    not looked at for them.
    """
    return "\n".join(_lines(ruling, damaged)) + "\n"


def _lines(ruling: Ruling, damaged: FrameSet | None) -> Iterator[str]:
    yield ("RULING: " if ruling.made else "NOT YET RULED: ") + verdict_words(ruling)
    yield from _about(ruling)
    for run in ruling.runs:
        yield ""
        yield from _run(run)
    for attempt in ruling.spent:
        yield ""
        where = f"run {attempt.by_run}, {place_words(attempt.at)}"
        yield f"Attempt {attempt.number}: SCRATCH [{attempt.rule}] by {where}"
        yield f"  {attempt.reason}."
        yield f"  Right: {attempt.right}."
    yield ""
    yield from _cups(ruling)
    yield from _lacking(ruling.not_shown, "")
    yield from _coverage(ruling)
    yield from _damage(ruling, damaged)
    yield from (f"Problem: {sanitize(problem)}." for problem in ruling.problems)
    yield ""
    yield from ruling.cautions


def _about(ruling: Ruling) -> Iterator[str]:
    claim = ruling.claim
    parts = [
        f"claim {claim.id}" if claim.id else "",
        f"competitor {claim.competitor}" if claim.competitor else "",
        f"claimed time {claim.time} s" if claim.time else "",
    ]
    if any(parts):
        yield "Claim: " + sanitize(", ".join(part for part in parts if part))
    if claim.time:
        yield _claimed(ruling)
    yield f"Event: {sanitize(ruling.event)}   {sanitize(_whose(ruling))}"
    footage = ruling.footage
    counted = "" if footage.scan == "frames" else ", each field a frame"
    counted += ", with what an edit list hides" if footage.whole else ""
    yield (
        f"Footage: {sanitize(footage.name)}, {footage.frames} frames{counted}, "
        f"SHA-256 {footage.sha256}"
    )
    yield from (f"  {line}" for line in footage_lines(footage))
    if ruling.best_run is not None and ruling.faster_but_not_standing:
        runs = ", ".join(f"run {run}" for run in ruling.faster_but_not_standing)
        yield f"As fast or faster, but not standing: {runs} (reasons below)."


def footage_lines(footage: FootageFacts) -> Iterator[str]:
    """What is known of the footage that matters for the ruling, a sentence a line."""
    if footage.rate is not None:
        frame = seconds_text(1000 / (footage.rate * footage.slowed), 1)
        yield f"One frame is {frame} ms: two things closer than that cannot be told apart."
    else:
        yield "Its frames do not come at a steady rate: each time is told by its own stamp."
    if footage.slowed_words:
        yield f"Slow motion: {footage.slowed_words}."
    if footage.joints:
        joints = ", ".join(map(str, footage.joints))
        yield f"Another recording begins at frame {joints}; no run is timed across that."
    if footage.gaps:
        yield f"It has {plural(footage.gaps, 'gap')} in time: what happened there is not on it."
    if footage.time_doubt:
        yield f"No time is told by it: {sanitize(footage.time_doubt)}."


def _whose(ruling: Ruling) -> str:
    if not ruling.settles:
        return f"Reviewer: {ruling.reviewer}"
    return f"Reviewers: {joined(ruling.settles)}   Settled by: {ruling.reviewer}"


def _claimed(ruling: Ruling) -> str:
    if not ruling.claimed_runs:
        return "No run on this footage reads the claimed time."
    standing = {run.run: run.standing.value for run in ruling.runs}
    runs = ", ".join(f"run {run} ({standing[run]})" for run in ruling.claimed_runs)
    return f"The claimed time is read in {runs}."


def _run(run: RuledRun) -> Iterator[str]:
    time = f", {run.time} s" if run.time else ""
    yield f"Run {run.run}: {run.standing.value.upper()}{time}"
    yield f"  {run.counted_as}; {_span(run)}."
    if run.by_picture is not None:
        low, high = run.by_picture
        yield f"  By the picture it lasted between {low} and {high} s (u = {run.uncertainty} s)."
    if run.standing is Standing.UNCOUNTED:
        return
    yield from _lacking(run.not_shown, "  ")
    kept = len(run.with_outcome(Outcome.PROVEN))
    checks = plural(len(run.findings), "check")
    yield f"  {kept} of {checks} {are(kept)} in order."
    for outcome in (Outcome.REFUTED, Outcome.CONFLICT, Outcome.UNPROVEN, Outcome.UNLOOKED):
        for finding in run.with_outcome(outcome):
            yield from _finding(finding)
    for finding in run.with_outcome(Outcome.PROVEN):
        if finding.cure:
            yield from _finding(finding)


def _lacking(lacks: tuple[Lacking, ...], indent: str) -> Iterator[str]:
    """What the footage does not show, where it should, and what footage would have been needed."""
    for lack in lacks:
        where = f"{place_words(lack.first)} to {place_words(lack.last)}"
        yield f"{indent}- not shown: {lack.title}, {where}: {sanitize(lack.reason)}."
        yield f"{indent}    Needed: {lack.needed}."


def _span(run: RuledRun) -> str:
    begins = "?" if run.begins is None else place_words(run.begins)
    ends = "still open" if run.ends is None else f"to {place_words(run.ends)}"
    return f"from {begins} {ends}"


def _finding(finding: RuledFinding) -> Iterator[str]:
    reason = sanitize(finding.reason)
    yield f"  - {WORDS[finding.outcome]} [{finding.rule}] {finding.title}: {reason}."
    if finding.outcome is Outcome.UNLOOKED:
        return
    yield from (f"      {bracket_words(bracket)}" for bracket in finding.brackets)
    if finding.outcome is not Outcome.PROVEN:
        yield f"      Right: {finding.right}."


def bracket_words(bracket: Bracket) -> str:
    """A bracket in words: ``a cup moves: not yet in frame 9 (0:00.150), seen by frame 10``."""
    parts = []
    if bracket.after is not None:
        parts.append(f"not yet in {place_words(bracket.after)}")
    if bracket.by is not None:
        parts.append(f"seen by {place_words(bracket.by)}")
    return f"{bracket.moment}: {', '.join(parts) or 'not sighted'}"


def place_words(place: Place) -> str:
    """A frame with its time: ``frame 412 (0:06.867)``."""
    return f"frame {place.frame}" + (f" ({place.time})" if place.time else "")


def _cups(ruling: Ruling) -> Iterator[str]:
    cleared = [cup for cup in ruling.cups if cup.outcome is Outcome.PROVEN]
    yield f"Maker's marks: {len(cleared)} of {len(ruling.cups)} cups cleared."
    for cup in ruling.cups:
        if cup.outcome is not Outcome.PROVEN:
            at = "" if cup.at is None else f", {place_words(cup.at)}"
            yield f"  - {WORDS[cup.outcome]} [cup.mark] cup {cup.cup}: {cup.detail}{at}."
        if cup.outcome is Outcome.REFUTED:
            yield f"      Right: {cup.right}."


def _coverage(ruling: Ruling) -> Iterator[str]:
    total = ruling.frames_seen + ruling.frames_unseen
    whom = "reviewers together" if ruling.settles else "reviewer"
    yield f"Frames shown to the {whom}: {ruling.frames_seen} of {total}."
    if ruling.never_shown:
        yield f"Never shown: {ruling.never_shown}."
    yield "Watched: all of it." if not ruling.unwatched else f"Not watched: {ruling.unwatched}."
    if ruling.footage.gaps:
        yield f"Gaps in the footage's time: {ruling.footage.gaps}."


def _damage(ruling: Ruling, damaged: FrameSet | None) -> Iterator[str]:
    """Which frames are damaged, and which of them a finding rests on."""
    if damaged is None or not damaged.ranges:
        return
    frames = ruling.footage.frames
    yield f"Not to be trusted: {damaged_words(damaged, frames)}."
    used = sorted(
        {
            place.frame
            for run in ruling.runs
            for finding in run.findings
            for bracket in finding.brackets
            for place in (bracket.after, bracket.by)
            if place is not None and place.frame in damaged
        }
    )
    if used:
        of = f"{nouns(len(used), 'frame')} {', '.join(map(str, used))}"
        yield f"Findings rest on damaged {of}: look at them again."
