"""What the step to tag next asks of the reviewer, in whole words."""

from types import MappingProxyType

from sessions.ladder import Kind, Marker, Rung
from tui.review.desk import Desk

UNTIL_THE_START = MappingProxyType(
    {
        Kind.FLAT: "flat hands and no wrist on the pad until then?",
        Kind.GRIP: "no finger on a cup until then?",
        Kind.STILL: "no cup moved until then?",
    }
)
"""What is in order as the clock starts, by kind of step."""


def due_text(desk: Desk) -> str:
    """What is due, as a question; what to do first where nothing is."""
    run, step = desk.run, desk.step
    if run is None:
        return "Open a run where the hands come to the pad."
    if not run.counts:
        return f"Run {run.id} is {run.sort}: it counts as nothing, and nothing is due in it."
    if step is None:
        return "The ladder of this run is complete."
    moments = desk.checked(run).ladder.moments
    if isinstance(step, Marker):
        return f"{step.title}: tag the first frame in which {moments[step.id].words}."
    if step.met == "start" and step.kind in UNTIL_THE_START:
        return _at_the_start(step, desk)
    where = _at_the_stop(step, desk)
    return f"{step.title}: {where}{moments[step.met].words}, before {moments[step.due].words}?"


def _at_the_stop(step: Rung, desk: Desk) -> str:
    """In which frame to look for what must be so as the clock stops, once that is sighted."""
    stop = desk.checked(desk.needed_run()).brackets["stop"]
    if step.due == "stop" and stop.after is not None:
        return f"in frame {stop.after} or earlier, "
    if step.met == "stop" and stop.by is not None:
        return f"in frame {stop.by} or later, "
    if step.id == "stop.flat" and stop.by is not None:
        return f"in frame {stop.by}, "
    return ""


def _at_the_start(step: Rung, desk: Desk) -> str:
    """What must be so as the clock starts is in order by the frame in which it does so."""
    start = desk.checked(desk.needed_run()).brackets["start"]
    where = "" if start.by is None else f"in frame {start.by}, "
    fault = "before" if start.after is None else f"up to {start.after}"
    return (
        f"{step.title}: {where}as the clock starts, {UNTIL_THE_START[step.kind]} "
        f"Fault: a frame {fault} that shows it."
    )
