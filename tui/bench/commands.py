"""What each command does to the review, or to the lens; those that ask or show are the screen's."""

from collections.abc import Callable, Mapping
from functools import partial
from types import MappingProxyType

from keymaps.commands import LEAP
from sessions.rules.ladder import MARKER_KINDS, Kind
from tui.bench import places, runs, tagging
from tui.bench.review import Review
from tui.picture.lens import Lens, Pair

ReviewHandler = Callable[[Review], str | None]
"""Does a command to the review, and returns what to say of it, if anything."""


def _move(frames: int, review: Review) -> None:
    review.go(review.frame + frames)


def _second(direction: int, review: Review) -> None:
    """One second of footage by its time stamps, and one frame at the least."""
    footage = review.session.header.footage
    wanted = footage.seconds(review.stamp(review.frame)) + direction
    frame = review.frame_at(wanted)
    review.go(frame if frame != review.frame else review.frame + direction)


def _last(review: Review) -> None:
    review.check_read()
    review.go(review.frames - 1)


def _first(review: Review) -> None:
    review.go(0)


def _not_yet(review: Review) -> str:
    review.anchor = review.frame
    return f"Not yet in frame {review.frame}: the next bracket begins here."


def _hand(review: Review) -> str:
    review.hand = {None: "left", "left": "right", "right": None}[review.hand]
    return f"Next tag: {review.hand or 'either'} hand."


SAW: Mapping[str, tagging.Saw] = MappingProxyType(
    {"in_order": "proven", "fault": "refuted", "cannot_tell": "unproven"}
)
"""What a look says, by the answer that a command's id begins with."""


def _kinds() -> dict[str, ReviewHandler]:
    handlers: dict[str, ReviewHandler] = {}
    for kind in Kind:
        for answer, saw in SAW.items():
            if saw != "refuted" or kind not in MARKER_KINDS:
                handlers[f"{answer}.{kind}"] = partial(tagging.tag_kind, kind=kind, saw=saw)
    return handlers


REVIEW_HANDLERS: Mapping[str, ReviewHandler] = MappingProxyType(
    {
        "step.forward": partial(_move, 1),
        "step.back": partial(_move, -1),
        "leap.forward": partial(_move, LEAP),
        "leap.back": partial(_move, -LEAP),
        "second.forward": partial(_second, 1),
        "second.back": partial(_second, -1),
        "footage.first": _first,
        "footage.last": _last,
        "tag.next": partial(places.go_to_tag, direction=1),
        "tag.previous": partial(places.go_to_tag, direction=-1),
        "unseen.next": places.go_to_unseen,
        "flip": Review.flip,
        "run.begin": runs.begin_run,
        "run.end": runs.end_run,
        "run.sort": runs.sort_run,
        "run.next": partial(runs.choose_run, direction=1),
        "run.previous": partial(runs.choose_run, direction=-1),
        "run.restart": runs.start_over,
        **{f"due.{answer}": partial(tagging.tag_due, saw=saw) for answer, saw in SAW.items()},
        "ladder.next": partial(tagging.choose_checkpoint, direction=1),
        "ladder.previous": partial(tagging.choose_checkpoint, direction=-1),
        "not_yet": _not_yet,
        "widen.earlier": partial(tagging.widen, earlier=1, later=0),
        "widen.later": partial(tagging.widen, earlier=0, later=1),
        "hand": _hand,
        "undo": Review.undo,
        "redo": Review.redo,
        "save_elsewhere": Review.save_elsewhere,
        "retract": tagging.retract_checkpoint,
        **_kinds(),
        "cup.seen": partial(tagging.look_at_cup, saw="proven"),
        "cup.blank": partial(tagging.look_at_cup, saw="refuted"),
        "cup.cannot_tell": partial(tagging.look_at_cup, saw="unproven"),
        "cup.next": partial(tagging.choose_cup, direction=1),
        "cup.previous": partial(tagging.choose_cup, direction=-1),
        "cup.evidence": tagging.go_to_evidence,
        "cup.all_seen": tagging.clear_all,
    }
)
"""Handlers by command id; each returns what to tell the reviewer, if anything."""


# -- the lens

LensHandler = Callable[[Lens, Review], None]
"""Does a command to the lens; none of them changes the session."""


def _toggle(lens: Lens, review: Review) -> None:
    checkpoint = review.checkpoint
    lens.toggle(None if checkpoint is None else checkpoint.kind)


def _zoom(steps: int, lens: Lens, _: Review) -> None:
    lens.zoom(steps)


def _move_lens(across: int, down: int, lens: Lens, _: Review) -> None:
    lens.move(across, down)


def _nudge(across: int, down: int, lens: Lens, _: Review) -> None:
    lens.nudge(across, down)


def _light(steps: int, lens: Lens, _: Review) -> None:
    lens.brighten(steps)


def _contrast(steps: int, lens: Lens, _: Review) -> None:
    lens.harden(steps)


def _local(lens: Lens, _: Review) -> None:
    lens.toggle_local()


def _pair(pair: Pair, lens: Lens, _: Review) -> None:
    lens.show_pair(pair)


def _mark(lens: Lens, review: Review) -> None:
    lens.mark(review.frame)


def _plain(lens: Lens, _: Review) -> None:
    lens.plain()


LENS_HANDLERS: Mapping[str, LensHandler] = MappingProxyType(
    {
        "lens": _toggle,
        "lens.enlarge": partial(_zoom, 1),
        "lens.reduce": partial(_zoom, -1),
        "lens.left": partial(_move_lens, -1, 0),
        "lens.right": partial(_move_lens, 1, 0),
        "lens.up": partial(_move_lens, 0, -1),
        "lens.down": partial(_move_lens, 0, 1),
        "nudge.left": partial(_nudge, -1, 0),
        "nudge.right": partial(_nudge, 1, 0),
        "nudge.up": partial(_nudge, 0, -1),
        "nudge.down": partial(_nudge, 0, 1),
        "light.up": partial(_light, 1),
        "light.down": partial(_light, -1),
        "contrast.up": partial(_contrast, 1),
        "contrast.down": partial(_contrast, -1),
        "contrast.local": _local,
        "pair.side": partial(_pair, Pair.SIDE),
        "pair.difference": partial(_pair, Pair.DIFFERENCE),
        "marker": _mark,
        "plain": _plain,
    }
)
"""Handlers by command id."""
