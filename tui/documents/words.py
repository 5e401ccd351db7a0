"""Plain words for a claimant or a parent: what was ruled and why, and who looked at the footage.

Text from outside is left as it is here; whoever prints it shows its hidden characters.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace

from sessions.exact import micros
from sessions.plural import joined, nouns, plural, were
from sessions.record.role import Amendment
from sessions.rules.rulebook import PICTURE, rules
from sessions.ruling.brackets import Outcome
from sessions.ruling.report import claimed_runs, is_doubtful, is_not_proven, not_shown, upheld
from sessions.ruling.ruling import (
    CHILDREN,
    Lacking,
    RuledFinding,
    RuledRun,
    Ruling,
    SpentAttempt,
    Standing,
)
from sessions.settling.settlement import SettledPoint
from tui.documents.exhibits import told_runs
from tui.documents.pages import DocketFacts, Exhibit, RulingDocument

SOURCES = {
    "common practice, no source": "common practice, no written source",
    "from memory": "from memory, a setting of the league",
}
"""What a document says of a rule's source, where the rules' file has other words for it."""

VERDICTS = {
    Outcome.PROVEN: "In order",
    Outcome.REFUTED: "Rule broken",
    Outcome.UNPROVEN: "Not proven",
    Outcome.UNLOOKED: "Not checked yet",
    Outcome.CONFLICT: "The record contradicts itself",
}
"""What came of a check, in words for a claimant."""

_SIGNS = {
    Outcome.PROVEN: "✓",
    Outcome.REFUTED: "✗",
    Outcome.UNPROVEN: "?",
    Outcome.UNLOOKED: "…",
    Outcome.CONFLICT: "!",
}

SCRATCH = "A scratch is an attempt that does not count, because a rule was broken in it."
DOUBT = (
    "Where two frames cannot show which came first, nothing is held against the competitor: "
    "the doubt is noted, and that is all."
)


PROGRAMS_OWN = {
    "clock": "the clock against the picture",
    "number": "the count of attempts",
    "record": "the record of the run",
}
"""What is checked of a run besides the checkpoints that the ladder lists."""

NOBODYS_FAULT = "The competitor broke no rule by that."

HANDLING = (
    "Whoever handles this page: pass on no more personal data than the claim needs; claimants may "
    "be children."
)


@dataclass(frozen=True, slots=True)
class Seen:
    """One finding told to the claimant, with the exhibits that show it; ``right`` may be empty."""

    heading: str
    verdict: str
    sign: str
    story: str
    where: str
    right: str
    rule: str
    source: str
    exhibits: tuple[Exhibit, ...]


@dataclass(frozen=True, slots=True)
class RunStory:
    """One run told to the claimant; ``exhibits`` show where its clock starts and stops."""

    heading: str
    told: tuple[str, ...]
    exhibits: tuple[Exhibit, ...]
    seen: tuple[Seen, ...]


def title(document: RulingDocument) -> str:
    """What the document is, such as ``Ruling 1 on claim C-17``."""
    claim = document.ruling.claim.id
    on = f"claim {claim}" if claim else "a claimed time"
    return f"Draft of a ruling on {on}" if document.draft else f"Ruling {document.number} on {on}"


def headline(ruling: Ruling) -> str:
    """The ruling in one sentence."""
    if not ruling.made:
        return "Nothing is ruled yet."
    claimed = ruling.claim.time
    if claimed is None:
        if ruling.best_time is None:
            return f"{ruling.summary}" if by_picture(ruling) else "No time on this footage stands."
        return f"The best time on this footage that stands is {ruling.best_time} seconds."
    run = upheld(ruling)
    if is_not_proven(ruling):
        return f"The claimed time of {claimed} seconds is not proven: no record, and no scratch."
    if run is None:
        return f"The claimed time of {claimed} seconds does not stand."
    doubt = "; a doubt is noted" if is_doubtful(ruling, run) else ""
    return f"The claimed time of {claimed} seconds stands{doubt}."


def reasons(ruling: Ruling) -> tuple[str, ...]:
    """Why, and what stands instead, a sentence an entry."""
    return tuple(_reasons(ruling))


def _reasons(ruling: Ruling) -> Iterator[str]:
    if not ruling.made:
        yield ruling.summary
        return
    if ruling.claim.time is not None:
        if not ruling.claimed_runs and not any(run.number is not None for run in ruling.runs):
            yield "There is no attempt on this footage."
        elif not ruling.claimed_runs:
            yield "No run on this footage shows that time on the clock."
        for run in claimed_runs(ruling):
            yield _because(run, ruling)
        yield from (lack_words(lack) for lack in not_shown(ruling) if is_not_proven(ruling))
        yield from _instead(ruling)
    elif ruling.best_run is not None:
        yield f"It was made in attempt {_best(ruling).number}."
    if any(run.standing is Standing.SCRATCH for run in ruling.runs) or ruling.spent:
        yield SCRATCH
    if any(run.with_outcome(Outcome.UNPROVEN) for run in told_runs(ruling)):
        yield DOUBT


def record_words(document: RulingDocument) -> str:
    """The record that the ruling makes, and what stood before; empty where it makes none."""
    made = None if document.docket is None else document.docket.new_record
    if made is None or not document.ruling.made:
        return ""
    if not made.before:
        return f"The first record of this event and division: {made.time} seconds."
    before = made.before[0].time
    by = [held.holder for held in made.before if held.holder]
    held = f" by {joined(by)}" if by else ""
    if micros(before) == micros(made.time):
        return f"This equals the record of {before} seconds{held}, and shares it."
    return f"A new record: {made.time} seconds, before {before} seconds{held}."


def by_picture(ruling: Ruling) -> bool:
    """Whether a run stands by the time of the picture alone, as nobody could read its display."""
    return any(run.standing is Standing.STANDS and run.time is None for run in ruling.runs)


def lack_words(lack: Lacking) -> str:
    """What the footage does not show, where, why, and what footage would have been needed."""
    title = f"{lack.title[:1].lower()}{lack.title[1:]}"
    reason = lack.reason.rstrip(".")
    return (
        f"The footage does not show {title} (frames {lack.first.frame} to {lack.last.frame}): "
        f"{reason}. What would have been needed: {lack.needed}."
    )


def footage_words(document: RulingDocument) -> tuple[str, ...]:
    """What is amiss with the footage or was not looked at, a sentence an entry."""
    return tuple(_footage(document))


def _footage(document: RulingDocument) -> Iterator[str]:
    ruling = document.ruling
    if ruling.footage.gaps:
        yield (
            f"The footage has {plural(ruling.footage.gaps, 'gap')} in its time, where frames may "
            "be missing."
        )
    flawed = sorted({s.place.frame for e in document.exhibits for s in e.shots if s.flaw})
    if flawed:
        named = ", ".join(map(str, flawed))
        yield f"Damaged, and not to be trusted, are these frames shown here: {named}."
    if ruling.unwatched:
        yield f"{_sentence(ruling.unwatched)} What they show is not ruled on."
    elif ruling.never_shown:
        yield (
            f"{_sentence(ruling.never_shown)} Each stretch is too short for a run, so this leaves "
            "open only what a single frame can show."
        )
    for before in ruling.used_before:
        used = f"{plural(before.attempts, 'attempt')} {were(before.attempts)}"
        yield f"{used} used before this footage begins: {before.source.rstrip('.')}."
    yield from (lack_words(lack) for lack in ruling.not_shown)


def _because(run: RuledRun, ruling: Ruling) -> str:
    if run.standing is Standing.UNCOUNTED:
        return f"It was made in a run that does not count ({run.sort})."
    attempt = f"attempt {run.number}"
    if run.standing is Standing.NOT_PROVEN:
        return f"It may have been made in {attempt}, which is neither proven nor a scratch."
    if run.standing is Standing.STANDS and run.time is None:
        return (
            f"The display of {attempt} cannot be read. The time follows from the picture, and no "
            "rule is shown to be broken."
        )
    if run.standing is Standing.STANDS:
        return f"It was made in {attempt}, and no rule is shown to be broken in it."
    if run.standing is Standing.VOID:
        cups = ", ".join(str(c.cup) for c in ruling.cups if c.outcome is Outcome.REFUTED)
        return (
            f"It was made in {attempt}. The maker's mark was never seen on cup {cups} in all of "
            "the footage, and that voids every run in it."
        )
    broken = [f for f in run.with_outcome(Outcome.REFUTED) if f.rule != PICTURE]
    why = "; ".join(finding.reason for finding in broken)
    return f"It was made in {attempt}, which is a scratch: {why}."


def _instead(ruling: Ruling) -> Iterator[str]:
    if ruling.unwatched:
        yield f"What else the footage shows is open: {ruling.unwatched}."
    elif ruling.best_time is None and not by_picture(ruling):
        yield "No time on this footage stands."
    elif ruling.best_time is None:
        return
    elif ruling.best_run not in ruling.claimed_runs:
        yield (
            f"The best time on this footage that stands is {ruling.best_time} seconds, made in "
            f"attempt {_best(ruling).number}."
        )


def _best(ruling: Ruling) -> RuledRun:
    return next(run for run in ruling.runs if run.run == ruling.best_run)


def stories(document: RulingDocument) -> tuple[RunStory, ...]:
    """Every run that counts, with all findings that are not in order."""
    return tuple(_story(run, document) for run in told_runs(document.ruling))


def _story(run: RuledRun, document: RulingDocument) -> RunStory:
    outcomes: tuple[Outcome, ...] = (Outcome.REFUTED, Outcome.CONFLICT, Outcome.UNPROVEN)
    if run.standing is not Standing.NOT_PROVEN:  # of that, what it lacks is told instead
        outcomes = (*outcomes, Outcome.UNLOOKED)
    exhibits = [exhibit for exhibit in document.exhibits if exhibit.run == run.run]
    found = run.with_outcome(*outcomes)
    odd = {finding.checkpoint for finding in found}
    return RunStory(
        heading=_heading(run),
        told=tuple(_told(run, found)),
        exhibits=tuple(e for e in exhibits if e.checkpoint not in odd),
        seen=tuple(
            _seen(finding, tuple(e for e in exhibits if e.checkpoint == finding.checkpoint))
            for outcome in outcomes
            for finding in run.with_outcome(outcome)
        ),
    )


def spent_words(spent: SpentAttempt) -> str:
    """An attempt that starting over used up, told to the claimant."""
    return (
        f"Attempt {spent.number} was used up in run {spent.by_run} at frame {spent.at.frame}, "
        f"{spent.at.time} after the footage begins: {spent.reason}. "
        f"Next time: {spent.right}."
    )


def cup_words(ruling: Ruling) -> tuple[str, ...]:
    """Every cup whose maker's mark was not seen, and how many were seen."""
    seen = sum(cup.outcome is Outcome.PROVEN for cup in ruling.cups)
    rest = [cup for cup in ruling.cups if cup.outcome is not Outcome.PROVEN]
    told = [f"Cup {c.cup}: {VERDICTS[c.outcome].lower()}, {c.detail}." for c in rest]
    right = [f"Next time: {rules()['cup.mark'].right}."] if rest else []
    return (f"The maker's mark was seen on {seen} of {len(ruling.cups)} cups.", *told, *right)


def appeal(document: RulingDocument) -> tuple[str, ...]:
    """How to appeal, in the league's words where it has given any."""
    if document.league is None:
        return (
            "Write to the league that received the claim. Name the claim and the number of this "
            "ruling, and say what you see in which frame.",
        )
    return document.league.appeal_paragraphs


def cautions(ruling: Ruling) -> tuple[str, ...]:
    """The cautions of a ruling; that on children is meant for whoever handles the document."""
    return tuple(HANDLING if caution == CHILDREN else caution for caution in ruling.cautions)


def _heading(run: RuledRun) -> str:
    time = f", {run.time} seconds" if run.time else ""
    return f"Attempt {run.number}{time}: {STANDINGS[run.standing]}"


STANDINGS = {
    Standing.STANDS: "stands",
    Standing.SCRATCH: "scratch",
    Standing.VOID: "void",
    Standing.NOT_PROVEN: "not proven",
    Standing.OPEN: "still open",
    Standing.UNCOUNTED: "does not count",
}
"""What is ruled of a run, in words."""


def _told(run: RuledRun, found: tuple[RuledFinding, ...]) -> Iterator[str]:
    explained = run.counted_as[:1].upper() + run.counted_as[1:]
    yield f"{explained}."
    yield from (lack_words(lack) for lack in run.not_shown)
    kept = len(run.with_outcome(Outcome.PROVEN))
    all_checks = f"{plural(len(run.findings), 'check')} ({what_is_checked(run)})"
    if run.standing is Standing.NOT_PROVEN:
        yield f"{kept} of {all_checks} {were(kept)} in order, as far as the footage shows them."
    elif found:
        yield f"{kept} of {all_checks} {were(kept)} in order; the rest follows."
    else:
        yield f"All {all_checks} were in order."


def what_is_checked(run: RuledRun) -> str:
    """How many of a run's checks are checkpoints of the ladder, and what the others are."""
    own = [finding.checkpoint for finding in run.findings if finding.checkpoint in PROGRAMS_OWN]
    ladder = f"{plural(len(run.findings) - len(own), 'checkpoint')} of the ladder"
    return joined([ladder, *(PROGRAMS_OWN[name] for name in own)])


def _seen(finding: RuledFinding, exhibits: tuple[Exhibit, ...]) -> Seen:
    seen = _told_of(finding, exhibits)
    if finding.rule != PICTURE or finding.outcome is not Outcome.REFUTED:
        return seen
    story = f"{seen.story} {NOBODYS_FAULT}"
    return replace(seen, verdict="These do not agree", sign="!", story=story, right="")


def _told_of(finding: RuledFinding, exhibits: tuple[Exhibit, ...]) -> Seen:
    return Seen(
        heading=finding.title,
        verdict=VERDICTS[finding.outcome],
        sign=_SIGNS[finding.outcome],
        story=_sentence(finding.reason),
        where=" ".join(where(exhibit) for exhibit in exhibits),
        right=_sentence(finding.right),
        rule=finding.rule,
        source=SOURCES.get(finding.source, finding.source),
        exhibits=exhibits,
    )


def where(exhibit: Exhibit) -> str:
    """The place of an exhibit in the footage, as a sentence."""
    first, last = (shot.place for shot in exhibit.shots)
    gap = f", with {exhibit.between} between them" if exhibit.between else ""
    return (
        f"See frames {first.frame} and {last.frame}{gap}, {first.time} and {last.time} after the "
        "footage begins (minutes:seconds)."
    )


def _sentence(words: str) -> str:
    return f"{words[:1].upper()}{words[1:]}."


ALONE = "This ruling rests on the review by {0} alone; nobody else has reviewed the footage."


def reviewers(document: RulingDocument) -> tuple[str, ...]:
    """Who looked at the footage, a sentence an entry."""
    return tuple(_reviewers(document))


def names_of(document: RulingDocument) -> tuple[str, ...]:
    """The reviewers whose reviews the ruling rests on; who settled them is none of these."""
    reviews = document.session.settles if document.docket is None else document.docket.reviews
    return tuple(review.reviewer for review in reviews) or (document.ruling.reviewer,)


def settled(document: RulingDocument) -> tuple[str, ...]:
    """What the reviewers saw differently and how each point was settled, an entry a point."""
    return tuple(_point(point, document) for point in document.settled)


def _reviewers(document: RulingDocument) -> Iterator[str]:
    settles, docket = document.session.settles, document.docket
    names = names_of(document)
    if len(names) < 2:
        yield ALONE.format(*names)
        yield from _amended(document.ruling.reviewer, document.session.amended)
        return
    blind = ", before any of them knew the claimed time or what another had found"
    looked = f"{joined(names)} each looked at the footage on their own"
    yield f"{looked}{blind if _blind(docket) else ''}."
    for review in docket.reviews if docket is not None else ():
        yield from _amended(review.reviewer, review.amended)
    yield from _one_sided(docket)
    if not settles:
        yield "They came to the same ruling."
        return
    yield from _amended(document.ruling.reviewer, document.session.amended)
    count = len(document.settled)
    points = "one point" if count == 1 else f"{count} points"
    yield f"They saw {points} differently, which {document.ruling.reviewer} settled afterwards:"


def _one_sided(docket: DocketFacts | None) -> Iterator[str]:
    """Who alone tagged an attempt with the claimed time: no second look has checked that one."""
    reviews = () if docket is None else docket.reviews
    found = [review.reviewer for review in reviews if review.claimed]
    others = [review.reviewer for review in reviews if review.claimed is False]
    if found and others:
        yield (
            f"An attempt with the claimed time was recorded by {joined(found)} only; "
            f"{joined(others)} recorded none."
        )


def _amended(reviewer: str, amended: Iterable[Amendment]) -> Iterator[str]:
    """Every change to a finished review: its reviewer may have known the claim by then."""
    for amendment in amended:
        yield (
            f"{reviewer} changed the review after it was finished, when the claim may have been "
            f"known; the reason given: {amendment.reason.rstrip('.')}."
        )


def _blind(docket: DocketFacts | None) -> bool:
    return docket is not None and all(review.blind for review in docket.reviews)


def _point(point: SettledPoint, document: RulingDocument) -> str:
    run = "" if point.run is None else f"Run {point.run}: "
    looked = f"looked at again by {document.ruling.reviewer}"
    how = looked if point.taken is None else f"settled as {point.taken} found it"
    frames = joined([str(place.frame) for place in point.at])
    where = f" ({nouns(len(point.at), 'frame')} {frames})" if point.at else ""
    return f"{run}{point.title}: {how}{where}. The reason given: {point.reason}"
