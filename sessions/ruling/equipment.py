"""Maker's marks: one clear sight clears a cup; only footage seen whole can void the runs in it.

A mark that could not be told in one place is not proven, though it was never found in another: what
may be a mark is no proof that there is none.
"""

from collections.abc import Iterator
from dataclasses import dataclass

from sessions.plural import are, plural
from sessions.record.entries import CupsSeen, Spot
from sessions.record.session import Session
from sessions.ruling.checker import Outcome


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
    said = {saw: list(_spots(session, cup, saw)) for saw in ("proven", "refuted", "unproven")}
    if said["proven"]:
        at = min(said["proven"], key=lambda spot: spot.frame)
        return CupFinding(cup, Outcome.PROVEN, at, "its mark was seen")
    if said["unproven"]:
        at = min(said["unproven"], key=lambda spot: spot.frame)
        return CupFinding(cup, Outcome.UNPROVEN, at, "the footage cannot show its mark")
    if said["refuted"]:
        if session.all_seen:
            return CupFinding(cup, Outcome.REFUTED, None, "its mark never appeared")
        unseen = len(session.unseen)
        left = f"{plural(unseen, 'frame')} {are(unseen)} still unseen"
        detail = f"its mark was not found, but {left}"
        return CupFinding(cup, Outcome.UNLOOKED, None, detail)
    return CupFinding(cup, Outcome.UNLOOKED, None, "its mark was not looked for")


def _spots(session: Session, cup: int, saw: str) -> Iterator[Spot]:
    entries: tuple[CupsSeen, ...] = session.cups
    return (entry.at for entry in entries if cup in entry.cups and entry.saw == saw)
