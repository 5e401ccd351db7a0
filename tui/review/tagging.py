"""Tagging: one key, one checkpoint. The frame on the screen is the witness."""

from typing import Literal

from sessions.counted import counted
from sessions.entries import Line, Look, Sighted, Spot
from sessions.errors import EntryRefused
from sessions.ladder import Kind, Marker, Rung, Step
from tui.review.desk import Desk
from tui.review.within import check_within

Saw = Literal["kept", "broken", "unclear"]


def tag_due(desk: Desk, saw: Saw) -> str:
    """Tag the step that is chosen, or else due."""
    desk.counted_run()
    step = desk.step
    if step is None:
        raise EntryRefused(
            "The ladder of this run is complete: choose a step "
            f"({desk.key_of('ladder.list')}) to tag it again, in place of its tag."
        )
    return tag_step(desk, step, saw)


def tag_kind(desk: Desk, kind: Kind, saw: Saw) -> str:
    """Tag the step of a kind: the chosen one if it is of that kind, else the one that is due."""
    desk.counted_run()
    step = desk.step
    if step is None or step.kind is not kind:
        step = desk.due_step(kind)
    if step is None:
        words = kind.value.replace("_", " ")
        raise EntryRefused(
            f'No "{words}" is due in this run: choose it on the ladder '
            f"({desk.key_of('ladder.list')}) and tag it again, which replaces its tag, or take "
            f"its tag back there ({desk.key_of('retract')})."
        )
    return tag_step(desk, step, saw)


def tag_step(desk: Desk, step: Step, saw: Saw) -> str:
    """Tag one step at the frame on the screen, in place of any earlier tag of it."""
    check_within(desk, desk.frame)
    run = desk.needed_run().id
    by = desk.spot(desk.frame)
    entry: Look | Sighted
    if isinstance(step, Marker):
        if saw == "broken":
            raise EntryRefused("A sighting has no fault: tag where it happened, or cannot tell.")
        after = _wide(desk) if saw == "unclear" else _before(desk)
        entry = Sighted(
            run=run, moment=step.id, hand=desk.hand, after=after, by=by, speed=desk.speed
        )
    else:
        after = _before(desk) if saw == "unclear" else None
        entry = Look(
            run=run, rung=step.id, saw=saw, hand=desk.hand, after=after, by=by, speed=desk.speed
        )
    _put(desk, step, entry)
    desk.anchor, desk.hand, desk.chosen = None, None, None
    return f"{step.title}: {_words(step, saw)} at frame {by.frame}."


def _put(desk: Desk, step: Step, entry: Look | Sighted) -> None:
    """Write a tag; a tag of the same step and hand gives way to it."""
    earlier = [line.seq for line in tags_of(desk, step) if _same_place(line, entry)]
    desk.write(entry, earlier[-1] if earlier else None, retracts=earlier[:-1])


def _same_place(line: Line, entry: Look | Sighted) -> bool:
    if isinstance(entry, Look):
        return isinstance(line.entry, Look)
    return isinstance(line.entry, Sighted) and line.entry.hand == entry.hand


def tags_of(desk: Desk, step: Step) -> list[Line]:
    """The living tags of one step of the run worked on."""
    return [
        line
        for line in desk.session.live
        if isinstance(line.entry, Look | Sighted)
        and line.entry.run == desk.run_id
        and step.id == _step_id(line.entry)
    ]


def _step_id(mark: Look | Sighted) -> str:
    return mark.rung if isinstance(mark, Look) else mark.moment


def _before(desk: Desk) -> Spot | None:
    """The last frame in which it had surely not happened: as remembered, else the one before."""
    frame = desk.frame - 1 if desk.anchor is None else desk.anchor
    if frame >= desk.frame:
        raise EntryRefused(
            f"The remembered frame {frame} is not before frame {desk.frame}; "
            "go on to a later frame, or remember another."
        )
    return desk.spot(frame) if frame >= 0 else None


def _wide(desk: Desk) -> Spot | None:
    if desk.anchor is None:
        raise EntryRefused(
            "First remember the last frame in which it had surely not happened, then come here."
        )
    return _before(desk)


def _words(step: Step, saw: Saw) -> str:
    if isinstance(step, Marker):
        return "sighted"
    return {"kept": "in order", "broken": "FAULT", "unclear": "cannot tell"}[saw]


def widen(desk: Desk, earlier: int, later: int) -> str:
    """Widen the bracket of the run's last tag, in frames on either side."""
    run = desk.needed_run().id
    marks = [
        line
        for line in desk.session.live
        if isinstance(line.entry, Look | Sighted) and line.entry.run == run
    ]
    if not marks:
        raise EntryRefused("This run has no tag to widen yet.")
    line = marks[-1]
    mark = line.entry
    assert isinstance(mark, Look | Sighted)
    if isinstance(mark, Look) and mark.saw != "unclear":
        raise EntryRefused(
            "The last tag is one frame that shows the order; only sightings and "
            '"cannot tell" have a bracket to widen.'
        )
    first = (-1 if mark.after is None else mark.after.frame) - earlier
    last = min(mark.by.frame + later, desk.frames - 1)
    check_within(desk, last)
    after = desk.spot(first) if first >= 0 else None
    wider = mark.model_copy(update={"after": after, "by": desk.spot(last)})
    desk.write(wider, replaces=line.seq)
    return f"Bracket now ({max(first, -1)}, {last}]."


def retract_step(desk: Desk) -> str:
    """Take back the tags of the chosen step, else the tags at this frame."""
    desk.needed_run()
    step = desk.step if desk.chosen is not None else None
    if step is not None:
        lines = tags_of(desk, step)
    else:
        lines = [
            line
            for line in desk.session.live
            if isinstance(line.entry, Look | Sighted)
            and line.entry.run == desk.run_id
            and line.entry.by.frame == desk.frame
        ]
    if not lines:
        raise EntryRefused("There is no tag at this frame or on the chosen step to take back.")
    desk.retract(lines)
    return f"Taken back: {counted(len(lines), 'tag')}."


def choose_step(desk: Desk, direction: int) -> str:
    """Choose the next or previous step of the run's ladder."""
    run = desk.counted_run()
    steps = [
        step
        for step in desk.checked(run).ladder.steps
        if not (isinstance(step, Rung) and step.cures and not _is_fault(desk, step.cures))
    ]
    ids = [step.id for step in steps]
    here = desk.step
    index = ids.index(here.id) + direction if here is not None and here.id in ids else 0
    desk.chosen = ids[index % len(ids)]
    return f"Chosen: {steps[index % len(ids)].title}."


def _is_fault(desk: Desk, rung_id: str) -> bool:
    run = desk.needed_run()
    return any(isinstance(m, Look) and m.rung == rung_id and m.saw == "broken" for m in run.marks)
