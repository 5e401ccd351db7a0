"""The keys that a reviewer would press to tag what entries say, on the QWERTY keymap."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from sessions.record.entries import (
    CupsSeen,
    Entry,
    Fumble,
    Look,
    Reading,
    RunBegun,
    RunEnded,
    Sighted,
    Spot,
    StartedOver,
)
from sessions.rules.events import EventDefinition
from sessions.rules.ladder import stacks_of

ANSWERS = {"proven": "\r", "refuted": "n", "unproven": "m"}
CUP_ANSWERS = {"proven": "1", "refuted": "25", "unproven": "35"}
HANDS = {None: "", "left": ";", "right": ";;"}
"""The keys that choose the hand of the next tag."""


@dataclass(frozen=True)
class Stroke:
    """Keys to press at a frame, or at any; ``says`` is what to wait for before going on."""

    keys: str
    frame: int | None = None
    says: str = ""

    @property
    def parts(self) -> list[str]:
        """The keys, parted where a person would wait for a list to open."""
        return ["7", self.keys[1:]] if self.keys.startswith("7") else [self.keys]


def asked(entries: Iterable[Entry]) -> Iterator[Entry]:
    """The entries without looks at the other hand where a fault of one has answered already."""
    faults: set[tuple[int, str]] = set()
    for entry in entries:
        if isinstance(entry, Look):
            place = entry.run, entry.checkpoint
            if place in faults:
                continue
            if entry.saw == "refuted":
                faults.add(place)
        yield entry


def strokes(entries: Iterable[Entry], event: EventDefinition) -> Iterator[Stroke]:
    """Every step is tagged when it is due: the order of the ladder is the order of the keys."""
    for entry in entries:
        yield from _strokes(entry, event)


def _strokes(entry: Entry, event: EventDefinition) -> Iterator[Stroke]:
    match entry:
        case RunBegun(begins=begins, sort=sort):
            yield Stroke(
                "(" + "a" * ["attempt", "warm-up", "rearranging"].index(sort), begins.frame
            )
        case RunEnded(ends=ends):
            yield Stroke(")", ends.frame)
        case Sighted(after=after, by=by, hand=hand):
            yield from _bracketed(after, by, f"{HANDS[hand]}y")
        case Look(saw="unproven", after=after, by=by, hand=hand):
            yield from _bracketed(after, by, f"{HANDS[hand]}m")
        case Look(saw=saw, by=by, hand=hand):
            yield Stroke(HANDS[hand] + ANSWERS[saw], by.frame)
        case Reading(display=display, at=at):
            yield Stroke(f"0{display}\r", at.frame, f"reads {display} s.")
        case Fumble(stack=stack, at=at):
            # the chooser begins at the likely stack; Home begins at the first
            down = [s.id for s in stacks_of(event)].index(stack)
            yield Stroke("7\x1b[H" + "\x1b[B" * down + "\r", at.frame, "Fumble x1 of")
        case StartedOver(at=at):
            yield Stroke("A", at.frame)
        case CupsSeen(saw=saw, at=at):
            yield Stroke(CUP_ANSWERS[saw], at.frame)


def _bracketed(after: Spot | None, by: Spot, key: str) -> Iterator[Stroke]:
    """A bracket wider than one frame is begun where it had surely not happened."""
    if after is not None and after.frame < by.frame - 1:
        yield Stroke(",", after.frame)
    yield Stroke(key, by.frame)
