"""What is asked of the reviewer next, by which keys, and what to bear in mind as it is answered."""

from types import MappingProxyType

from sessions.plural import nouns, plural
from sessions.record.session import Run
from sessions.rules.ladder import Kind, Marker, Statement
from sessions.rules.moments import Side
from sessions.ruling.brackets import hands_left
from tui.bench.finishing import cups_left
from tui.bench.review import Review

UNTIL_THE_START = MappingProxyType(
    {
        Kind.FLAT: "flat hands and no wrist on the pad until then?",
        Kind.GRIP: "no finger on a cup until then?",
        Kind.STILL: "no cup moved until then?",
    }
)
"""What is in order as the clock starts, by kind of checkpoint."""


def due_text(review: Review) -> str:
    """What is due, as a question; what to do first where nothing is."""
    run, checkpoint = review.run, review.checkpoint
    if review.is_closed and review.amending is None:
        return "This review is finished."
    if run is None:
        return f"Begin a run where the hands come to the pad: {review.key_of('run.begin')}"
    if not run.counts:
        return _uncounted(run, review)
    if checkpoint is None:
        return f"The ladder of run {run.id} is complete. {_next(run, review)}"
    moments = review.checked(run).ladder.moments
    if isinstance(checkpoint, Marker):
        return f"{checkpoint.title}: tag the first frame in which {moments[checkpoint.id].words}."
    hand = _hand(checkpoint, review)
    title = checkpoint.title if hand is None else f"{checkpoint.title} ({hand} hand)"
    if checkpoint.met == "start" and checkpoint.kind in UNTIL_THE_START:
        return _at_the_start(title, checkpoint, review, hand)
    where = _at_the_stop(checkpoint, review)
    met = moments[checkpoint.met].words_of(hand if checkpoint.met_by_hand else None)
    due = moments[checkpoint.due].words_of(
        hand if checkpoint.due_by_hand else None, both=checkpoint.each
    )
    return f"{title}: {where}{met.happens}, before {due.happens}?"


def _hand(checkpoint: Statement, review: Review) -> Side | None:
    """The hand that is asked about: that of the next tag, or the one not yet looked at."""
    if not checkpoint.by_hand or review.hand is not None:
        return review.hand
    left = hands_left(review.checked(review.needed_run()).marks, checkpoint)
    return left[0] if left else None


_MOVING = ("step.back", "step.forward")
_REST = (
    "not_yet", "ladder.list", "play", "go_to", "flip", "lens", "undo", "ruling", "palette", "quit",
)  # fmt: skip

_OF_CHECKPOINTS = ("not_yet", "ladder.list")


def keys_for(review: Review) -> tuple[str, ...]:
    """The commands whose keys are shown, those that this situation asks for first."""
    rest = [c for c in _REST if review.checkpoint is not None or c not in _OF_CHECKPOINTS]
    return tuple(dict.fromkeys(("help", *_keys_now(review), *_MOVING, *rest)))


def _keys_now(review: Review) -> tuple[str, ...]:
    run = review.run
    if review.is_closed:
        return ("ruling", "quit")
    if run is None:
        return ("run.begin",)
    end = ("run.end",) if run.ends is None else ("run.begin",)
    if not run.counts:
        return (*end, "run.sort")
    if review.checkpoint is not None:
        return ("due.in_order", "due.fault", "due.cannot_tell", *end)
    return ("reading", *end, "cup.seen", "cup.all_seen", "finish")


def _uncounted(run: Run, review: Review) -> str:
    """What a run that counts as nothing asks for: to be ended, and the next one to be begun."""
    words = f"Run {run.id} ({run.sort}) counts as nothing, so nothing is due in it."
    if run.ends is None:
        return f"{words} End it with {review.key_of('run.end')}"
    return f"{words} Begin the next run with {review.key_of('run.begin')}"


def _next(run: Run, review: Review) -> str:
    """What is left to do once the ladder of a run is complete, each with its key."""
    parts = [
        "" if run.readings else f"type the display's reading: {review.key_of('reading')}",
        "" if run.ends is not None else f"end the run: {review.key_of('run.end')}",
    ]
    if left := cups_left(review):
        marks = nouns(len(left), "mark")
        parts.append(f"look for the {marks} of {plural(len(left), 'cup')}: {_key_of_cups(review)}")
    named = [part for part in parts if part]
    if run.ends is not None:
        named.append(f"begin the next run: {review.key_of('run.begin')}")
    named.append(f"finish: {review.key_of('finish')}")
    return f"Next: {'; '.join(named)}"


def _key_of_cups(review: Review) -> str:
    return f"{review.key_of('cup.seen')} or {review.key_of('cup.all_seen')}"


def _at_the_stop(checkpoint: Statement, review: Review) -> str:
    """In which frame to look for what must be so as the clock stops, once that is sighted."""
    stop = review.checked(review.needed_run()).brackets["stop"]
    if checkpoint.due == "stop" and stop.after is not None:
        return f"in frame {stop.after} or earlier, "
    if checkpoint.met == "stop" and stop.by is not None:
        return f"in frame {stop.by} or later, "
    if checkpoint.id == "stop.flat" and stop.by is not None:
        return f"in frame {stop.by}, "
    return ""


def _at_the_start(title: str, checkpoint: Statement, review: Review, hand: Side | None) -> str:
    """What must be so as the clock starts is in order by the frame in which it does so.

    Where each hand is judged, it is in order by the frame in which the hand is off the pad.
    """
    until = UNTIL_THE_START[checkpoint.kind]
    if checkpoint.each:
        whose = "both hands are" if hand is None else f"the {hand} hand is"
        return (
            f"{title}: in the first frame in which {whose} off the pad, {until} "
            "Fault: a frame before it that shows it."
        )
    start = review.checked(review.needed_run()).brackets["start"]
    where = "" if start.by is None else f"in frame {start.by}, "
    fault = "before" if start.after is None else f"up to {start.after}"
    return f"{title}: {where}as the clock starts, {until} Fault: a frame {fault} that shows it."


FINE_KINDS = frozenset({Kind.GRIP, Kind.STILL, Kind.FREE, Kind.LET_GO, Kind.SINGLES})
"""Kinds of checkpoints that are about contact or movement."""


class Reminder:
    """Never blocks: it only adds a sentence to what is said."""

    def __init__(self) -> None:
        self._reminded: set[int] = set()

    def before(self, command_id: str | None, review: Review, doubt: str) -> str:
        """What to add when a command is given; ``doubt`` says why contact cannot be judged now."""
        if review.run_id is None or review.run_id in self._reminded:
            return ""
        if _kind(command_id or "", review) not in FINE_KINDS:
            return ""
        return doubt

    def said(self, run: int | None) -> None:
        """The reminder was shown in a run, and is not shown in it again."""
        if run is not None:
            self._reminded.add(run)


def _kind(command_id: str, review: Review) -> Kind | None:
    """The kind of checkpoint that a command tags."""
    answer, _, kind = command_id.partition(".")
    if answer == "due":
        return review.checkpoint.kind if review.checkpoint is not None else None
    tags = answer in ("in_order", "fault", "cannot_tell")
    return Kind(kind) if tags else None
