"""The one registry of commands, readable without any widget.

Footer, help, palette, key card, the manual's tables, the screens' handlers and the check of keymap
files all read it.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from enum import StrEnum
from types import MappingProxyType

from pydantic import Field

from sessions.rules.ladder import MARKER_KINDS, Kind
from sessions.validation import Frozen


class Group(StrEnum):
    """The groups of commands; the value is the heading on the key card and in the help."""

    MOVE = "Move through the footage"
    LOOK = "Look closer"
    RUN = "Runs"
    TAG = "Tag what is due"
    KINDS = "Tag a checkpoint of the ladder"
    FUMBLE = "Fumbles"
    CUPS = "Cups"
    DOCKET = "The docket"
    SETTLE = "Settle differences"
    OTHER = "Other"


class Where(StrEnum):
    """The screens with commands; a key may mean one thing on each."""

    BENCH = "bench"
    SETTLING = "settling"
    DOCKET = "docket"


class Command(Frozen):
    """A command as footer, help, palette, key card, screens and keymap files know it.

    ``short`` is what the line of keys calls it. ``screens`` are those that know the command.
    ``of_frame`` is whether it says something of the frame on the screen, so that it is refused
    until that frame is drawn; ``plays_on`` whether the footage goes on playing while it is done.
    """

    id: str = Field(pattern=r"^[a-z_]+(\.[a-z_]+)?$")
    label: str = Field(min_length=1, max_length=28)
    short: str = Field(min_length=1, max_length=14)
    help: str = Field(pattern=r"^[A-Z].*\.$")
    group: Group
    screens: frozenset[Where] = frozenset({Where.BENCH})
    of_frame: bool = False
    plays_on: bool = False


@dataclass(frozen=True, slots=True)
class KindWords:
    """Words for one kind: its ``label``, what is ``right`` about it, and its ``fault``."""

    label: str
    right: str
    fault: str


KIND_WORDS: MappingProxyType[Kind, KindWords] = MappingProxyType(
    {
        Kind.HANDS_OFF: KindWords("Hands off", "the hands are off the pad as the clock starts", ""),
        Kind.HANDS_ON: KindWords("Hands on", "the hands are on the pad as the clock stops", ""),
        Kind.FLAT: KindWords(
            "Hands flat", "flat hands, and no wrist, were on the pad", "a wrist was on the pad"
        ),
        Kind.GRIP: KindWords(
            "No cup held", "no cup was held as the clock started", "a cup was held at the start"
        ),
        Kind.STILL: KindWords(
            "No cup moves", "no cup moved before the start", "a cup moved before the start"
        ),
        Kind.LET_GO: KindWords(
            "Let go",
            "both hands let go of the stack before going on",
            "a hand was still on the stack when going on",
        ),
        Kind.TWO_HANDS: KindWords(
            "Two hands", "two hands began the take-down", "one hand only began the take-down"
        ),
        Kind.ORDER: KindWords(
            "Down in order", "the stacks came down in order", "a stack came down out of order"
        ),
        Kind.COLUMN: KindWords(
            "Column closed",
            "the column was closed before the next stack rose",
            "the next stack rose before the column was closed",
        ),
        Kind.SINGLES: KindWords(
            "Singles let go",
            "both hands were off the single cups before the pyramid was begun",
            "the pyramid was begun with a hand still on a single cup",
        ),
        Kind.FORMATION: KindWords(
            "Formation done",
            "the formation was completed in its place",
            "the formation was left out, unfinished or out of its place",
        ),
        Kind.FREE: KindWords(
            "Cups free",
            "the cups were free before the clock stopped",
            "a cup was still held as the clock stopped",
        ),
        Kind.EXACT: KindWords(
            "Nothing added",
            "nothing was stacked beyond the event",
            "more was stacked than the event asks for",
        ),
        Kind.REPAIRED: KindWords(
            "Repaired",
            "the fumble was put right before going on",
            "the stacking went on before the fumble was put right",
        ),
        Kind.ONE_STACK: KindWords(
            "One stack only",
            "no hand rested on another standing stack during the repair",
            "a hand rested on another standing stack during the repair",
        ),
        Kind.CURED: KindWords(
            "Cured",
            "the fault of hands on two stacks was cured",
            "the fault of hands on two stacks was not cured",
        ),
    }
)
"""Words for every kind of the ladder."""


def kind_commands() -> Iterator[Command]:
    """Three commands a kind (in order, fault, cannot tell), and no fault for a marker."""
    for kind in Kind:
        yield from _commands_of(kind, KIND_WORDS[kind])


def _commands_of(kind: Kind, words: KindWords) -> Iterator[Command]:
    marker = kind in MARKER_KINDS
    shows = "Tag this frame as the first in which" if marker else "Tag this frame as showing that"
    unclear = f"Note that the picture cannot tell whether {words.right}."
    if marker:
        unclear = f"Note that the picture cannot tell when {words.right}."
    yield _command(f"in_order.{kind}", words.label, f"{shows} {words.right}.")
    if not marker:
        yield _command(f"fault.{kind}", f"{words.label}: fault", f"{shows} {words.fault}.")
    yield _command(f"cannot_tell.{kind}", f"{words.label}: cannot tell", unclear)


def _command(command_id: str, label: str, sentence: str) -> Command:
    return Command(
        id=command_id,
        label=label,
        short=label[:14],
        help=sentence,
        group=Group.KINDS,
        of_frame=True,
    )


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
    ("unseen.next", "Next unseen footage", "Go to the next stretch that was not shown yet."),
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
    (
        "about",
        "About the footage",
        "Show what was found in the footage, and what it means for a ruling.",
    ),
    ("woven", "Both fields", "Show both fields of interlaced footage at once, or one again."),
    ("capture_rate", "Capture rate", "Say how many frames a second were taken, and how you know."),
)

_LOOK: _Rows = (
    ("lens", "Lens", "Take up the lens where the last such checkpoint had it, or lay it down."),
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
    (
        "strip.step",
        "Strip spacing",
        "Space the frames of the strip by 1, 2, 5 or 10.",
    ),
    ("plain", "Plain picture", "Show the whole frame again as it is."),
)

_RUN: _Rows = (
    ("run.begin", "Begin a run", "Begin a run at this frame."),
    ("run.end", "End the run", "End the run at this frame."),
    (
        "run.sort",
        "Sort of run",
        "Make the run an attempt, a warm-up or rearranging.",
    ),
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
        "Choose a rule that no checkpoint asks for, which this frame shows to be broken.",
    ),
    ("ladder.next", "Next checkpoint", "Choose the next checkpoint of the ladder."),
    ("ladder.previous", "Previous checkpoint", "Choose the checkpoint before this one."),
    ("ladder.list", "List of checkpoints", "Choose a checkpoint from the whole ladder."),
    (
        "not_yet",
        "Not yet here",
        "Remember this frame as the last in which it had surely not happened: "
        "the next tag's bracket begins here.",
    ),
    ("widen.earlier", "Bracket earlier", "Widen the last tag's bracket by one frame, earlier."),
    ("widen.later", "Bracket later", "Widen the last tag's bracket by one frame, later."),
    (
        "hand",
        "Which hand",
        "Make the hand of the next tag either, left or right.",
    ),
    ("undo", "Undo", "Take back what the last key recorded, all of it."),
    ("redo", "Redo", "Bring back what was undone last."),
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
        "Open the chosen claim: your own review, or the settling where its reviews differ.",
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
    ("finish", "Finish the review", "See what is still open, and finish the review."),
    ("help", "Help", "Show the keys and what they do."),
    ("palette", "Find a command", "Search all commands by name."),
    (
        "save_elsewhere",
        "Save elsewhere",
        "Save the review under another name where its file was lost while it was open.",
    ),
    ("redraw", "Redraw", "Draw the screen anew."),
    ("quit", "Quit", "Leave this screen; every entry is saved already."),
)


_BOTH = frozenset({Where.BENCH, Where.SETTLING})

_NOT_OF_TWO = frozenset({"flip.run", "marker", "strip.step", "pair.side"})
"""Looking closer at one frame and its neighbours, which two frames side by side do not have."""

OWN_SCREEN = {Group.DOCKET: Where.DOCKET, Group.SETTLE: Where.SETTLING}
"""The groups that only one screen beside the bench knows."""

_SHORT = {
    "step.forward": "on",
    "step.back": "back",
    "go_to": "go to",
    "due.in_order": "in order",
    "due.fault": "fault",
    "due.cannot_tell": "cannot tell",
    "run.begin": "begin run",
    "run.end": "end run",
    "run.sort": "sort of run",
    "not_yet": "not yet",
    "ladder.list": "ladder",
    "reading": "reading",
    "cup.seen": "mark seen",
    "cup.all_seen": "all marks seen",
    "accept": "accept reading",
    "ruling": "ruling",
    "finish": "finish",
    "play": "play",
    "flip": "flip",
    "palette": "commands",
    "docket.open": "open",
    "docket.issue": "issue",
    "settle.first": "take first",
    "settle.second": "take second",
    "settle.again": "look again",
    "settle.finish": "finish",
    "settle.next": "next",
    "settle.previous": "previous",
    "pair.difference": "what moved",
}
"""What the line of keys calls a command, where that is not its label."""

_OF_THE_SESSION = frozenset({"undo", "redo", "save_elsewhere"})
"""What is done to a session, whichever screen writes it."""

_EVERYWHERE = frozenset({"help", "palette", "redraw", "quit"})

_PLAYS_ON = frozenset(
    {"play", "play.whole", "play.faster", "play.slower", "play.reverse", "redraw"}
)
"""The commands that leave the footage playing, beside those that look closer."""

_OF_FRAME = frozenset({Group.RUN, Group.TAG, Group.FUMBLE, Group.CUPS})
"""The groups whose commands say something of the frame on the screen, but for these."""

_OF_NO_FRAME = frozenset(
    {
        "run.next", "run.previous", "attempts_before", "ladder.next", "ladder.previous",
        "ladder.list", "hand", "undo", "redo", "cup.next", "cup.previous", "cup.evidence",
    }
)  # fmt: skip
"""The commands of those groups that choose what to work on, or go back on what was done."""

_OF_FRAMES = frozenset({"note", "settle.first", "settle.second"})
"""The commands of other groups that say something of what is on the screen."""


def _screens(command_id: str, group: Group) -> frozenset[Where]:
    if command_id in _EVERYWHERE:
        return frozenset(Where)
    closer = group is Group.LOOK and command_id not in _NOT_OF_TWO
    return (
        _BOTH
        if closer or command_id in _OF_THE_SESSION
        else frozenset({OWN_SCREEN.get(group, Where.BENCH)})
    )


def _all_commands() -> Iterator[Command]:
    yield from _made(Group.MOVE, _MOVE)
    yield from _made(Group.LOOK, _LOOK)
    yield from _made(Group.RUN, _RUN)
    yield from _made(Group.TAG, _TAG)
    yield from kind_commands()
    rest = ((Group.FUMBLE, _FUMBLE), (Group.CUPS, _CUPS), (Group.DOCKET, _DOCKET))
    for group, rows in (*rest, (Group.SETTLE, _SETTLE), (Group.OTHER, _OTHER)):
        yield from _made(group, rows)


def _made(group: Group, rows: _Rows) -> Iterator[Command]:
    for command_id, label, sentence in rows:
        yield Command(
            id=command_id,
            label=label,
            short=_SHORT.get(command_id, label.lower()[:14]),
            help=sentence,
            group=group,
            screens=_screens(command_id, group),
            of_frame=command_id in _OF_FRAMES
            or (group in _OF_FRAME and command_id not in _OF_NO_FRAME),
            plays_on=group is Group.LOOK or command_id in _PLAYS_ON,
        )


COMMANDS: Mapping[str, Command] = MappingProxyType({c.id: c for c in _all_commands()})
"""Every command by its id, in the order in which help and key card show them."""


def commands_on(screen: Where) -> tuple[Command, ...]:
    """The commands that a screen knows, in the same order."""
    return tuple(command for command in COMMANDS.values() if screen in command.screens)
