"""A small language for sessions, so that cases can be read as data.

One entry a line; a later look or sighting of the same place amends the earlier::

    clean RUN at FRAME [as SORT]         a run that stands: see ``samples.faultless_run``
    clean RUN at FRAME to LAST           the same, ended later
    open RUN SORT at FRAME               close RUN at FRAME
    look RUN CHECKPOINT proven FRAME       or: broken FRAME [HAND], unclear AFTER BY
    sighted RUN MOMENT AFTER BY [HAND]   reading RUN SECONDS at FRAME
    fumble RUN NAME STACK PHASE at FRAME over RUN at FRAME
    cups NUMBER... SAW at FRAME          shown FIRST LAST
    settled RUN REASON...                accepts its reading; accepts RUN SECONDS REASON... another
    drop RUN PLACE (a look or sighting, retracted)
    done                                 the review is finished
    before NUMBER SOURCE...              attempts used before the footage
    other RUN RULE SAW AFTER BY REASON... a fault that no checkpoint asks for
    lacks RUN WHAT FIRST LAST REASON...  not shown; RUN is - for all of the footage
    also ...                             a look or sighting beside the earlier one
"""

from collections.abc import Callable, Iterable, Iterator

from sessions.record.entries import (
    AttemptsBefore,
    CupsSeen,
    Entry,
    Finished,
    Fumble,
    Line,
    Look,
    NotShown,
    OtherFault,
    Reading,
    ReadingAccepted,
    Retracted,
    RunBegun,
    RunEnded,
    Shown,
    Sighted,
    StartedOver,
)
from sessions.record.header import Header
from sessions.record.session import Session, fold
from sessions.rules.moments import Side
from tests.sessions.samples import WHEN, faultless_run, spot

Key = tuple[int, str]


def session_from(header: Header, tags: Iterable[str], *before: Entry) -> Session:
    """The session that some entries and then the tags make."""
    script = Script(header)
    for entry in before:
        script.add(entry)
    for tag in tags:
        script.tag(tag)
    return fold(header, script.lines)


class Script:
    """Tags made into lines of a journal."""

    def __init__(self, header: Header) -> None:
        self.header = header
        self.lines: list[Line] = []
        self.latest: dict[Key, int] = {}
        self.readings: dict[int, str] = {}

    def tag(self, tag: str) -> None:
        words = tag.split()
        amends = words[0] != "also"
        for entry in self.entries(words if amends else words[1:]):
            self.add(entry, amends)

    def add(self, entry: Entry, amends: bool = False) -> None:
        seq = len(self.lines) + 1
        key = place_of(entry)
        replaces = self.latest.get(key) if key is not None and amends else None
        if key is not None:
            self.latest[key] = seq
        if isinstance(entry, Reading):
            self.readings[entry.run] = entry.display
        self.lines.append(Line(seq=seq, at=WHEN, prev="0" * 64, entry=entry, replaces=replaces))

    def entries(self, words: list[str]) -> Iterator[Entry]:
        match words:
            case ["clean", run, "at", first, "to", last]:
                for entry in faultless_run(self.header.event, int(run), int(first)):
                    yield closed([run, "at", last]) if isinstance(entry, RunEnded) else entry
            case ["clean", run, "at", first, *sort]:
                for entry in faultless_run(self.header.event, int(run), int(first)):
                    is_first = isinstance(entry, RunBegun) and sort
                    yield opened([run, sort[-1], "at", first]) if is_first else entry
            case ["shown", first, last]:
                yield Shown(ranges=((int(first), int(last)),))
            case ["settled", run, *reason]:
                yield accepted([run, self.readings.get(int(run), "0"), *reason])
            case ["done"]:
                yield Finished(blind=False)
            case ["drop", run, place]:
                yield Retracted(seq=self.latest[int(run), place])
            case [kind, *rest]:
                yield MAKERS[kind](rest)


def place_of(entry: Entry) -> Key | None:
    if isinstance(entry, Look):
        return entry.run, entry.checkpoint
    if isinstance(entry, Sighted):
        return entry.run, entry.moment if entry.hand is None else f"{entry.moment}.{entry.hand}"
    return None


def opened(words: list[str]) -> RunBegun:
    run, sort, _, frame = words
    return RunBegun.model_validate({"run": int(run), "sort": sort, "begins": spot(int(frame))})


def closed(words: list[str]) -> RunEnded:
    return RunEnded(run=int(words[0]), ends=spot(int(words[2])))


def look(words: list[str]) -> Look:
    run, checkpoint, saw, *rest = words
    frames, hand = numbers_and_hand(rest)
    after = spot(frames[0]) if saw == "unproven" else None
    fields = {
        "run": int(run),
        "checkpoint": checkpoint,
        "saw": saw,
        "by": spot(frames[-1]),
        "hand": hand,
    }
    return Look.model_validate(fields | {"after": after})


def sighted(words: list[str]) -> Sighted:
    frames, hand = numbers_and_hand(words[2:])
    after, by = (spot(frame) for frame in frames)
    return Sighted(run=int(words[0]), moment=words[1], after=after, by=by, hand=hand)


def numbers_and_hand(words: list[str]) -> tuple[list[int], Side | None]:
    hands: list[Side] = [side for side in ("left", "right") if side in words]
    return [int(word) for word in words if word.isdecimal()], hands[0] if hands else None


def reading(words: list[str]) -> Reading:
    return Reading(run=int(words[0]), display=words[1], at=spot(int(words[3])))


def fumble(words: list[str]) -> Fumble:
    run, name, stack, phase, _, frame = words
    fields = {"run": int(run), "fumble": name, "stack": stack, "phase": phase}
    return Fumble.model_validate(fields | {"at": spot(int(frame))})


def started_over(words: list[str]) -> StartedOver:
    return StartedOver(run=int(words[0]), at=spot(int(words[2])))


def cups(words: list[str]) -> CupsSeen:
    *numbers, saw, _, frame = words
    fields = {"cups": tuple(int(n) for n in numbers), "saw": saw, "at": spot(int(frame))}
    return CupsSeen.model_validate(fields)


def accepted(words: list[str]) -> ReadingAccepted:
    run, display, *reason = words
    return ReadingAccepted(run=int(run), display=display, reason=" ".join(reason))


def attempts_before(words: list[str]) -> AttemptsBefore:
    return AttemptsBefore(attempts=int(words[0]), source=" ".join(words[1:]))


def other_fault(words: list[str]) -> OtherFault:
    run, rule, saw, after, by, *reason = words
    fields = {"run": int(run), "rule": rule, "saw": saw, "reason": " ".join(reason) or None}
    return OtherFault.model_validate(fields | {"after": spot(int(after)), "by": spot(int(by))})


def not_shown(words: list[str]) -> NotShown:
    run, what, first, last, *reason = words
    fields = {"run": None if run == "-" else int(run), "what": what, "reason": " ".join(reason)}
    return NotShown.model_validate(fields | {"first": spot(int(first)), "last": spot(int(last))})


MAKERS: dict[str, Callable[[list[str]], Entry]] = {
    "open": opened,
    "close": closed,
    "look": look,
    "sighted": sighted,
    "reading": reading,
    "fumble": fumble,
    "over": started_over,
    "cups": cups,
    "accepts": accepted,
    "before": attempts_before,
    "other": other_fault,
    "lacks": not_shown,
}
