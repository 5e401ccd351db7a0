"""A document as it is printed: as one HTML page, and as plain text that says the same.

The page needs nothing beside it and runs no script. The plain text has lines of at most 78 columns
and leaves out the pictures.
"""

import textwrap
from base64 import b64encode
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from fractions import Fraction
from functools import cache
from importlib import resources

from jinja2 import Environment, StrictUndefined, Template
from markupsafe import Markup

from sessions.plural import joined, nouns
from sessions.ruling.timing import seconds_text
from sessions.sanitize import sanitize
from tui.documents import words
from tui.documents.exhibits import Stills
from tui.documents.figures import Table, tables
from tui.documents.pages import Exhibit, RulingDocument
from tui.documents.words import RunStory


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
    footage: tuple[str, ...]
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
        reasons=tuple(filter(None, (words.record_words(document), *words.reasons(ruling)))),
        reviewers=words.reviewers(document),
        settled=words.settled(document),
        stories=words.stories(document),
        spent=tuple(words.spent_words(spent) for spent in ruling.spent),
        cups=words.cup_words(ruling),
        footage=words.footage_words(document),
        appeal=words.appeal(document),
        cautions=words.cautions(ruling),
        tables=tables(document),
    )


def _running(document: RulingDocument) -> str:
    name = "Draft" if document.number is None else f"Ruling {document.number}"
    return f"{name}, session SHA-256 {document.session.sha256[:16]}..."


def _about(document: RulingDocument) -> tuple[tuple[str, str], ...]:
    ruling, docket = document.ruling, document.docket
    names = words.names_of(document)
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


def html(document: RulingDocument, pictures: Mapping[str, Stills]) -> str:
    """The document as HTML; ``pictures`` holds the stills of every exhibit by its name."""
    return template("ruling.html.j2").render(
        document=document, page=view(document), pictures=pictures, css=style_sheet()
    )


def style_sheet() -> Markup:
    """The style sheet of every page: the program's own text, the only one that is not escaped."""
    return Markup(_read("ruling.css"))


@cache
def template(name: str) -> Template:
    """One of the program's templates; all that it is given is escaped and shown safely."""
    environment = Environment(
        autoescape=True,
        undefined=StrictUndefined,
        finalize=_shown,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
    )
    environment.filters.update(data_uri=_data_uri, share=_share)
    return environment.from_string(_read(name))


def _read(name: str) -> str:
    return resources.files("tui.documents").joinpath(name).read_text(encoding="utf-8")


def _shown(value: object) -> object:
    """Text from outside with its hidden characters shown; escaping comes after."""
    return sanitize(value) if isinstance(value, str) and not isinstance(value, Markup) else value


def _data_uri(data: bytes) -> str:
    return f"data:image/jpeg;base64,{b64encode(data).decode('ascii')}"


def _share(part: int, whole: int) -> str:
    """A part of a whole in per cent."""
    return seconds_text(Fraction(100 * part, whole), 2)


WIDTH = 78


def text(document: RulingDocument) -> str:
    """The document as plain text."""
    return "\n".join(_lines(document, view(document))) + "\n"


def _lines(document: RulingDocument, page: View) -> Iterator[str]:
    if document.draft:
        yield from ("*** DRAFT: nothing is ruled by this text ***", "")
    if document.league is not None:
        yield from map(sanitize, (document.league.name, *document.league.address, ""))
    yield from _heading(page.title, "=")
    for name, value in page.about:
        yield from _wrapped(f"{name}: {value}")
    yield from _section("What was ruled", (page.headline.upper(), *page.reasons))
    if document.supersedes is not None:
        yield from _wrapped(
            f"This ruling takes the place of ruling {document.supersedes.number}, which no longer "
            f"holds. The reason: {document.supersedes.reason}"
        )
    yield from _section("Who looked at the footage", page.reviewers)
    yield from (line for point in page.settled for line in _wrapped(f"* {point}", "  ", "  "))
    yield from _section("What was seen, where, and how to do it right next time", ())
    for story in page.stories:
        yield from _story(story)
    for sentence in page.spent:
        yield from ("", *_wrapped(sentence))
    yield from _part("The cups", page.cups)
    yield from _part("The footage", page.footage)
    yield from _section("How to appeal", ())
    yield from _paragraphs(*page.appeal, *page.cautions)
    yield from _section(
        "Exact figures for the record", (f"Problem: {p}." for p in document.ruling.problems)
    )
    for table in page.tables:
        yield from _table(table)
    if document.draft:
        yield from ("", "*** DRAFT: nothing is ruled by this text ***")


def _part(title: str, sentences: tuple[str, ...]) -> Iterator[str]:
    """A part within a section; nothing where there is nothing to say."""
    if sentences:
        yield from ("", title)
    for sentence in sentences:
        yield from _wrapped(sentence, "  ")


def _section(title: str, sentences: Iterator[str] | tuple[str, ...]) -> Iterator[str]:
    yield ""
    yield from _heading(title, "-")
    for sentence in sentences:
        yield from _wrapped(sentence)


def _paragraphs(first: str, *others: str) -> Iterator[str]:
    yield from _wrapped(first)
    for paragraph in others:
        yield from ("", *_wrapped(paragraph))


def _heading(words: str, line: str) -> Iterator[str]:
    yield sanitize(words)
    yield line * min(WIDTH, len(sanitize(words)))


def _story(story: RunStory) -> Iterator[str]:
    yield from ("", sanitize(story.heading))
    yield from _wrapped(" ".join(story.told), "  ")
    for seen in story.seen:
        yield from _wrapped(f"* {seen.verdict}: {seen.heading} [{seen.rule}]", "  ", "  ")
        yield from _wrapped(f"{seen.story} {seen.where}".rstrip(), "    ")
        yield from _wrapped(f"Right: {seen.right}", "    ") if seen.right else ()
        yield from _wrapped(f"Source of the rule: {seen.source}.", "    ")
        for exhibit in seen.exhibits:
            yield from _exhibit(exhibit)
    if story.exhibits:
        yield "  Start and stop of the clock"
        for exhibit in story.exhibits:
            yield from _exhibit(exhibit)


def _exhibit(exhibit: Exhibit) -> Iterator[str]:
    for shot in exhibit.shots:
        code = f", time code {shot.place.timecode}" if shot.place.timecode else ""
        says = f": {'; '.join(shot.says)}" if shot.says else ""
        flaw = f" (DAMAGED FRAME, not to be trusted: {shot.flaw})" if shot.flaw else ""
        yield from _wrapped(
            f"Frame {shot.place.frame}, {shot.place.time}{code}{flaw}{says}", "    ", "  "
        )


def _table(table: Table) -> Iterator[str]:
    yield ""
    yield from _heading(table.title, ".")
    for row in table.rows:
        if not table.columns:
            yield from _wrapped(f"{row[0]}: {row[1]}", after="  ")
            continue
        yield from _wrapped(f"{table.columns[0]} {row[0]}")
        for column, cell in zip(table.columns[1:], row[1:], strict=True):
            yield from _wrapped(f"{column}: {cell}", "    ", "  ")
    if table.note:
        yield from _wrapped(table.note)


def _wrapped(words: str, indent: str = "", after: str = "") -> list[str]:
    """Lines of words, all indented, and all but the first by ``after`` as well."""
    return textwrap.wrap(
        sanitize(words),
        WIDTH,
        initial_indent=indent,
        subsequent_indent=indent + after,
        break_on_hyphens=False,
    )
