"""What each command does to the review; those that ask or show something are the screen's."""

from collections.abc import Callable, Mapping
from functools import partial
from types import MappingProxyType

from keymaps.command import Where
from keymaps.commands import LEAP, commands_on
from sessions.rules.ladder import MARKER_KINDS, Kind
from tui.bench import cups, places, runs, tagging
from tui.bench.review import Review

Deed = Callable[[Review], str | None]


def _move(frames: int, review: Review) -> None:
    review.go(review.frame + frames)


def _second(direction: int, review: Review) -> None:
    """One second of footage by its time stamps, and one frame at the least."""
    footage = review.session.header.footage
    wanted = footage.seconds(review.stamp(review.frame)) + direction
    frame = review.frame_at(wanted)
    review.go(frame if frame != review.frame else review.frame + direction)


def _last(review: Review) -> None:
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


def _kinds() -> dict[str, Deed]:
    deeds: dict[str, Deed] = {}
    for kind in Kind:
        for answer, saw in SAW.items():
            if saw != "refuted" or kind not in MARKER_KINDS:
                deeds[f"{answer}.{kind}"] = partial(tagging.tag_kind, kind=kind, saw=saw)
    return deeds


DEEDS: Mapping[str, Deed] = MappingProxyType(
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
        "due.in_order": partial(tagging.tag_due, saw="proven"),
        "due.fault": partial(tagging.tag_due, saw="refuted"),
        "due.cannot_tell": partial(tagging.tag_due, saw="unproven"),
        "ladder.next": partial(tagging.choose_checkpoint, direction=1),
        "ladder.previous": partial(tagging.choose_checkpoint, direction=-1),
        "not_yet": _not_yet,
        "widen.earlier": partial(tagging.widen, earlier=1, later=0),
        "widen.later": partial(tagging.widen, earlier=0, later=1),
        "hand": _hand,
        "undo": Review.undo,
        "redo": Review.redo,
        "retract": tagging.retract_checkpoint,
        **_kinds(),
        "cup.seen": partial(cups.look_at_cup, saw="proven"),
        "cup.blank": partial(cups.look_at_cup, saw="refuted"),
        "cup.cannot_tell": partial(cups.look_at_cup, saw="unproven"),
        "cup.next": partial(cups.choose_cup, direction=1),
        "cup.previous": partial(cups.choose_cup, direction=-1),
        "cup.evidence": cups.go_to_evidence,
        "cup.all_seen": cups.clear_all,
    }
)
"""Deeds by command id; each returns what to tell the reviewer, if anything."""

UNSEEING = frozenset(c.id for c in commands_on(Where.BENCH) if c.group.name == "MOVE") | {
    "run.next", "run.previous", "ladder.next", "ladder.previous", "ladder.list", "hand",
    "cup.next", "cup.previous", "cup.evidence", "undo", "redo", "ruling", "about", "finish", "help",
    "accept", "palette", "attempts_before", "not_shown",
}  # fmt: skip
"""The commands that can be given while the frame is still on its way to the screen."""
