"""The commands that tag one kind of step each, made from the ladder's own list of kinds."""

from collections.abc import Iterator
from dataclasses import dataclass
from types import MappingProxyType

from keymaps.command import Command, Group
from sessions.rules.ladder import MARKER_KINDS, Kind


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
    """Three commands a kind (kept, broken, unclear), and no ``refuted`` for a marker."""
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
    return Command(id=command_id, label=label, help=sentence, group=Group.KINDS)
