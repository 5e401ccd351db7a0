"""The records: the list that a league begins with, and what the issued rulings made of it.

Within an event and division the times are taken day by day, by the day of the performance; of one
day the fastest comes first, since nothing tells the hour. A time that is faster than all before it
is a new record. An equal time shares the record where the league has it so. Of the rulings on a
claim only the last one counts: where it takes the time back, the record before stands again.
"""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from itertools import groupby
from pathlib import Path

from sessions.docket.claims import DIVISION, EVENT, ListedClaim
from sessions.docket.csv_table import Column, ListError, ListFile, any_text, day, seconds
from sessions.docket.work_order import Contest, contest_of
from sessions.exact import micros


@dataclass(frozen=True, slots=True)
class Held:
    """A time that was a record: in seconds as displayed, by whom, of which day.

    ``holder`` is a code, empty where nobody knows it; ``day`` is of the performance (ISO 8601),
    empty where it is not known; ``ruling`` says by which ruling it stands, and ``claim`` is the
    claim of that ruling, empty for a time of the league's list.
    """

    event: str
    division: str
    time: str
    holder: str
    day: str
    ruling: str = ""
    claim: str = ""

    @property
    def contest(self) -> Contest:
        """The event and division in which it was performed."""
        return self.event, self.division


@dataclass(frozen=True, slots=True)
class Advance:
    """One step in the progress of a record: ``held`` beats or equals what stood ``before``.

    ``before`` are those who held the record until then, empty for the first; ``stands`` is whether
    ``held`` is a record today.
    """

    held: Held
    before: tuple[Held, ...]
    stands: bool

    @property
    def equals(self) -> bool:
        """Whether the time is that of those before."""
        return any(micros(one.time) == micros(self.held.time) for one in self.before)


@dataclass(frozen=True, slots=True)
class Records:
    """The progress of every record, by event and division."""

    progress: Mapping[Contest, tuple[Advance, ...]]

    def standing(self, contest: Contest) -> tuple[Held, ...]:
        """Who holds the record today: none, one, or all who share it, the first first."""
        return tuple(one.held for one in self.progress.get(contest, ()) if one.stands)

    def by_claim(self, claim: str) -> Advance | None:
        """The step that a claim's ruling made, if it made one."""
        advances = (one for steps in self.progress.values() for one in steps)
        return next((one for one in advances if one.held.claim == claim), None)


def records(listed: Iterable[Held], ruled: Iterable[Held], *, both_hold: bool) -> Records:
    """The records by the league's list and by the times that stand by issued rulings.

    ``both_hold`` is whether two who reach an equal time both hold the record.
    """
    ordered = sorted([*listed, *ruled], key=_place)
    return Records(
        {
            contest: tuple(_progress(times, both_hold))
            for contest, times in groupby(ordered, key=lambda one: one.contest)
        }
    )


def _place(held: Held) -> tuple[str, str, str, int, bool, str]:
    """The league's list comes before a ruling on the same time of the same day."""
    return *held.contest, held.day, micros(held.time), bool(held.claim), held.claim


def _progress(times: Iterable[Held], both_hold: bool) -> Iterator[Advance]:
    """The steps in their order; which of them stand is known after the last."""
    steps: list[tuple[Held, tuple[Held, ...]]] = []
    holders: tuple[Held, ...] = ()
    for held in times:
        gain = micros(holders[0].time) - micros(held.time) if holders else 1
        if gain < 0 or (gain == 0 and not both_hold):
            continue
        steps.append((held, holders))
        holders = (held,) if gain > 0 else (*holders, held)
    for held, before in steps:
        yield Advance(held, before, held in holders)


# -- the league's list


class RecordsError(ListError):
    """A list of records cannot be used; ``problems`` names every bad cell."""


COLUMNS = (
    EVENT,
    DIVISION,
    Column("time", "the record in seconds, with point or comma", "6.510", seconds),
    Column("holder", "a code for the holder, not a name", "S-117", any_text, may_be_empty=True),
    Column("date", "the day of the performance", "2023-11-18", day, True, may_lack=True),
    Column("ruling", "since which ruling", "C-009, ruling 1", any_text, True, may_lack=True),
)
"""Every column of the list of records."""


def read_records(path: Path) -> tuple[Held, ...]:
    """The league's list of records; empty where there is no such file.

    Raises RecordsError that names file, lines, columns and remedy.
    """
    file = ListFile("list of records", path, COLUMNS, RecordsError)
    if not path.exists():
        return ()
    return tuple(_held(cells) for _, cells in file.rows(file.read()))


def _held(cells: dict[str, str]) -> Held:
    return Held(
        event=cells["event"],
        division=cells["division"],
        time=cells["time"].replace(",", "."),
        holder=cells["holder"],
        day=cells["date"],
        ruling=cells["ruling"],
    )


def by_claims(claims: Iterable[ListedClaim], listed: Iterable[Held]) -> tuple[Held, ...]:
    """The records that claims name where the list has none of their event and division.

    Where they name several, the slowest: it stood first.
    """
    known = {held.contest for held in listed}
    slowest: dict[Contest, ListedClaim] = {}
    for claim in claims:
        contest = contest_of(claim)
        if claim.record and contest not in known:
            slowest[contest] = max(slowest.get(contest, claim), claim, key=_record_of)
    return tuple(Held(*contest, claim.record, "", "") for contest, claim in slowest.items())


def with_records(claims: Iterable[ListedClaim], listed: Iterable[Held]) -> tuple[ListedClaim, ...]:
    """The claims, each that names no record with the fastest of the list."""
    fastest: dict[Contest, str] = {}
    for held in listed:
        known = fastest.get(held.contest, held.time)
        fastest[held.contest] = min(known, held.time, key=micros)
    return tuple(
        claim if claim.record else replace(claim, record=fastest.get(contest_of(claim), ""))
        for claim in claims
    )


def _record_of(claim: ListedClaim) -> int:
    return claim.record_micros or 0
