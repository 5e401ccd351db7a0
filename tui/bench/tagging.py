"""Tagging: one key, one checkpoint. The frame on the screen is the witness."""

from typing import Literal

from sessions.errors import EntryRefused
from sessions.plural import plural
from sessions.record.entries import Line, Look, OtherFault, Sighted, Spot
from sessions.rules.ladder import Checkpoint, Kind, Marker, Statement
from sessions.ruling.brackets import is_asked
from tui.bench.review import Review
from tui.bench.run_bounds import check_within

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
