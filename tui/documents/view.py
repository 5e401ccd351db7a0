"""A document laid out for printing: the words and the tables, in the order of both twins."""

from dataclasses import dataclass

from sessions.plural import joined, nouns
from tui.documents import reviewers, words
from tui.documents.figures import tables
from tui.documents.pages import RulingDocument
from tui.documents.tables import Table


@dataclass(frozen=True, slots=True)
class View:
    """What the page and the plain text print, part by part, first what a claimant needs.

    ``running`` is safe to stand in a style sheet: it holds digits and words of the program only.
    """

    title: str
    running: str
    about: tuple[tuple[str, str], ...]
    headline: str
    reasons: tuple[str, ...]
    reviewers: tuple[str, ...]
    settled: tuple[str, ...]
    stories: tuple[words.RunStory, ...]
    spent: tuple[str, ...]
    cups: tuple[str, ...]
    appeal: tuple[str, ...]
    cautions: tuple[str, ...]
    tables: tuple[Table, ...]


def view(document: RulingDocument) -> View:
    """Lay out a document."""
    ruling = document.ruling
    return View(
        title=words.title(document),
        running=_running(document),
        about=_about(document),
        headline=words.headline(ruling),
        reasons=words.reasons(ruling),
        reviewers=reviewers.reviewers(document),
        settled=reviewers.settled(document),
        stories=words.stories(document),
        spent=tuple(words.spent_words(spent) for spent in ruling.spent),
        cups=words.cup_words(ruling),
        appeal=words.appeal(document),
        cautions=words.cautions(ruling),
        tables=tables(document),
    )


def _running(document: RulingDocument) -> str:
    name = "Draft" if document.number is None else f"Ruling {document.number}"
    return f"{name}, session SHA-256 {document.session.sha256[:16]}..."


def _about(document: RulingDocument) -> tuple[tuple[str, str], ...]:
    ruling, docket = document.ruling, document.docket
    names = reviewers.names_of(document)
    parts = (
        ("Event", ruling.event),
        ("Division", docket and docket.division),
        ("Competitor", ruling.claim.competitor),
        ("Claimed time", f"{ruling.claim.time} seconds" if ruling.claim.time else None),
        ("Record before", f"{docket.record} seconds" if docket and docket.record else None),
        (nouns(len(names), "Reviewer"), joined(names)),
        ("Settled by", ruling.reviewer if document.session.settles else None),
        ("Date", document.issued[:10]),
    )
    return tuple((name, value) for name, value in parts if value)
