"""Tagging: one key, one checkpoint. The frame on the screen is the witness."""

from typing import Literal

from sessions.errors import EntryRefused
from sessions.plural import plural
from sessions.record.entries import CupsSeen, Line, Look, OtherFault, Sighted, Spot
from sessions.record.session import Run, Where
from sessions.rules.ladder import Checkpoint, Kind, Marker, Statement
from sessions.ruling.admissible import misread
from sessions.ruling.brackets import Outcome, is_asked
from sessions.ruling.whole_footage import check_cups
from tui.bench.review import Review

Saw = Literal["proven", "refuted", "unproven"]


def tag_due(review: Review, saw: Saw) -> str:
    """Tag the checkpoint that is chosen, or else due."""
    review.counted_run()
    checkpoint = review.checkpoint
    if checkpoint is None:
        raise EntryRefused(
            "The ladder of this run is complete: choose a checkpoint "
            f"({review.key_of('ladder.list')}) to tag it again, in place of its tag."
        )
    return tag_checkpoint(review, checkpoint, saw)


def tag_kind(review: Review, kind: Kind, saw: Saw) -> str:
    """Tag the chosen checkpoint if it is of this kind, else the one of the kind that is due."""
    review.counted_run()
    checkpoint = review.checkpoint
    if checkpoint is None or checkpoint.kind is not kind:
        checkpoint = review.due_checkpoint(kind)
    if checkpoint is None:
        words = kind.value.replace("_", " ")
        raise EntryRefused(
            f'No "{words}" is due in this run: choose it on the ladder '
            f"({review.key_of('ladder.list')}) and tag it again, which replaces its tag, or take "
            f"its tag back there ({review.key_of('retract')})."
        )
    return tag_checkpoint(review, checkpoint, saw)


def tag_checkpoint(review: Review, checkpoint: Checkpoint, saw: Saw) -> str:
    """Tag one checkpoint at the frame on the screen, in place of any earlier tag of it."""
    check_within(review, review.frame)
    run = review.needed_run().id
    by = review.spot(review.frame)
    entry: Look | Sighted
    if isinstance(checkpoint, Marker):
        if saw == "refuted":
            raise EntryRefused("A sighting has no fault: tag where it happened, or cannot tell.")
        after = _wide(review) if saw == "unproven" else before_this(review)
        entry = Sighted(
            run=run, moment=checkpoint.id, hand=review.hand, after=after, by=by, speed=review.speed
        )
    else:
        after = before_this(review) if saw == "unproven" else None
        entry = Look(
            run=run,
            checkpoint=checkpoint.id,
            saw=saw,
            hand=review.hand,
            after=after,
            by=by,
            speed=review.speed,
        )
    _put(review, checkpoint, entry)
    review.anchor, review.hand, review.chosen = None, None, None
    return f"{checkpoint.title}: {_words(checkpoint, saw)} at frame {by.frame}."


def _put(review: Review, checkpoint: Checkpoint, entry: Look | Sighted) -> None:
    """Write a tag; the tags of the same checkpoint and hand give way to it.

    Where a checkpoint is looked at hand by hand, a tag of both hands gives way to one of a hand,
    and the tags of each hand to one of both.
    """
    earlier = [
        line.seq for line in tags_of(review, checkpoint) if _gives_way(line, entry, checkpoint)
    ]
    review.write(entry, earlier[-1] if earlier else None, retracts=earlier[:-1])


def _gives_way(line: Line, entry: Look | Sighted, checkpoint: Checkpoint) -> bool:
    earlier = line.entry
    if isinstance(entry, Sighted):
        return isinstance(earlier, Sighted) and earlier.hand == entry.hand
    if not isinstance(earlier, Look):
        return False
    by_hand = isinstance(checkpoint, Statement) and checkpoint.by_hand
    return not by_hand or None in (earlier.hand, entry.hand) or earlier.hand == entry.hand


def tags_of(review: Review, checkpoint: Checkpoint) -> list[Line]:
    """The living tags of one checkpoint of the run worked on."""
    return [
        line
        for line in review.session.said_of(review.run_id)
        if isinstance(line.entry, Look | Sighted) and checkpoint.id == _checkpoint_id(line.entry)
    ]


def _checkpoint_id(mark: Look | Sighted) -> str:
    return mark.checkpoint if isinstance(mark, Look) else mark.moment


def before_this(review: Review) -> Spot | None:
    """The last frame in which it had surely not happened: as remembered, else the one before."""
    frame = review.frame - 1 if review.anchor is None else review.anchor
    if frame >= review.frame:
        raise EntryRefused(
            f"The remembered frame {frame} is not before frame {review.frame}; "
            "go on to a later frame, or remember another."
        )
    return review.spot(frame) if frame >= 0 else None


def _wide(review: Review) -> Spot | None:
    if review.anchor is None:
        raise EntryRefused(
            "First remember the last frame in which it had surely not happened, then come here."
        )
    return before_this(review)


def _words(checkpoint: Checkpoint, saw: Saw) -> str:
    if isinstance(checkpoint, Marker):
        return "sighted"
    return {"proven": "in order", "refuted": "FAULT", "unproven": "cannot tell"}[saw]


def widen(review: Review, earlier: int, later: int) -> str:
    """Widen the bracket of the run's last tag, in frames on either side."""
    run = review.needed_run().id
    marks = [line for line in review.session.said_of(run) if isinstance(line.entry, Look | Sighted)]
    if not marks:
        raise EntryRefused("This run has no tag to widen yet.")
    line = marks[-1]
    mark = line.entry
    assert isinstance(mark, Look | Sighted)
    if isinstance(mark, Look) and mark.saw != "unproven":
        raise EntryRefused(
            "The last tag is one frame that shows the order; only sightings and "
            '"cannot tell" have a bracket to widen.'
        )
    first = (-1 if mark.after is None else mark.after.frame) - earlier
    last = min(mark.by.frame + later, review.frames - 1)
    check_within(review, last)
    after = review.spot(first) if first >= 0 else None
    wider = mark.model_copy(update={"after": after, "by": review.spot(last)})
    review.write(wider, replaces=line.seq)
    return f"Bracket now ({max(first, -1)}, {last}]."


def retract_checkpoint(review: Review) -> str:
    """Take back the tags of the chosen checkpoint, else the tags at this frame."""
    review.needed_run()
    checkpoint = review.checkpoint if review.chosen is not None else None
    if checkpoint is not None:
        lines = tags_of(review, checkpoint)
    else:
        lines = [
            line
            for line in review.session.said_of(review.run_id)
            if isinstance(line.entry, Look | Sighted | OtherFault)
            and line.entry.by.frame == review.frame
        ]
    if not lines:
        raise EntryRefused(
            "There is no tag at this frame or on the chosen checkpoint to take back."
        )
    review.retract(lines)
    return f"Taken back: {plural(len(lines), 'tag')}."


def choose_checkpoint(review: Review, direction: int) -> str:
    """Choose the next or previous checkpoint of the run's ladder."""
    checked = review.checked(review.counted_run())
    checkpoints = [
        checkpoint
        for checkpoint in checked.ladder.checkpoints
        if isinstance(checkpoint, Marker) or is_asked(checked.brackets, checked.ladder, checkpoint)
    ]
    ids = [checkpoint.id for checkpoint in checkpoints]
    here = review.checkpoint
    index = ids.index(here.id) + direction if here is not None and here.id in ids else 0
    review.chosen = ids[index % len(ids)]
    return f"Chosen: {checkpoints[index % len(ids)].title}."


# -- whether a frame lies where it must: in the run that is tagged, or after its clock stopped


def frames_text(run: Run) -> str:
    """The frames of a run, ``738-974``; ``from 738 on`` while it is open."""
    begins = 0 if run.begins is None else run.begins.frame
    return f"from {begins} on" if run.ends is None else f"{begins}-{run.ends.frame}"


def outside_text(review: Review) -> str:
    """Where the frame on the screen lies, if that is outside the run worked on; else empty."""
    run = review.run
    side = None if run is None else run.side_of(review.frame)
    return "" if run is None or side is None else f"{side.upper()} run {run.id}"


def check_within(review: Review, frame: int) -> None:
    """Raises EntryRefused where a frame lies outside the run worked on, with where to go."""
    run = review.needed_run()
    side = run.side_of(frame)
    if side is not None:
        raise EntryRefused(_outside(review, frame, side))


def check_reads_display(review: Review, frame: int) -> None:
    """Raises EntryRefused where a display cannot show the time of the run worked on: see
    ``sessions.ruling.admissible``."""
    run = review.needed_run()
    stop = review.checked(run).brackets["stop"]
    why = misread(run, stop, frame)
    if why == "running":
        raise EntryRefused(
            f"In frame {frame} the clock of run {run.id} has not stopped yet: read the display in "
            f"frame {(stop.after or 0) + 1} or later ({review.key_of('go_to')})."
        )
    if why is not None:
        raise EntryRefused(_outside(review, frame, why))


def _outside(review: Review, frame: int, side: Where) -> str:
    """That a frame lies beside the run worked on, and where to go or what to choose instead."""
    run = review.needed_run()
    place = f"Frame {frame} lies {side} run {run.id} (frames {frames_text(run)})"
    go = f"go to a frame of run {run.id} ({review.key_of('go_to')})"
    if len(review.session.runs) == 1:
        return f"{place}: {go}."
    keys = f"{review.key_of('run.previous')} or {review.key_of('run.next')}"
    other = review.session.run_at(frame)
    meant = "another run" if other is None else f"run {other.id}, in which it lies,"
    return f"{place}: {go}, or choose {meant} with {keys}."


# -- maker's marks, cup by cup


def look_at_cup(review: Review, saw: Literal["proven", "refuted", "unproven"]) -> str:
    """Say of the cup at hand what this frame shows, and go on to the next one not cleared."""
    cup = review.cup
    review.write(CupsSeen(cups=(cup,), saw=saw, at=review.spot(review.frame)))
    if saw == "refuted":
        return f"Cup {cup}: its mark never appeared.{_unseen(review)}"
    words = {"proven": "mark seen", "unproven": "cannot tell"}[saw]
    open_cups = _not_cleared(review)
    later = [c for c in open_cups if c > cup]
    if saw == "proven" and open_cups:
        review.cup = (later or open_cups)[0]
    return f"Cup {cup}: {words} at frame {review.frame}."


def clear_all(review: Review) -> str:
    """All cups not yet cleared show their marks in this frame."""
    cups = _not_cleared(review)
    if not cups:
        raise EntryRefused("Every cup is cleared already.")
    review.write(CupsSeen(cups=tuple(cups), saw="proven", at=review.spot(review.frame)))
    return f"Marks of {plural(len(cups), 'cup')} seen at frame {review.frame}."


def choose_cup(review: Review, direction: int) -> str:
    """Take the next or previous cup in hand."""
    cups = review.session.header.event.cups
    review.cup = (review.cup - 1 + direction) % cups + 1
    return f"Cup {review.cup}."


def go_to_evidence(review: Review) -> str:
    """Go to the frame that decided the cup at hand."""
    found = check_cups(review.session)[review.cup - 1]
    if found.at is None:
        raise EntryRefused(f"No frame decides cup {found.cup} yet: {found.detail}.")
    review.go(found.at.frame)
    return f"Cup {found.cup}: {found.detail} at frame {found.at.frame}."


def _unseen(review: Review) -> str:
    """What a mark that never appeared waits for, if anything."""
    left = len(review.session.unseen)
    return f" It counts once every frame was shown; {plural(left, 'frame')} left." if left else ""


def _not_cleared(review: Review) -> list[int]:
    return [f.cup for f in check_cups(review.session) if f.outcome is not Outcome.PROVEN]
