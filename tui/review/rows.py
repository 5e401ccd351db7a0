"""What the panels of the bench show, as plain data."""

from dataclasses import dataclass
from typing import Literal

from sessions.attempts import count_attempts, number_of
from sessions.brackets import look_brackets
from sessions.checker import Checked, Outcome, rung_outcome
from sessions.due import is_due
from sessions.entries import Look, Sighted
from sessions.equipment import CupFinding, check_cups
from sessions.ladder import Marker, Rung, Step
from sessions.ruling import RuledRun, Standing
from sessions.session import Run
from sessions.sighting import Sighting
from sessions.timing import bounds_text, clock_text
from tui.review.desk import Desk

State = Literal["kept", "fault", "unclear", "due", "open", "conflict"]

_STATES: dict[Outcome, State] = {
    Outcome.PROVEN: "kept",
    Outcome.REFUTED: "fault",
    Outcome.UNPROVEN: "unclear",
    Outcome.UNLOOKED: "open",
    Outcome.CONFLICT: "conflict",
}


@dataclass(frozen=True, slots=True)
class LadderRow:
    """One step of the ladder: its state, words, and the frames that decided it."""

    state: State
    title: str
    frames: str
    chosen: bool


@dataclass(frozen=True, slots=True)
class RunRow:
    """One run: its number on the tape, what it counts as, how it stands, and its time."""

    run: int
    counts_as: str
    standing: Standing
    time: str
    frames: str
    here: bool


@dataclass(frozen=True, slots=True)
class CupRow:
    """One cup: its place from 1, its state and the frame that decided it; ``here`` is in hand.

    ``never`` is whether the reviewer said that its mark never appeared.
    """

    cup: int
    state: State
    here: bool
    at: int | None = None
    never: bool = False


@dataclass(frozen=True, slots=True)
class ClockRow:
    """The reading of a run against the picture: kept, fault, or open while there is no reading."""

    state: State
    reading: str
    by_picture: str

    @property
    def words(self) -> str:
        """Both together, in seconds."""
        if not self.reading:
            return f"by the picture {self.by_picture} s, no reading yet"
        relation = "CONTRADICTS" if self.state == "fault" else "agrees with"
        return f"the display's {self.reading} s {relation} the picture's {self.by_picture} s"


@dataclass(frozen=True, slots=True)
class TimelineRow:
    """The footage from left to right: runs, tags and frames, all from 0; ``ticks`` are tags."""

    frames: int
    position: int
    seen: tuple[tuple[int, int], ...]
    runs: tuple[tuple[int, int, bool], ...]
    ticks: tuple[tuple[int, State], ...]


def ladder_rows(desk: Desk) -> list[LadderRow]:
    """The ladder of the run worked on; empty without a run that counts."""
    run = desk.run
    return [] if run is None or not run.counts else [row for _, row in steps_of(desk, run)]


def steps_of(desk: Desk, run: Run) -> list[tuple[Step, LadderRow]]:
    """The steps of a run with their rows; a cure only once it is due or was looked at."""
    checked, due = desk.checked(run), desk.step
    return [
        (step, LadderRow(_state(step, checked, step == due), step.title, frames, step == due))
        for step in checked.ladder.steps
        if not (isinstance(step, Rung) and step.cures) or is_due(step, checked) or _seen(step, desk)
        for frames in [_frames(step, checked)]
    ]


def _seen(step: Step, desk: Desk) -> bool:
    run = desk.needed_run()
    return any(isinstance(m, Look) and m.rung == step.id for m in run.marks)


def _state(step: Step, checked: Checked, due: bool) -> State:
    if isinstance(step, Marker):
        if step.id in checked.brackets.conflicts:
            return "conflict"
        state: State = "kept" if checked.brackets.is_sighted(step.id) else "open"
    else:
        state = _STATES[rung_outcome(checked.brackets, step)]
    return "due" if state == "open" and due else state


def _frames(step: Step, checked: Checked) -> str:
    if isinstance(step, Marker):
        return bracket_text(checked.brackets[step.id])
    looks = [m for m in checked.run.marks if isinstance(m, Look) and m.rung == step.id]
    if not looks:
        return ""
    look = looks[-1]
    if look.saw == "unclear":
        return bracket_text(look_brackets(look)[0])
    return str(look.by.frame)


def bracket_text(sighting: Sighting) -> str:
    """A bracket in frames, empty where nobody looked."""
    if sighting.is_unseen:
        return ""
    after = "?" if sighting.after is None else str(sighting.after)
    by = "?" if sighting.by is None else str(sighting.by)
    return f"({after},{by}]"


def run_rows(desk: Desk) -> list[RunRow]:
    """All runs in the order of the footage."""
    return [_run_row(run, desk) for run in desk.ruling.runs]


def _run_row(run: RuledRun, desk: Desk) -> RunRow:
    begins = "" if run.begins is None else str(run.begins.frame)
    ends = "…" if run.ends is None else str(run.ends.frame)
    return RunRow(
        run=run.run,
        counts_as=run.sort if run.number is None else f"attempt {run.number}",
        standing=run.standing,
        time=run.time or "",
        frames=f"{begins}-{ends}",
        here=run.run == desk.run_id,
    )


def run_explanation(desk: Desk) -> str:
    """Why the run worked on counts as it does."""
    ruled = _ruled(desk)
    return "" if ruled is None else ruled.counted_as


def clock_row(desk: Desk) -> ClockRow | None:
    """Clock against picture in the run worked on, once both its ends are sighted."""
    run = desk.run
    return None if run is None else clock_of(desk, run)


def clock_of(desk: Desk, run: Run) -> ClockRow | None:
    """Clock against picture in a run, as in ``clock_row``."""
    checked = desk.checked(run)
    if checked.elapsed is None:
        return None
    readings = tuple(dict.fromkeys(reading.display for reading in run.readings))
    clock = checked.finding("clock")
    state = "open" if clock is None or not readings else _STATES[clock.outcome]
    bounds = bounds_text(checked.elapsed, desk.session.header.event.clock)
    return ClockRow(state, " and ".join(readings), bounds)


def _ruled(desk: Desk) -> RuledRun | None:
    """The run worked on, as ruled."""
    return next((r for r in desk.ruling.runs if r.run == desk.run_id), None)


def cup_rows(desk: Desk) -> list[CupRow]:
    """The cups by where they stand; one said never to have shown its mark is a fault at once."""
    missed = {cup for entry in desk.session.cups if entry.saw == "broken" for cup in entry.cups}
    return [_cup_row(found, found.cup in missed, desk) for found in check_cups(desk.session)]


def _cup_row(found: CupFinding, missed: bool, desk: Desk) -> CupRow:
    never = missed and found.outcome in (Outcome.UNLOOKED, Outcome.REFUTED)
    state = "fault" if never else _STATES[found.outcome]
    at = None if found.at is None else found.at.frame
    return CupRow(found.cup, state, found.cup == desk.cup, at, never)


def timeline(desk: Desk) -> TimelineRow:
    """The whole footage with what was seen and tagged."""
    last = desk.frames - 1
    return TimelineRow(
        frames=desk.frames,
        position=desk.frame,
        seen=desk.seen.all.ranges,
        runs=tuple(
            (run.begins.frame, last if run.ends is None else run.ends.frame, run.counts)
            for run in desk.session.runs
            if run.begins is not None
        ),
        ticks=tuple(
            (line.entry.by.frame, _tick(line.entry))
            for line in desk.session.live
            if isinstance(line.entry, Look | Sighted)
        ),
    )


def _tick(mark: Look | Sighted) -> State:
    if isinstance(mark, Sighted):
        return "kept"
    states: dict[str, State] = {"kept": "kept", "broken": "fault", "unclear": "unclear"}
    return states[mark.saw]


def place_text(desk: Desk, *, timecode: bool = True) -> str:
    """Where the desk is: frame, time and, where there is one and room for it, time code."""
    footage = desk.session.header.footage
    seconds = footage.seconds(desk.stamp(desk.frame))
    words = f"frame {desk.frame}/{desk.frames - 1} {clock_text(seconds)}"
    code = footage.timecode(desk.frame) if timecode else None
    if code:
        words += f" {code}"
    return words


def number_text(desk: Desk) -> str:
    """The run worked on and its number, for the status line."""
    run = desk.run
    if run is None:
        return "no run"
    number = number_of(run.id, count_attempts(desk.session.runs))
    return f"run {run.id} {run.sort}" + (f" {number}" if number else "")
