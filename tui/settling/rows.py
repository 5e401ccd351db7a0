"""What the settling screen shows, as plain data."""

from collections.abc import Iterator
from dataclasses import dataclass

from sessions.ruling.brackets import Outcome
from sessions.ruling.ruling import Bracket
from sessions.sanitize import sanitize
from sessions.settling.differences import Difference
from sessions.settling.opinions import Opinion, bracket_frames
from tui.bench.rows import State
from tui.settling.settlement import Settlement

MARGIN = 4
"""Frames shown on either side of what the brackets name."""

REASON = 200
"""Characters of an earlier reason above the line for a new one, which must stay in sight."""

STATES: dict[str | None, State] = {
    Outcome.PROVEN: "proven",
    Outcome.REFUTED: "fault",
    Outcome.UNPROVEN: "unproven",
    None: "open",
}


@dataclass(frozen=True, slots=True)
class Span:
    """One instant as one side brackets it, in frames; ``None`` is an end not looked for.

    ``frame`` is the frame that the side names; ``label`` is "met" for what had to come first, "due"
    for what it had to come before, and "seen" for what is compared with nothing.
    """

    reviewer: str
    words: str
    after: int | None
    by: int | None
    frame: int | None
    label: str
    state: State


@dataclass(frozen=True, slots=True)
class Around:
    """The frames around a difference, from first to last, and what the sides say of them."""

    first: int
    last: int
    spans: tuple[Span, ...]


@dataclass(frozen=True, slots=True)
class DisputeRow:
    """One difference in the list: whether it is settled, what it is of, and what came of it."""

    state: State
    title: str
    outcome: str
    here: bool


def around(settlement: Settlement) -> Around | None:
    """The brackets of both sides on one stretch of the footage."""
    current = settlement.current
    if current is None:
        return None
    spans = tuple(s for side in settlement.sides for s in _spans(current.opinions[side]))
    named = [f for s in spans for f in (s.after, s.by, s.frame) if f is not None]
    named += settlement.frames
    last = settlement.review.frames - 1
    return Around(max(0, min(named) - MARGIN), min(last, max(named) + MARGIN), spans)


def _spans(opinion: Opinion) -> Iterator[Span]:
    state = state_of(opinion)
    first = "seen" if opinion.due is None else "met"
    for bracket, label in ((opinion.met, first), (opinion.due, "due")):
        if bracket is not None and bracket_frames(bracket) != (None, None):
            yield _span(opinion, bracket, label, state)
    if opinion.met is None and opinion.frame is not None:
        yield Span(
            opinion.reviewer, opinion.words, None, None, opinion.frame, label=first, state=state
        )


def _span(opinion: Opinion, bracket: Bracket, label: str, state: State) -> Span:
    after, by = bracket_frames(bracket)
    return Span(opinion.reviewer, bracket.moment, after, by, opinion.frame, label, state)


def state_of(opinion: Opinion) -> State:
    """The mark of an opinion: that of its outcome, where it is one."""
    return STATES.get(opinion.value, "unproven")


def captions(settlement: Settlement) -> tuple[tuple[str, State], ...]:
    """What each of the two sides says, and who holds with it."""
    current = settlement.current
    if current is None:
        return ()
    return tuple(_caption(current, side) for side in settlement.sides)


def _caption(current: Difference, side: int) -> tuple[str, State]:
    opinion = current.opinions[side]
    alike = [o.reviewer for o in current.opinions if o.value == opinion.value]
    return sanitize(f"{', '.join(alike)}: {opinion.words}"), state_of(opinion)


def why_taken(settlement: Settlement, place: int) -> str:
    """What is asked before the first (0) or second (1) side is taken."""
    caption, _ = captions(settlement)[place]
    return f"{_named(settlement)} {_why(settlement, 'Why do you take this side?')} {caption}"


def why_anew(settlement: Settlement) -> str:
    """What is asked after the difference at hand was tagged anew."""
    return f"{_named(settlement)} {_why(settlement, 'What did you see when you looked again?')}"


def _named(settlement: Settlement) -> str:
    current = settlement.current
    return "" if current is None else f"{_run_words(current)}{current.title}."


def _why(settlement: Settlement, otherwise: str) -> str:
    """The question; of a difference that is settled already it says so first."""
    current = settlement.current
    entry = None if current is None else settlement.settled(current)
    if entry is None:
        return otherwise
    taken = "as it was looked at again" if entry.taken is None else f"as {entry.taken} found it"
    reason = sanitize(entry.reason.rstrip("."))
    reason = reason if len(reason) <= REASON else f"{reason[: REASON - 1]}…"
    return f"Settled already, {sanitize(taken)}: {reason}. Why do you settle it anew?"


def _run_words(current: Difference) -> str:
    return "" if current.run is None else f"Run {current.run}: "


def frame_labels(settlement: Settlement) -> tuple[str, str]:
    """Which frames the pictures show."""
    first, second = settlement.frames
    reviewers = [settlement.found.reviewers[side] for side in settlement.sides]
    if not settlement.is_one_frame:
        return f"frame {first}, named by {reviewers[0]}", f"frame {second}, named by {reviewers[1]}"
    return f"frame {first}, the one before", f"frame {second}"


def question(settlement: Settlement) -> str:
    """What the difference is about, in whole words."""
    current = settlement.current
    if current is None:
        return "No checkpoint differs: nothing is left to settle but to finish."
    met, due = current.opinions[0].met, current.opinions[0].due
    words = f": {met.moment}, before {due.moment}?" if met is not None and due is not None else ""
    third = [side for side in current.sides if side not in settlement.sides]
    more = "; ".join(
        f"{current.opinions[side].reviewer} says {current.opinions[side].words}" for side in third
    )
    return f"{_run_words(current)}{current.title}{words}{f' Also: {more}.' if more else ''}"


def dispute_rows(settlement: Settlement) -> tuple[DisputeRow, ...]:
    """All differences to settle."""
    return tuple(
        _row(settlement, dispute, here=number == settlement.at)
        for number, dispute in enumerate(settlement.disputes)
    )


def _row(settlement: Settlement, dispute: Difference, *, here: bool) -> DisputeRow:
    run = "" if dispute.run is None else f"run {dispute.run} "
    entry = settlement.settled(dispute)
    if entry is None:
        return DisputeRow("due" if here else "open", run + dispute.title, "", here)
    taken = "looked at again" if entry.taken is None else f"as {entry.taken}"
    return DisputeRow("proven", run + dispute.title, sanitize(f"{taken}: {entry.reason}"), here)


def remark_lines(settlement: Settlement) -> list[str]:
    """What differs and needs no settling: each with what every review says of it."""
    return [sanitize(_remark(remark)) for remark in settlement.found.remarks]


def _remark(remark: Difference) -> str:
    run = "" if remark.run is None else f"Run {remark.run}, "
    said = "; ".join(f"{o.reviewer}: {_said(o)}" for o in remark.opinions)
    return f"{run}{remark.title} ({remark.matter}): {said}"


def _said(opinion: Opinion) -> str:
    frames = ", ".join(f"({_end(after)},{_end(by)}]" for after, by in opinion.brackets)
    return f"{opinion.words} {frames}".strip()


def _end(frame: int | None) -> str:
    return "?" if frame is None else str(frame)


def status_parts(settlement: Settlement) -> list[str]:
    """Where the settling stands."""
    session, count = settlement.review.session, len(settlement.disputes)
    reviewers = " and ".join(settlement.found.reviewers)
    left = f"{settlement.left} left" if settlement.left else "nothing left"
    return [
        f"Difference {settlement.at + 1} of {count}" if count else "No difference",
        "finished" if settlement.review.is_closed else left,
        "" if (claim := session.header.claim.id) is None else sanitize(f"claim {claim}"),
        f"{reviewers}, settled by {session.header.reviewer}",
        _more_words(len(settlement.found.remarks)),
    ]


def _more_words(remarks: int) -> str:
    if not remarks:
        return ""
    return "1 more needs no settling" if remarks == 1 else f"{remarks} more need no settling"
