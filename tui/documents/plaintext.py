"""The plain-text twin: all that the page says but its pictures, in lines of at most 78 columns."""

import textwrap
from collections.abc import Iterator

from sessions.sanitize import sanitize
from tui.documents.pages import Exhibit, RulingDocument
from tui.documents.tables import Table
from tui.documents.view import View, view
from tui.documents.words import RunStory

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
    yield from ("", "The cups")
    for sentence in page.cups:
        yield from _wrapped(sentence, "  ")
    yield from _section("How to appeal", ())
    yield from _paragraphs(*page.appeal, *page.cautions)
    yield from _section(
        "Exact figures for the record", (f"Problem: {p}." for p in document.ruling.problems)
    )
    for table in page.tables:
        yield from _table(table)
    if document.draft:
        yield from ("", "*** DRAFT: nothing is ruled by this text ***")


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
