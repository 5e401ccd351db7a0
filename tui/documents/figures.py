"""Exact figures for an official, as tables that the page and the plain text both print.

The clause numbers of JCGM 100 are from memory.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction

from sessions.plural import plural
from sessions.record.entries import TakenOver
from sessions.record.role import Amendment
from sessions.rules.rulebook import rules
from sessions.ruling.report import footage_lines
from sessions.ruling.ruling import Bracket, Place, RuledRun
from sessions.ruling.timing import seconds_text
from tui.documents.pages import STILL, DocketFacts, RulingDocument
from tui.documents.words import SOURCES, STANDINGS, VERDICTS, what_is_checked

Row = tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Table:
    """A table; the first cell of each row names it. Without ``columns`` a row is name and value."""

    title: str
    columns: Row
    rows: tuple[Row, ...]
    note: str = ""


def amended_words(amendment: Amendment) -> str:
    """How much was changed in a finished review, and why."""
    return f"{plural(amendment.entries, 'entry')}; the reason: {amendment.reason}"


def reviews(docket: DocketFacts) -> Table:
    """The reviews that count, and the facts of each."""
    columns = (
        "Reviewer", "Begun (UTC)", "Finished (UTC)", "Blind until then", "Frames shown to them",
        "Claimed time recorded", "Amended after", "SHA-256 of the session file",
    )  # fmt: skip
    rows = tuple(
        (
            r.reviewer,
            r.begun,
            r.finished or "not marked",
            "yes" if r.blind else "no",
            "not kept" if r.shown is None else str(r.shown),
            "not kept" if r.claimed is None else "yes" if r.claimed else "no",
            "; ".join(map(amended_words, r.amended)) or "no",
            r.sha256,
        )
        for r in docket.reviews
    )
    note = f"The claim is that of the claims file with SHA-256 {docket.claims_sha256}."
    for review in docket.reviews:
        if review.taken_over is not None:
            origin = origin_words(review.taken_over)
            note += f" {review.reviewer} began with own tags on the same footage: {origin}."
    return Table("Reviews that count", columns, rows, note)


def origin_words(taken: TakenOver) -> str:
    """From which claim a reviewer took over their own tags."""
    return f"those on claim {taken.claim}, session SHA-256 {taken.sha256}"


UNCERTAINTY = (
    "An instant lies after one frame and by another. The time between start and stop lies strictly "
    "between the two bounds given. Its standard uncertainty u takes each instant as equally likely "
    "anywhere within its frames, with variance width squared / 12, and adds both (JCGM 100:2008, "
    "4.3.7 and 5.1.2). The bounds decide; u informs."
)


def tables(document: RulingDocument) -> tuple[Table, ...]:
    """All tables of the document, in order."""
    return tuple(_tables(document))


def _tables(document: RulingDocument) -> Iterator[Table]:
    yield _facts("This document", _document(document))
    yield _facts("Claim and session", _session(document))
    if document.docket is not None:
        yield reviews(document.docket)
    yield _facts("Footage", _footage(document))
    yield _found(document)
    yield _facts("What was seen of the footage", _coverage(document))
    yield _facts("Event and its settings", _event(document))
    yield _runs(document)
    for run in document.ruling.runs:
        if run.findings and run.number is not None:
            yield _checks(run)
    if document.ruling.spent:
        yield _spent(document)
    yield _cups(document)
    yield _rules(document)
    if document.clips:
        yield _clips(document)


def _facts(title: str, rows: Iterator[Row]) -> Table:
    return Table(title, (), tuple(rows))


def _document(document: RulingDocument) -> Iterator[Row]:
    yield "Number", "draft, not issued" if document.draft else str(document.number)
    if document.supersedes is not None:
        yield "Supersedes", f"ruling {document.supersedes.number}"
        yield "SHA-256 of that ruling's JSON file", document.supersedes.sha256
        yield "Reason", document.supersedes.reason
    yield "Made at (UTC)", document.issued
    yield "Program", document.program
    yield "Stills", document.picture.stills


def _session(document: RulingDocument) -> Iterator[Row]:
    session, claim = document.session, document.ruling.claim
    yield "Claim", claim.id or "not given"
    competitor = "left out of this copy" if document.anonymous else claim.competitor or "not given"
    yield "Competitor", competitor
    yield "Claimed time", f"{claim.time} s" if claim.time else "not given"
    yield "Settled by" if session.settles else "Reviewer", document.ruling.reviewer
    yield "Session file", session.file
    yield "SHA-256 of the session file", session.sha256
    yield "Begun (UTC)", session.begun
    yield "First entry (UTC)", session.first_entry or "none"
    yield "Last entry (UTC)", session.last_entry or "none"
    yield "Entries", f"{session.entries}, of which {session.withdrawn} taken back or amended"
    yield "Begun with", session.program
    yield "Finished (UTC)", session.finished or "not marked as finished"
    if session.blind is not None:
        yield "Blind to other reviews, claimed time and record", "yes" if session.blind else "no"
    if session.taken_over is not None:
        yield "Begun with the reviewer's own tags", origin_words(session.taken_over)
    for amendment in session.amended:
        yield f"Amended at {amendment.at}", amended_words(amendment)
    for review in session.settles:
        yield f"Settles the review by {review.reviewer}", f"session SHA-256 {review.sha256}"


def _footage(document: RulingDocument) -> Iterator[Row]:
    facts, picture = document.ruling.footage, document.picture
    yield "File", facts.name
    yield "Size", f"{facts.size_bytes} bytes"
    yield "SHA-256 of the footage", facts.sha256
    yield "Container", facts.container or "not known"
    yield "Codec", facts.codec or "not known"
    yield "Decoder when tagged", facts.decoder or "not known"
    yield "Decoder of the stills", picture.decoder
    by_field = "" if facts.scan == "frames" else ", each field a frame"
    unhidden = ", with what an edit list hides" if facts.whole else ""
    yield "Frames counted", f"{facts.frames}{by_field}{unhidden}"
    declared = facts.declared_frames
    yield "Frames declared", "none declared" if declared is None else str(declared)
    yield "Frame rate by the time stamps", _rate(facts.nominal_rate) or "not steady"
    yield "Frame rate declared", _rate(picture.declared_rate) or "none declared"
    yield "Time base", f"{facts.time_base} s; first time stamp {facts.first_pts}"
    yield "Gaps in time", str(facts.gaps)
    yield "Picture", f"{picture.size[0]} x {picture.size[1]} pixels, {picture.scan}"
    yield "Pixel aspect and rotation", f"{picture.pixel_aspect}, {picture.rotation} degrees"
    yield "Pixel format", picture.pixel_format
    full = "full" if picture.full_range else "limited"
    yield "Colour matrix", picture.matrix + _assumed(picture.matrix_assumed)
    yield "Colour range", full + _assumed(picture.range_assumed)


def _found(document: RulingDocument) -> Table:
    """What the footage was found to be, as far as it matters for a ruling."""
    lines = [(line, "") for line in footage_lines(document.ruling.footage)]
    rows = [(f"{n.kind}, {n.weight}: {n.found}.", n.means) for n in document.picture.found]
    nothing = [] if rows else [("Nothing was found against it.", "")]
    columns = ("What was found", "What it means")
    return Table("What was found in the footage", columns, (*lines, *rows, *nothing))


def _rate(rate: str | None) -> str:
    if rate is None:
        return ""
    exact = "" if Fraction(rate).denominator == 1 else f" ({rate})"
    return f"{seconds_text(Fraction(rate))} frames a second{exact}"


def _assumed(assumed: bool) -> str:
    return " (assumed, not declared)" if assumed else ""


def _coverage(document: RulingDocument) -> Iterator[Row]:
    ruling = document.ruling
    total = ruling.frames_seen + ruling.frames_unseen
    share = Fraction(100 * ruling.frames_seen, total)
    yield (
        "Frames shown to the reviewers together"
        if document.session.settles
        else "Frames shown to the reviewer",
        f"{ruling.frames_seen} of {total} ({seconds_text(share, 1)} %)",
    )
    never = f"{ruling.frames_unseen} of {total}"
    yield "Frames never shown", f"{never}: {_ranges(document.session.unseen)}"
    drawn = document.session.real_speed_drawn
    told = "" if drawn is None else f" (pictures drawn in all: {drawn})"
    yield "Frames played at real speed", _ranges(document.session.real_speed) + told
    calls = [
        f"{count} with the footage {'standing' if speed == STILL else f'at {speed} of real speed'}"
        for speed, count in document.session.calls
    ]
    yield "Calls made", ", ".join(calls) or "none"


def _ranges(ranges: tuple[tuple[int, int], ...]) -> str:
    return ", ".join(f"{a} to {b}" if a != b else str(a) for a, b in ranges) or "none"


def _event(document: RulingDocument) -> Iterator[Row]:
    event = document.event
    yield "Event", event.title
    yield "Formations", f"{', '.join(event.formations)}; closing {event.closing}"
    yield "Cups", str(event.cups)
    yield "Warm-ups and attempts", f"{event.allowance.warm_ups} and {event.allowance.attempts}"
    yield "Clock", f"starts with the {event.clock.starts}, stops with the {event.clock.stops}"
    rounding = f"rounding {event.clock.rounding}"
    yield "Display", f"reads to {event.clock.resolution} s, {rounding}"
    yield "Order of the take-down", event.order.take_down


def _runs(document: RulingDocument) -> Table:
    columns = (
        "Run", "Counts as", "Ruled", "Display (s)", "By the picture (s)", "u (s)", "From", "To",
    )  # fmt: skip
    rows = tuple(_run(run) for run in document.ruling.runs)
    return Table("Runs in the footage", columns, rows, UNCERTAINTY)


def _run(run: RuledRun) -> Row:
    between = f"above {run.by_picture[0]}, below {run.by_picture[1]}" if run.by_picture else "-"
    return (
        str(run.run),
        run.counted_as,
        STANDINGS[run.standing],
        run.time or "-",
        between,
        run.uncertainty or "-",
        place_text(run.begins),
        place_text(run.ends),
    )


def _checks(run: RuledRun) -> Table:
    columns = ("Check", "Rule", "Outcome", "First thing", "Must come before", "Reason")
    rows = tuple(
        (
            f.title,
            f.rule,
            VERDICTS[f.outcome],
            bracket_text(f.met),
            bracket_text(f.due),
            f.reason,
        )
        for f in run.findings
    )
    note = (
        f"{plural(len(run.findings), 'check')}: {what_is_checked(run)}. "
        "pts is the time stamp in units of the time base; the time code counts frames."
    )
    return Table(f"Checks of run {run.run}, attempt {run.number}", columns, rows, note)


def bracket_text(bracket: Bracket | None) -> str:
    """An instant with the frames that bracket it."""
    if bracket is None:
        return "-"
    parts = [
        f"{words} {place_text(place)}"
        for words, place in (("not yet in", bracket.after), ("so in", bracket.by))
        if place is not None
    ]
    return f"{bracket.moment}: {'; '.join(parts) or 'not sighted'}"


def place_text(place: Place | None) -> str:
    """A frame with time, time code and time stamp."""
    if place is None:
        return "-"
    stamp = None if place.pts is None else f"pts {place.pts}"
    parts = [part for part in (place.time, place.timecode, stamp) if part]
    return f"frame {place.frame}" + (f" ({', '.join(parts)})" if parts else "")


def _spent(document: RulingDocument) -> Table:
    rows = tuple(
        (str(s.number), f"run {s.by_run}", s.rule, s.reason) for s in document.ruling.spent
    )
    columns = ("Attempt", "Spent by", "Rule", "Reason")
    return Table("Attempts spent by starting over", columns, rows)


def _cups(document: RulingDocument) -> Table:
    rows = tuple(
        (str(cup.cup), VERDICTS[cup.outcome], cup.detail, place_text(cup.at))
        for cup in document.ruling.cups
    )
    return Table("Maker's marks", ("Cup", "Outcome", "What was seen", "Where"), rows)


def _rules(document: RulingDocument) -> Table:
    used = {finding.rule for run in document.ruling.runs for finding in run.findings}
    used |= {"cup.mark"} | {spent.rule for spent in document.ruling.spent}
    rows = tuple(
        (rule.id, rule.title, SOURCES.get(rule.source, rule.source))
        for rule in (*rules().values(), *document.event.rules)
        if rule.id in used
    )
    return Table("Rules applied", ("Rule", "What it asks", "Source"), rows)


def _clips(document: RulingDocument) -> Table:
    rows = tuple(
        (c.file, f"{c.first} to {c.last}", f"{c.slowed} times slower", c.sha256)
        for c in document.clips
    )
    return Table("Evidence clips", ("File", "Frames", "Speed", "SHA-256"), rows)
