"""What the panels of the bench show, as plain data."""

from dataclasses import dataclass
from typing import Literal

from sessions.evidence.sighting import Sighting
from sessions.record.entries import Look, Sighted
from sessions.record.session import Run
from sessions.rules.ladder import Checkpoint, Marker, Statement
from sessions.ruling.brackets import Outcome, look_brackets, statement_outcome
from sessions.ruling.checker import Checked, is_due
from sessions.ruling.order import is_contradicted
from sessions.ruling.ruling import RuledRun, Standing
from sessions.ruling.timing import bounds_text, clock_text
from sessions.ruling.whole_footage import (
    CupFinding,
    check_cups,
    count_attempts,
    number_of,
    used_before,
)
from tui.bench.review import Review

State = Literal["proven", "fault", "unproven", "due", "open", "conflict"]

_STATES: dict[Outcome, State] = {
    Outcome.PROVEN: "proven",
    Outcome.REFUTED: "fault",
    Outcome.UNPROVEN: "unproven",
    Outcome.UNLOOKED: "open",
    Outcome.CONFLICT: "conflict",
}


@dataclass(frozen=True, slots=True)
class LadderRow:
    """One checkpoint of the ladder: its state, words, and the frames that decided it.

    ``hurried`` is whether less time lies between its tag and another than the work usually takes.
    """

    state: State
    title: str
    frames: str
    chosen: bool
    hurried: bool = False


@dataclass(frozen=True, slots=True)
class RunRow:
    """One run: its number on the footage, what it counts as, how it stands, and its time."""

    run: int
    counts_as: str
    standing: Standing
    time: str
    frames: str
    here: bool


@dataclass(frozen=True, slots=True)
class CupRow:
    """One cup: its place from 1, its state and the frame that decided it; ``here`` is in hand.

    ``never`` is whether the reviewer said that its mark never appeared; ``is_left`` whether its
    mark has still to be looked for.
    """

    cup: int
    state: State
    here: bool
    at: int | None = None
    never: bool = False
    is_left: bool = False


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


def ladder_rows(review: Review) -> list[LadderRow]:
    """The ladder of the run worked on; empty without a run that counts."""
    run = review.run
    return [] if run is None or not run.counts else [row for _, row in checkpoints_of(review, run)]


def checkpoints_of(review: Review, run: Run) -> list[tuple[Checkpoint, LadderRow]]:
    """The checkpoints of a run with their rows; a cure only once it is due or was looked at."""
    checked, due = review.checked(run), review.checkpoint
    return [
        (
            checkpoint,
            LadderRow(
                _state(checkpoint, checked, checkpoint == due),
                checkpoint.title,
                frames,
                checkpoint == due,
                checkpoint.id in checked.hurried,
            ),
        )
        for checkpoint in checked.ladder.checkpoints
        if not (isinstance(checkpoint, Statement) and (checkpoint.cures or checkpoint.follows))
        or is_due(checkpoint, checked)
        or _seen(checkpoint, review)
        for frames in [_frames(checkpoint, checked)]
    ]


def _seen(checkpoint: Checkpoint, review: Review) -> bool:
    run = review.needed_run()
    return any(isinstance(m, Look) and m.checkpoint == checkpoint.id for m in run.marks)


def _state(checkpoint: Checkpoint, checked: Checked, due: bool) -> State:
    if is_contradicted(checked.clashes, checkpoint):
        return "conflict"
    if isinstance(checkpoint, Marker):
        if checkpoint.id in checked.brackets.conflicts:
            return "conflict"
        state: State = "proven" if checked.brackets.is_sighted(checkpoint.id) else "open"
    else:
        state = _STATES[statement_outcome(checked.brackets, checkpoint)]
    return "due" if state == "open" and due else state


def _frames(checkpoint: Checkpoint, checked: Checked) -> str:
    if isinstance(checkpoint, Marker):
        return bracket_text(checked.brackets[checkpoint.id])
    looks = [m for m in checked.run.marks if isinstance(m, Look) and m.checkpoint == checkpoint.id]
    if not looks:
        return ""
    look = looks[-1]
    if look.saw == "unproven":
        return bracket_text(look_brackets(look)[0])
    return str(look.by.frame)


def bracket_text(sighting: Sighting) -> str:
    """A bracket in frames, empty where nobody looked."""
    if sighting.is_unseen:
        return ""
    after = "?" if sighting.after is None else str(sighting.after)
    by = "?" if sighting.by is None else str(sighting.by)
    return f"({after},{by}]"


def run_rows(review: Review) -> list[RunRow]:
    """All runs in the order of the footage."""
    return [_run_row(run, review) for run in review.ruling.runs]


def _run_row(run: RuledRun, review: Review) -> RunRow:
    begins = "" if run.begins is None else str(run.begins.frame)
    ends = "…" if run.ends is None else str(run.ends.frame)
    return RunRow(
        run=run.run,
        counts_as=run.sort if run.number is None else f"attempt {run.number}",
        standing=run.standing,
        time=run.time or "",
        frames=f"{begins}-{ends}",
        here=run.run == review.run_id,
    )


def run_explanation(review: Review) -> str:
    """Why the run worked on counts as it does."""
    ruled = _ruled(review)
    return "" if ruled is None else ruled.counted_as


def clock_row(review: Review) -> ClockRow | None:
    """Clock against picture in the run worked on, once both its ends are sighted."""
    run = review.run
    return None if run is None else clock_of(review, run)


def clock_of(review: Review, run: Run) -> ClockRow | None:
    """Clock against picture in a run, as in ``clock_row``."""
    checked = review.checked(run)
    if checked.elapsed is None:
        return None
    readings = tuple(dict.fromkeys(reading.display for reading in run.readings))
    clock = checked.finding("clock")
    state = "open" if clock is None or not readings else _STATES[clock.outcome]
    bounds = bounds_text(checked.elapsed, review.session.header.event.clock)
    return ClockRow(state, " and ".join(readings), bounds)


def _ruled(review: Review) -> RuledRun | None:
    """The run worked on, as ruled."""
    return next((r for r in review.ruling.runs if r.run == review.run_id), None)


def cup_rows(review: Review) -> list[CupRow]:
    """The cups by where they stand; one said never to have shown its mark is a fault at once."""
    missed = {cup for entry in review.session.cups if entry.saw == "refuted" for cup in entry.cups}
    return [_cup_row(found, found.cup in missed, review) for found in check_cups(review.session)]


def _cup_row(found: CupFinding, missed: bool, review: Review) -> CupRow:
    never = missed and found.outcome in (Outcome.UNLOOKED, Outcome.REFUTED)
    state = "fault" if never else _STATES[found.outcome]
    at = None if found.at is None else found.at.frame
    return CupRow(found.cup, state, found.cup == review.cup, at, never, found.outcome.is_open)


def timeline(review: Review) -> TimelineRow:
    """The whole footage with what was seen and tagged."""
    last = review.frames - 1
    return TimelineRow(
        frames=review.frames,
        position=review.frame,
        seen=review.seen.all.ranges,
        runs=tuple(
            (run.begins.frame, last if run.ends is None else run.ends.frame, run.counts)
            for run in review.session.runs
            if run.begins is not None
        ),
        ticks=tuple(
            (line.entry.by.frame, _tick(line.entry))
            for line in review.session.live
            if isinstance(line.entry, Look | Sighted)
        ),
    )


def _tick(mark: Look | Sighted) -> State:
    if isinstance(mark, Sighted):
        return "proven"
    states: dict[str, State] = {"proven": "proven", "refuted": "fault", "unproven": "unproven"}
    return states[mark.saw]


def place_text(review: Review, *, timecode: bool = True) -> str:
    """Where the review is: frame, time and, where there is one and room for it, time code."""
    footage = review.session.header.footage
    seconds = footage.seconds(review.stamp(review.frame))
    words = f"frame {review.frame}/{review.frames - 1} {clock_text(seconds)}"
    code = footage.timecode(review.frame) if timecode else None
    if code:
        words += f" {code}"
    return words


def number_text(review: Review) -> str:
    """The run worked on and its number, for the status line."""
    run = review.run
    if run is None:
        return "no run"
    number = number_of(run.id, count_attempts(review.session.runs, used_before(review.session)))
    return f"run {run.id} {run.sort}" + (f" {number}" if number else "")
