"""The one registry of commands, readable without any widget.

Footer, help, palette, key card, the README's table and the check of keymap files all read it.
"""

from collections.abc import Iterator, Mapping
from types import MappingProxyType

from keymaps.command import Command, Group, Where
from keymaps.kinds import kind_commands

LEAP = 10
"""Frames in a leap."""

_Rows = tuple[tuple[str, str, str], ...]

_MOVE: _Rows = (
    ("step.forward", "Step forward", "Show the next frame."),
    ("step.back", "Step back", "Show the frame before."),
    ("leap.forward", f"Leap {LEAP} forward", f"Go {LEAP} frames forward."),
    ("leap.back", f"Leap {LEAP} back", f"Go {LEAP} frames back."),
    ("second.forward", "One second forward", "Go one second of footage forward."),
    ("second.back", "One second back", "Go one second of footage back."),
    ("footage.first", "First frame", "Go to the first frame of the footage."),
    ("footage.last", "Last frame", "Go to the last frame of the footage."),
    ("tag.next", "Next tag", "Go to the next frame that bears a tag."),
    ("tag.previous", "Previous tag", "Go to the frame before this one that bears a tag."),
    ("unseen.next", "Next unseen footage", "Go to the next stretch that was not yet shown."),
    (
        "unwatched.next",
        "Go on watching",
        "Go on with the next stretch that nobody watched, and play every frame of it.",
    ),
    ("go_to", "Go to ...", "Type the number of a frame, a time or a time code, and go there."),
    ("play", "Play or pause", "Play the footage forward, or pause it."),
    (
        "play.whole",
        "Play every frame",
        "Play forward and leave no frame out, as fast as they can be drawn, or pause it.",
    ),
    ("play.faster", "Play faster", "Raise the speed of playing."),
    ("play.slower", "Play slower", "Lower the speed of playing."),
    ("play.reverse", "Play backwards", "Play the footage backwards, or pause it."),
    ("flip", "Flip two frames", "Flip in place between this frame and the one before it."),
)

_LOOK: _Rows = (
    ("lens", "Lens", "Take up the lens where it was last used for such a step, or lay it down."),
    ("lens.enlarge", "Enlarge", "Enlarge more."),
    ("lens.reduce", "Reduce", "Enlarge less."),
    ("lens.left", "Lens left", "Move the lens left."),
    ("lens.right", "Lens right", "Move the lens right."),
    ("lens.up", "Lens up", "Move the lens up."),
    ("lens.down", "Lens down", "Move the lens down."),
    ("nudge.left", "Nudge left", "Move the lens one pixel of the footage left."),
    ("nudge.right", "Nudge right", "Move the lens one pixel of the footage right."),
    ("nudge.up", "Nudge up", "Move the lens one pixel of the footage up."),
    ("nudge.down", "Nudge down", "Move the lens one pixel of the footage down."),
    ("light.up", "Brighter", "Show the picture brighter."),
    ("light.down", "Darker", "Show the picture darker."),
    ("contrast.up", "More contrast", "Show the picture with more contrast."),
    ("contrast.down", "Less contrast", "Show the picture with less contrast."),
    ("contrast.local", "Fine contrast", "Bring out fine differences in dark or pale places."),
    ("pair.side", "Pair side by side", "Show the frame before beside this one."),
    (
        "pair.difference",
        "What moved",
        "Show what moved since the frame before: red where it became brighter, blue where darker.",
    ),
    ("flip.run", "Flip by itself", "Flip between this frame and the one before, by itself."),
    (
        "marker",
        "Measure from here",
        "Mark the middle of the lens; moving it then tells how far, in pixels of the footage.",
    ),
    ("strip.step", "Strip spacing", "Space the strip's frames by 1, 2, 5 or 10, in turn."),
    ("plain", "Plain picture", "Show the whole frame again as it is."),
)

_RUN: _Rows = (
    ("run.begin", "Begin a run", "Begin a run at this frame."),
    ("run.end", "End the run", "End the run at this frame."),
    ("run.sort", "Sort of run", "Change the run to attempt, warm-up or rearranging, in turn."),
    (
        "run.next",
        "Next run",
        "Work on the next run, from its beginning unless this frame is of it.",
    ),
    (
        "run.previous",
        "Previous run",
        "Work on the run before, from its beginning unless this frame is of it.",
    ),
    ("run.restart", "Started over", "Record that the event was started over at this frame."),
    (
        "attempts_before",
        "Attempts before",
        "Say how many attempts were used before this footage begins, and how you know.",
    ),
    ("reading", "Display reading", "Type the time that the display shows."),
)

_TAG: _Rows = (
    ("due.in_order", "In order", "Tag what is due as in order, as shown by this frame."),
    ("due.fault", "Fault", "Tag what is due as a fault, as shown by this frame."),
    ("due.cannot_tell", "Cannot tell", "Note that the picture cannot tell what is due."),
    (
        "other_fault",
        "Another rule broken",
        "Choose a rule that no step asks for, which this frame shows to be broken.",
    ),
    ("ladder.next", "Next step", "Choose the next step of the ladder."),
    ("ladder.previous", "Previous step", "Choose the step of the ladder before this one."),
    ("ladder.list", "List of steps", "Choose a step from the whole ladder."),
    (
        "not_yet",
        "Not yet here",
        "Remember this frame as the last in which it had surely not happened: "
        "the next tag's bracket begins here.",
    ),
    ("widen.earlier", "Bracket earlier", "Widen the last tag's bracket by one frame, earlier."),
    ("widen.later", "Bracket later", "Widen the last tag's bracket by one frame, later."),
    ("hand", "Which hand", "Change the hand of the next tag to either, left or right, in turn."),
    ("undo", "Undo", "Take back the last entry."),
    ("redo", "Redo", "Bring back the entry taken back last."),
    ("retract", "Retract tag", "Take back the tag at hand."),
)

_FUMBLE: _Rows = (
    ("fumble.up", "Fumble going up", "Record that a stack fell or slid while building up."),
    ("fumble.down", "Fumble going down", "Record that a stack fell or slid while taking down."),
)

_CUPS: _Rows = (
    ("cup.seen", "Mark seen", "Tag this frame as showing the mark of the cup at hand."),
    ("cup.blank", "Mark never seen", "Record that the mark of the cup at hand never appeared."),
    ("cup.cannot_tell", "Mark unclear", "Note that the picture cannot tell the mark of this cup."),
    ("cup.next", "Next cup", "Choose the next cup."),
    ("cup.previous", "Previous cup", "Choose the cup before this one."),
    ("cup.evidence", "Evidence of the cup", "Go to the frame that decided the cup at hand."),
    (
        "cup.all_seen",
        "All marks seen",
        "Tag this frame as showing the marks of all cups not yet cleared.",
    ),
)

_DOCKET: _Rows = (
    (
        "docket.open",
        "Open",
        "Open the chosen claim: your own review, or the reviews that are to be settled.",
    ),
    ("docket.own", "Own review", "Open the chosen claim's footage with your own session."),
    (
        "docket.settle",
        "Settle",
        "Settle the differences of the chosen claim's finished reviews.",
    ),
    ("docket.ruling", "Ruling", "Show the ruling of the chosen claim, and what was issued of it."),
    ("docket.issue", "Documents", "Issue the ruling of the chosen claim as documents."),
    (
        "docket.clips",
        "Documents with clips",
        "Issue the chosen claim's ruling with short loops of its evidence.",
    ),
    ("docket.issue_all", "All documents", "Issue every ruling that has no documents yet."),
)

_SETTLE: _Rows = (
    ("settle.next", "Next difference", "Go to the next difference of the reviews."),
    ("settle.previous", "Previous difference", "Go to the difference before this one."),
    ("settle.first", "Take first", "Take the finding on the left, with a reason."),
    ("settle.second", "Take second", "Take the finding on the right, with a reason."),
    ("settle.again", "Look again", "Open the bench at this difference, to tag it anew."),
    ("settle.finish", "Finish settling", "Say that all differences are settled."),
    (
        "settle.others",
        "Other sides",
        "Where more than two findings differ: show the next two side by side.",
    ),
    (
        "settle.remarks",
        "What needs no settling",
        "List what else differs: brackets, what only some looked at, and what follows from it.",
    ),
)

_OTHER: _Rows = (
    ("note", "Note", "Write a note at this frame."),
    (
        "accept",
        "Accept the reading",
        "Accept a reading that the picture contradicts, with a reason.",
    ),
    (
        "not_shown",
        "Not shown",
        "Say what the footage does not show, in this run or at all, with a reason.",
    ),
    ("ruling", "Ruling so far", "Show the ruling as it would be now."),
    (
        "about",
        "About the footage",
        "Show what was found in the footage, and what it means for a ruling.",
    ),
    ("finish", "Finish the review", "See what is still open, and finish the review."),
    ("help", "Help", "Show the keys and what they do."),
    ("palette", "Find a command", "Search all commands by name."),
    ("redraw", "Redraw", "Draw the screen anew."),
    ("quit", "Quit", "Leave this screen; every entry is saved already."),
)


_BOTH = frozenset({Where.BENCH, Where.SETTLING})

_NOT_OF_TWO = frozenset({"flip.run", "marker", "strip.step", "pair.side"})
"""Looking closer at one frame and its neighbours, which two frames side by side do not have."""

OWN_SCREEN = {Group.DOCKET: Where.DOCKET, Group.SETTLE: Where.SETTLING}
"""The groups that only one screen beside the bench knows."""

_EVERYWHERE = frozenset({"help", "palette", "redraw", "quit"})


def _screens(command_id: str, group: Group) -> frozenset[Where]:
    if command_id in _EVERYWHERE:
        return frozenset(Where)
    closer = group is Group.LOOK and command_id not in _NOT_OF_TWO
    return _BOTH if closer else frozenset({OWN_SCREEN.get(group, Where.BENCH)})


def _all_commands() -> Iterator[Command]:
    yield from _made(Group.MOVE, _MOVE)
    yield from _made(Group.LOOK, _LOOK)
    yield from _made(Group.RUN, _RUN)
    yield from _made(Group.TAG, _TAG)
    yield from kind_commands()
    yield from _made(Group.FUMBLE, _FUMBLE)
    yield from _made(Group.CUPS, _CUPS)
    yield from _made(Group.DOCKET, _DOCKET)
    yield from _made(Group.SETTLE, _SETTLE)
    yield from _made(Group.OTHER, _OTHER)


def _made(group: Group, rows: _Rows) -> Iterator[Command]:
    for command_id, label, sentence in rows:
        yield Command(
            id=command_id, label=label, help=sentence, group=group,
            screens=_screens(command_id, group),
        )  # fmt: skip


COMMANDS: Mapping[str, Command] = MappingProxyType({c.id: c for c in _all_commands()})
"""Every command by its id, in the order in which help and key card show them."""


def commands_on(screen: Where) -> tuple[Command, ...]:
    """The commands that a screen knows, in the same order."""
    return tuple(command for command in COMMANDS.values() if screen in command.screens)
