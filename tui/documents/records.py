"""The records of a docket by its issued rulings, and the page on which a league publishes them."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta

from sessions.docket.claim_state import ClaimState, standing_time, verdict_of
from sessions.docket.docket import Docket
from sessions.docket.records import Advance, Held, Records, records
from sessions.docket.register import file_stem
from sessions.docket.review_summary import summed_up
from sessions.docket.work_order import Contest, contest_of
from sessions.exact import micros
from sessions.ruling.ruling import CAUTIONS
from tui.documents.issued_files import Issued, read_issued
from tui.documents.pages import RulingDocument
from tui.documents.render import style_sheet, template


def docket_records(docket: Docket) -> Records:
    """Every record by the league's list and the docket's issued rulings.

    Raises DocumentError for a ruling that is not as it was issued.
    """
    ruled = (held for one in docket.placed if (held := issued_time(docket, one.state)) is not None)
    return records(docket.league_records, ruled, both_hold=docket.both_hold)


def record_with(docket: Docket, state: ClaimState, today: str) -> Advance | None:
    """The record that a ruling makes which is to be issued now, if it makes one.

    ``today`` is the day of the ruling (ISO 8601), by which a claim counts that names no day.
    """
    if state.ruled_time is None:
        return None
    contest, claim = contest_of(state.claim), state.claim
    others = (
        held
        for one in docket.placed
        if contest_of(one.state.claim) == contest and one.state.claim.claim != claim.claim
        if (held := issued_time(docket, one.state)) is not None
    )
    day = claim.date or today
    own = Held(*contest, state.ruled_time, claim.competitor, day, claim=claim.claim)
    found = records(docket.league_records, [*others, own], both_hold=docket.both_hold)
    return found.by_claim(claim.claim)


def issued_time(docket: Docket, state: ClaimState) -> Held | None:
    """The time that stands by the last ruling issued on a claim, if any was and any does.

    A claim that names no day counts by the day of its first ruling.
    """
    if not state.issued:
        return None
    claim = state.claim
    last = _issued(docket, state, state.issued)
    listed = replace(claim, time=last.document.ruling.claim.time or claim.time)
    summary = summed_up(last.document.ruling, claim.claim, claim.event)
    time = standing_time(listed, summary, verdict_of(listed, summary))
    if time is None:
        return None
    return Held(
        event=claim.event,
        division=claim.division,
        time=time,
        holder=claim.competitor,
        day=claim.date or _first_day(docket, state, last),
        ruling=f"{claim.claim}, ruling {last.number}",
        claim=claim.claim,
    )


def _first_day(docket: Docket, state: ClaimState, last: Issued) -> str:
    first: RulingDocument = last.document
    if last.number > 1:
        first = _issued(docket, state, 1).document
    return first.issued[:10]


def _issued(docket: Docket, state: ClaimState, number: int) -> Issued:
    name = f"{file_stem(state.claim.claim)}.ruling-{number}.json"
    return read_issued(docket.folder.rulings / name, number)


# -- the page


WIDTH, HEIGHT = 640, 160
"""The size of a chart of progress, in pixels of the page."""
_EDGE = 8


@dataclass(frozen=True, slots=True)
class Chart:
    """The progress of one record: points of a line in pixels, and where it begins and ends."""

    points: str
    first: str
    slowest: str
    fastest: str


def chart(advances: tuple[Advance, ...], until: str) -> Chart | None:
    """How a record fell from day to day; none where fewer than two times have a day.

    ``until`` is the day (ISO 8601) at which the chart ends.
    """
    steps = [one.held for one in advances if one.held.day and not one.equals]
    if len(steps) < 2:
        return None
    days = [_day(held.day) for held in steps]
    last = chart_end(days, _day(until))
    times = [micros(held.time) for held in steps]
    x = [_EDGE + (WIDTH - 2 * _EDGE) * ((day - days[0]) / (last - days[0])) for day in days]
    span = times[0] - times[-1]
    y = [_EDGE + (HEIGHT - 2 * _EDGE) * ((times[0] - time) / span) for time in times]
    points = [(x[0], y[0])]
    for at, level in zip(x[1:], y[1:], strict=True):
        points += [(at, points[-1][1]), (at, level)]
    points.append((WIDTH - _EDGE, points[-1][1]))
    return Chart(
        points=" ".join(f"{at:.1f},{level:.1f}" for at, level in points),
        first=steps[0].day,
        slowest=steps[0].time,
        fastest=steps[-1].time,
    )


def chart_end(days: Sequence[datetime], until: datetime) -> datetime:
    """The day at which a chart ends: ``until``, or later, so that its last step can be seen."""
    return max(until, days[-1] + max((days[-1] - days[0]) / 20, timedelta(days=1)))


def _day(day: str) -> datetime:
    return datetime.fromisoformat(day).replace(tzinfo=UTC)


@dataclass(frozen=True, slots=True)
class _Section:
    contest: Contest
    standing: tuple[Held, ...]
    advances: tuple[Advance, ...]
    chart: Chart | None


def records_page(found: Records, league: str, today: str, *, anonymous: bool = False) -> str:
    """The records as one HTML page that needs nothing beside it and runs no script.

    ``today`` is the day at which it was made. No more of a person than their code is in it, and
    not that where it is ``anonymous``.
    """
    return template("records.html.j2").render(
        league=league,
        today=today,
        sections=tuple(_sections(found, today)),
        anonymous=anonymous,
        cautions=CAUTIONS,
        css=style_sheet(),
        width=WIDTH,
        height=HEIGHT,
    )


def _sections(found: Records, today: str) -> Iterator[_Section]:
    for contest, advances in sorted(found.progress.items()):
        yield _Section(contest, found.standing(contest), advances, chart(advances, today))
