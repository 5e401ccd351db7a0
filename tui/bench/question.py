"""What the checkpoint to tag next asks of the reviewer, in whole words."""

from types import MappingProxyType

from sessions.rules.ladder import Kind, Marker, Statement
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
    if run is None:
        return "Begin a run where the hands come to the pad."
    if not run.counts:
        return f"Run {run.id} is {run.sort}: it counts as nothing, and nothing is due in it."
    if checkpoint is None:
        return "The ladder of this run is complete."
    moments = review.checked(run).ladder.moments
    if isinstance(checkpoint, Marker):
        return f"{checkpoint.title}: tag the first frame in which {moments[checkpoint.id].words}."
    if checkpoint.met == "start" and checkpoint.kind in UNTIL_THE_START:
        return _at_the_start(checkpoint, review)
    where = _at_the_stop(checkpoint, review)
    met, due = moments[checkpoint.met].words, moments[checkpoint.due].words
    return f"{checkpoint.title}: {where}{met}, before {due}?"


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


def _at_the_start(checkpoint: Statement, review: Review) -> str:
    """What must be so as the clock starts is in order by the frame in which it does so."""
    start = review.checked(review.needed_run()).brackets["start"]
    where = "" if start.by is None else f"in frame {start.by}, "
    fault = "before" if start.after is None else f"up to {start.after}"
    return (
        f"{checkpoint.title}: {where}as the clock starts, {UNTIL_THE_START[checkpoint.kind]} "
        f"Fault: a frame {fault} that shows it."
    )
