"""What each command does to the desk. Commands that ask or show something belong to the screen."""

from collections.abc import Callable, Mapping
from functools import partial
from types import MappingProxyType

from keymaps.command import Where
from keymaps.commands import LEAP, commands_on
from sessions.ladder import MARKER_KINDS, Kind
from tui.review import cups, places, runs, tagging
from tui.review.desk import Desk

Deed = Callable[[Desk], str | None]


def _move(frames: int, desk: Desk) -> None:
    desk.go(desk.frame + frames)


def _second(direction: int, desk: Desk) -> None:
    """One second of footage by its time stamps, and one frame at the least."""
    footage = desk.session.header.footage
    wanted = footage.seconds(desk.stamp(desk.frame)) + direction
    frame = desk.frame_at(wanted)
    desk.go(frame if frame != desk.frame else desk.frame + direction)


def _last(desk: Desk) -> None:
    desk.go(desk.frames - 1)


def _first(desk: Desk) -> None:
    desk.go(0)


def _not_yet(desk: Desk) -> str:
    desk.anchor = desk.frame
    return f"Not yet in frame {desk.frame}: the next bracket begins here."


def _hand(desk: Desk) -> str:
    desk.hand = {None: "left", "left": "right", "right": None}[desk.hand]
    return f"Next tag: {desk.hand or 'either'} hand."


def _kinds() -> dict[str, Deed]:
    deeds: dict[str, Deed] = {}
    for kind in Kind:
        for saw in ("kept", "broken", "unclear"):
            if saw != "broken" or kind not in MARKER_KINDS:
                deeds[f"{saw}.{kind}"] = partial(tagging.tag_kind, kind=kind, saw=saw)
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
        "flip": Desk.flip,
        "run.begin": runs.begin_run,
        "run.end": runs.end_run,
        "run.sort": runs.sort_run,
        "run.next": partial(runs.choose_run, direction=1),
        "run.previous": partial(runs.choose_run, direction=-1),
        "run.restart": runs.start_over,
        "due.kept": partial(tagging.tag_due, saw="kept"),
        "due.broken": partial(tagging.tag_due, saw="broken"),
        "due.unclear": partial(tagging.tag_due, saw="unclear"),
        "ladder.next": partial(tagging.choose_step, direction=1),
        "ladder.previous": partial(tagging.choose_step, direction=-1),
        "not_yet": _not_yet,
        "widen.earlier": partial(tagging.widen, earlier=1, later=0),
        "widen.later": partial(tagging.widen, earlier=0, later=1),
        "hand": _hand,
        "undo": Desk.undo,
        "redo": Desk.redo,
        "retract": tagging.retract_step,
        **_kinds(),
        "cup.seen": partial(cups.look_at_cup, saw="kept"),
        "cup.blank": partial(cups.look_at_cup, saw="broken"),
        "cup.unclear": partial(cups.look_at_cup, saw="unclear"),
        "cup.next": partial(cups.choose_cup, direction=1),
        "cup.previous": partial(cups.choose_cup, direction=-1),
        "cup.evidence": cups.go_to_evidence,
        "cup.all_seen": cups.clear_all,
    }
)
"""Deeds by command id; each returns what to tell the reviewer, if anything."""

UNSEEING = frozenset(c.id for c in commands_on(Where.BENCH) if c.group.name == "MOVE") | {
    "run.next", "run.previous", "ladder.next", "ladder.previous", "ladder.list", "hand",
    "cup.next", "cup.previous", "cup.evidence", "undo", "redo", "ruling", "finish", "help",
    "settle", "palette",
}  # fmt: skip
"""The commands that can be given while the frame is still on its way to the screen."""
