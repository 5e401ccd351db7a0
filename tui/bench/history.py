"""Undo and redo, derived from the journal alone, so that they survive a crash.

One step takes back a deed, all that one key wrote, or brings it back; and it says in words what
that was.
"""

from collections.abc import Iterator, Sequence

from sessions.plural import plural
from sessions.record.entries import (
    AttemptsBefore,
    CaptureRate,
    CupsSeen,
    DifferenceSettled,
    Entry,
    Finished,
    FootageRead,
    Fumble,
    Line,
    Look,
    Note,
    NotShown,
    OtherFault,
    Played,
    Reading,
    ReadingAccepted,
    Reopened,
    Retracted,
    RunBegun,
    RunEnded,
    Settling,
    Shown,
    Sighted,
    StartedOver,
    TakenOver,
)
from sessions.record.session import Session, dead_lines
from sessions.rules.ladder import Ladder, stacks_of
from sessions.rules.rulebook import rules
from sessions.ruling.fumbles import run_ladder

NEVER_UNDONE = (Shown, Played, Finished, Reopened, Settling, TakenOver, FootageRead)
"""Entries that say how a review was made, which no step back changes."""

BEGINNINGS = (Settling, TakenOver)
"""Entries that begin a session with the findings of others: their deeds are never undone."""

SAW = {"proven": "in order", "refuted": "fault", "unproven": "cannot tell"}
MARK_SAW = {"proven": "mark seen", "refuted": "mark never seen", "unproven": "mark unclear"}


# -- which deed


def next_undo(lines: Sequence[Line]) -> tuple[Line, ...]:
    """What lives of the last deed that can be undone; empty where there is none."""
    return next((deed for deed in _living_deeds(lines) if not _is_step(deed)), ())


def next_redo(lines: Sequence[Line]) -> tuple[Line, ...]:
    """The last living step back, unless something new was done after it."""
    for deed in _living_deeds(lines):
        if not _is_step(deed):
            return ()
        if not _is_step_forth(deed, lines):
            return deed
    return ()


def _living_deeds(lines: Sequence[Line]) -> Iterator[tuple[Line, ...]]:
    """What lives of each deed, the last first, without what is never undone."""
    dead = dead_lines(lines)
    for deed in _deeds(lines):
        if any(isinstance(line.entry, BEGINNINGS) for line in deed):
            continue
        living = tuple(
            line
            for line in deed
            if line.seq not in dead and not isinstance(line.entry, NEVER_UNDONE)
        )
        if living:
            yield living


def _deeds(lines: Sequence[Line]) -> Iterator[tuple[Line, ...]]:
    """The lines of each deed, the last deed first."""
    deed: list[Line] = []
    for line in reversed(lines):
        if deed and line.more is None:
            yield tuple(reversed(deed))
            deed = []
        deed.append(line)
    if deed:
        yield tuple(reversed(deed))


def _is_step(deed: Sequence[Line]) -> bool:
    """Whether a deed is a step back or forth in the history."""
    return all(isinstance(line.entry, Retracted) and line.entry.undo for line in deed)


def _is_step_forth(deed: Sequence[Line], lines: Sequence[Line]) -> bool:
    """Whether a step brought a deed back: what it retracts is a step itself."""
    return _is_step([lines[seq - 1] for seq in retracted_by(deed)])


def retracted_by(deed: Sequence[Line]) -> list[int]:
    """The numbers of the lines that a deed takes back."""
    return [line.entry.seq for line in deed if isinstance(line.entry, Retracted)]


# -- in words


def deed_words(deed: Sequence[Line], session: Session) -> str:
    """What a deed was: its checkpoint and frame, for instance; of several entries the last.

    What it only took back is named where it did nothing else.
    """
    entries = [line.entry for line in deed]
    said = [entry for entry in entries if not isinstance(entry, Retracted)]
    if said:
        words = _words(said[-1], session)
        others = len(said) - 1 if not isinstance(said[-1], DifferenceSettled) else 0
    else:
        back = [session.lines[seq - 1].entry for seq in retracted_by(deed)]
        words = f"taking back {_words(back[-1], session)}"
        others = len(back) - 1
    return f"{words} and {others} more" if others else words


def _words(entry: Entry, session: Session) -> str:
    """An entry as the reviewer knows it."""
    if isinstance(entry, Look | Sighted):
        return _tag_words(entry, session)
    if isinstance(entry, CupsSeen):
        cups = ", ".join(str(cup) for cup in entry.cups)
        noun = "cup" if len(entry.cups) == 1 else "cups"
        return f"{noun} {cups}, {MARK_SAW[entry.saw]} at frame {entry.at.frame}"
    if isinstance(entry, DifferenceSettled):
        how = "anew" if entry.taken is None else f"as {entry.taken} found it"
        return f"settling {_difference_title(entry.difference, session)} {how}{_at(entry)}"
    if isinstance(entry, Note):
        return f"the note at frame {entry.at.frame}"
    if isinstance(entry, AttemptsBefore):
        return f"{plural(entry.attempts, 'attempt')} before the footage"
    if isinstance(entry, CaptureRate):
        return f"the capture rate of {entry.rate} frames a second"
    if isinstance(entry, NotShown):
        named = "the footage" if entry.run is None else f"run {entry.run}"
        frames = f"frames {entry.first.frame} to {entry.last.frame}"
        return f"what {named} does not show ({entry.what.replace('_', ' ')}), {frames}"
    return _run_words(entry, session)


def _tag_words(mark: Look | Sighted, session: Session) -> str:
    """The title of the checkpoint, what was seen of it, and where."""
    place = mark.checkpoint if isinstance(mark, Look) else mark.moment
    title = _title(place, _ladder(mark.run, session))
    saw = SAW[mark.saw] if isinstance(mark, Look) else "sighted"
    hand = f" ({mark.hand} hand)" if mark.hand else ""
    return f"{title}, {saw}{hand} at frame {mark.by.frame}{_of_run(mark.run, session)}"


def _run_words(entry: Entry, session: Session) -> str:
    """An entry that is about a run as such."""
    match entry:
        case RunBegun():
            sort = "" if entry.sort == "attempt" else f" as {entry.sort}"
            return f"beginning run {entry.run}{sort} at frame {entry.begins.frame}"
        case RunEnded():
            return f"ending run {entry.run} at frame {entry.ends.frame}"
        case Reading():
            return f"reading {entry.display} s for run {entry.run} at frame {entry.at.frame}"
        case Fumble():
            stacks = {stack.id: stack.words for stack in stacks_of(session.header.event)}
            stack = stacks.get(entry.stack, entry.stack)
            return f"fumble of {stack} going {entry.phase} at frame {entry.at.frame}"
        case StartedOver():
            return f"starting over in run {entry.run} at frame {entry.at.frame}"
        case OtherFault():
            saw = "fault" if entry.saw == "refuted" else "cannot tell"
            known = {**rules(), **{rule.id: rule for rule in session.header.event.rules}}
            what = known[entry.rule].title if entry.rule in known else entry.rule
            return f"{what}, {saw} at frame {entry.by.frame}{_of_run(entry.run, session)}"
        case ReadingAccepted():
            return f"accepting the reading of run {entry.run}"
        case _:
            return entry.kind.replace("-", " ")


def _at(entry: DifferenceSettled) -> str:
    frames = " and ".join(str(spot.frame) for spot in entry.at)
    return f" at frame {frames}" if frames else ""


def _of_run(run_id: int, session: Session) -> str:
    """Which run it is of, where there are several."""
    return f" of run {run_id}" if len(session.runs) > 1 else ""


def _ladder(run_id: int, session: Session) -> Ladder:
    """The ladder of a run with the checkpoints of every fumble that it ever had."""
    entries = (line.entry for line in session.lines)
    fumbles = [e for e in entries if isinstance(e, Fumble) and e.run == run_id]
    return run_ladder(session.header.event, fumbles)


def _title(place: str, ladder: Ladder) -> str:
    """The title of a checkpoint, or the words for a moment that is none."""
    checkpoint = ladder.checkpoint(place)
    if checkpoint is not None:
        return checkpoint.title
    moment = ladder.moments.get(place)
    return place if moment is None else moment.words


def _difference_title(key: str, session: Session) -> str:
    """The title of a difference by its key: ``RUN.SUBJECT``, or ``cup.NUMBER``."""
    run, _, subject = key.partition(".")
    if not run.isdecimal():
        return f"cup {key.rpartition('.')[2]}"
    from sessions.settling.differences import TITLES  # a review that settles nothing needs none

    return f'"{TITLES.get(subject) or _title(subject, _ladder(int(run), session))}"'
