"""Maker's marks: one clear sight clears a cup; only footage seen whole can void the runs in it."""

from collections.abc import Iterator
from dataclasses import dataclass

from sessions.checker import Outcome
from sessions.counted import are, counted
from sessions.entries import CupsSeen, Spot
from sessions.session import Session


@dataclass(frozen=True, slots=True)
class CupFinding:
    """One cup judged; ``at`` is the frame that decides it, where one does."""

    cup: int
    outcome: Outcome
    at: Spot | None
    detail: str


def check_cups(session: Session) -> tuple[CupFinding, ...]:
    """One finding for each cup of the event, numbered from 1 by where it stands."""
    return tuple(_check(session, cup) for cup in range(1, session.header.event.cups + 1))


def _check(session: Session, cup: int) -> CupFinding:
    said = {saw: list(_spots(session, cup, saw)) for saw in ("kept", "broken", "unclear")}
    if said["kept"]:
        at = min(said["kept"], key=lambda spot: spot.frame)
        return CupFinding(cup, Outcome.PROVEN, at, "its mark was seen")
    if said["broken"]:
        if session.all_seen:
            return CupFinding(cup, Outcome.REFUTED, None, "its mark never appeared")
        unseen = len(session.unseen)
        left = f"{counted(unseen, 'frame')} {are(unseen)} still unseen"
        detail = f"its mark was not found, but {left}"
        return CupFinding(cup, Outcome.UNLOOKED, None, detail)
    if said["unclear"]:
        at = min(said["unclear"], key=lambda spot: spot.frame)
        return CupFinding(cup, Outcome.UNPROVEN, at, "the footage cannot show its mark")
    return CupFinding(cup, Outcome.UNLOOKED, None, "its mark was not looked for")


def _spots(session: Session, cup: int, saw: str) -> Iterator[Spot]:
    entries: tuple[CupsSeen, ...] = session.cups
    return (entry.at for entry in entries if cup in entry.cups and entry.saw == saw)
