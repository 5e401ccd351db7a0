"""Maker's marks, cup by cup."""

from typing import Literal

from sessions.checker import Outcome
from sessions.counted import counted
from sessions.entries import CupsSeen
from sessions.equipment import check_cups
from sessions.errors import EntryRefused
from tui.review.desk import Desk


def look_at_cup(desk: Desk, saw: Literal["kept", "broken", "unclear"]) -> str:
    """Say of the cup at hand what this frame shows, and go on to the next one not cleared."""
    cup = desk.cup
    desk.write(CupsSeen(cups=(cup,), saw=saw, at=desk.spot(desk.frame)))
    if saw == "broken":
        return f"Cup {cup}: its mark never appeared.{_unseen(desk)}"
    words = {"kept": "mark seen", "unclear": "cannot tell"}[saw]
    open_cups = _not_cleared(desk)
    later = [c for c in open_cups if c > cup]
    if saw == "kept" and open_cups:
        desk.cup = (later or open_cups)[0]
    return f"Cup {cup}: {words} at frame {desk.frame}."


def clear_all(desk: Desk) -> str:
    """All cups not yet cleared show their marks in this frame."""
    cups = _not_cleared(desk)
    if not cups:
        raise EntryRefused("Every cup is cleared already.")
    desk.write(CupsSeen(cups=tuple(cups), saw="kept", at=desk.spot(desk.frame)))
    return f"Marks of {counted(len(cups), 'cup')} seen at frame {desk.frame}."


def choose_cup(desk: Desk, direction: int) -> str:
    """Take the next or previous cup in hand."""
    cups = desk.session.header.event.cups
    desk.cup = (desk.cup - 1 + direction) % cups + 1
    return f"Cup {desk.cup}."


def go_to_evidence(desk: Desk) -> str:
    """Go to the frame that decided the cup at hand."""
    found = check_cups(desk.session)[desk.cup - 1]
    if found.at is None:
        raise EntryRefused(f"No frame decides cup {found.cup} yet: {found.detail}.")
    desk.go(found.at.frame)
    return f"Cup {found.cup}: {found.detail} at frame {found.at.frame}."


def _unseen(desk: Desk) -> str:
    """What a mark that never appeared waits for, if anything."""
    left = len(desk.session.unseen)
    return f" It counts once every frame was shown; {counted(left, 'frame')} left." if left else ""


def _not_cleared(desk: Desk) -> list[int]:
    return [f.cup for f in check_cups(desk.session) if f.outcome is not Outcome.PROVEN]
