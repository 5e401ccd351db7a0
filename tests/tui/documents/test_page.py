"""The page: its parts in order, hostile text shown as text, nothing needed from outside."""

import re
from collections.abc import Callable
from itertools import pairwise
from typing import Any
from xml.etree.ElementTree import Element

import html5lib
import pytest

from sessions.record.session import Session
from tests.tui.documents.papers import (
    CLAIM,
    DOUBT,
    LEAGUE,
    PICTURE,
    SCRATCH,
    STANDS,
    PlainPictures,
    claimed,
    document,
    session,
    session_facts,
    two_runs,
)
from tui.documents.pages import ClipFacts, Superseded
from tui.documents.render import html

HOSTILE = (
    "<script>alert(1)</script>\"'><img src=x onerror=1>{{ 7*7 }}&amp;\u202e\x1b[31m\x00\n\u2066"
)
SHOWN = "<script>alert(1)</script>\"'><img src=x onerror=1>{{ 7*7 }}&amp;<U+202E><U+001B>[31m"
"""What a reader must see of it, up to the characters that no page can hold."""

DIGEST = "ab" * 32


def page(told: Session, pictures: PlainPictures | None = None, **changes: object) -> str:
    return html(*document(told, pictures, **changes))


def parsed(text: str) -> Element:
    """The page by a parser that refuses whatever is not HTML (html5lib, strict)."""
    root: Element = html5lib.HTMLParser(strict=True, namespaceHTMLElements=False).parse(text)
    return root


def words_of(element: Element) -> str:
    return " ".join(" ".join(element.itertext()).split())


def full_page() -> str:
    """A page with everything that a page can hold."""
    told = claimed(
        "look 1 start.grip refuted 8", "look 2 start.still unproven 309 310", "over 1 at 100",
        run=1, before=two_runs(),
    )  # fmt: skip
    return page(
        told,
        PlainPictures(flaws={8: "damaged: a test"}),
        league=LEAGUE,
        number=2,
        supersedes=Superseded(number=1, sha256=DIGEST, reason="The first look missed a finger."),
        clips=(ClipFacts(file="a.mp4", sha256=DIGEST, exhibit="x", first=1, last=9, slowed=8),),
        session=session_facts(
            blind=True,
            finished="2031-05-04T09:41:00Z",
            settles=({"reviewer": "R2", "sha256": DIGEST},),
            unseen=((5, 5), (7, 9)),
        ),
    )


PAGES: dict[str, Callable[[], str]] = {
    "full": full_page,
    "draft": lambda: page(session("open 1 attempt at 0"), number=None),
    "stands": lambda: page(claimed(*STANDS)),
    "without time code": lambda: page(claimed(*DOUBT, nominal_rate=None)),
    "hostile": lambda: hostile_page(),
}


def hostile_page() -> str:
    """A page with hostile text in every field that takes text from outside."""
    claim = CLAIM.model_copy(update={"id": HOSTILE, "competitor": HOSTILE})
    told = session(
        *SCRATCH, f"settled 1 {HOSTILE}", "reading 1 9.000 at 300", claim=claim,
        reviewer=HOSTILE, name=HOSTILE, container=HOSTILE, codec=HOSTILE, decoder=HOSTILE,
    )  # fmt: skip
    return page(
        told,
        PlainPictures(flaws={8: HOSTILE}),
        league=LEAGUE.model_copy(
            update={"name": HOSTILE, "address": (HOSTILE,), "appeal": HOSTILE}
        ),
        number=2,
        program=HOSTILE,
        supersedes=Superseded(number=1, sha256=DIGEST, reason=HOSTILE),
        session=session_facts(file=HOSTILE, program=HOSTILE),
        event=told.header.event.model_copy(update={"title": HOSTILE}),
        picture=PICTURE.model_copy(
            update={"decoder": HOSTILE, "pixel_format": HOSTILE, "matrix": HOSTILE}
        ),
        clips=(ClipFacts(file=HOSTILE, sha256=DIGEST, exhibit="x", first=1, last=9, slowed=8),),
    )


@pytest.fixture(params=PAGES)
def any_page(request: pytest.FixtureRequest) -> str:
    return PAGES[request.param]()


def test_a_page_is_html_to_the_letter(any_page: str) -> None:
    root = parsed(any_page)
    assert root.get("lang") == "en"
    assert any_page.startswith("<!DOCTYPE html>")


def test_a_page_needs_nothing_from_outside_and_runs_nothing(any_page: str) -> None:
    root = parsed(any_page)
    assert {e.tag for e in root.iter()}.isdisjoint({"script", "link", "iframe", "object", "a"})
    for element in root.iter():
        assert not [name for name in element.attrib if name.startswith("on")]
        for name in ("src", "href", "srcset", "data", "action"):
            assert element.get(name, "data:image/jpeg;").startswith("data:image/jpeg;")
    (style,) = root.iter("style")
    assert not re.search(r"url\(|@import|expression", style.text or "")
    assert "default-src 'none'" in any_page


def test_hidden_characters_are_shown_and_markup_is_text() -> None:
    text = hostile_page()
    assert not re.search("[\x00-\x09\x0b-\x1f\u202a-\u202e\u2066-\u2069]", text)
    assert words_of(parsed(text)).count(SHOWN) >= 20
    assert "49" not in "".join(re.findall(r"\{\{.{0,9}", text))


@pytest.mark.parametrize(
    "change",
    ["reviewer", "name", "container", "codec", "decoder"],
)
def test_each_field_of_a_session_is_shown_as_text(change: str) -> None:
    told: dict[str, Any] = {change: HOSTILE}
    assert SHOWN in words_of(parsed(page(session(*STANDS, **told))))


def test_the_claimants_part_comes_first_and_headings_are_in_order() -> None:
    root = parsed(full_page())
    headings = [e for e in root.iter() if re.fullmatch("h[1-6]", str(e.tag))]
    levels = [int(str(e.tag)[1]) for e in headings]
    assert levels[0] == 1
    assert levels.count(1) == 1
    assert all(after - before <= 1 for before, after in pairwise(levels))
    assert [words_of(e) for e in headings if e.tag == "h2"] == [
        "What was ruled",
        "Who looked at the footage",
        "What was seen, where, and how to do it right next time",
        "How to appeal",
        "Exact figures for the record",
    ]


def test_every_picture_says_in_words_what_it_is() -> None:
    pictures = list(parsed(full_page()).iter("img"))
    assert len(pictures) >= 8
    assert all(re.match(r"Frame \d+, (whole|cropped)", p.get("alt", "")) for p in pictures)


def test_every_table_has_headers_for_its_rows_and_its_columns() -> None:
    for table in parsed(full_page()).iter("table"):
        rows = table.findall("tbody/tr")
        columns = table.findall("thead/tr/th")
        assert all(row[0].tag == "th" and row[0].get("scope") == "row" for row in rows)
        assert {len(row) for row in rows} == {len(columns) or 2}
        assert {column.get("scope") for column in columns} <= {"col"}


def test_a_damaged_frame_is_marked_in_words() -> None:
    assert "DAMAGED FRAME, not to be trusted: damaged: a test" in words_of(parsed(full_page()))


def test_a_crop_says_that_it_is_one_and_where() -> None:
    text = words_of(parsed(page(claimed(*STANDS))))
    assert re.search(r"Cropped to \d+ x \d+ of 320 x 180 pixels at x \d+, y \d+", text)


def test_frames_that_do_not_differ_are_said_to_be_whole() -> None:
    class Still(PlainPictures):
        def full(self, frame):  # type: ignore[no-untyped-def]
            return super().full(0)

    assert "Whole frames only" in words_of(parsed(page(claimed(*STANDS), Still())))


def test_an_official_finds_the_exact_figures() -> None:
    text = words_of(parsed(full_page()))
    for figure in (
        "a1" * 32,
        "29.970 frames a second (30000/1001)",
        "1/30000 s; first time stamp 3003",
        "Frames declared none declared",
        "5, 7 to 9",
        "12 with the footage standing",
        "Settles the review by R2",
        "JCGM 100:2008",
        "pts 13013",
        "count.starting-over",
        "8 times slower",
        "starts with the first hand, stops with the last hand",
        "from memory, a setting of the league",
        "common practice, no written source",
    ):
        assert figure in text
    for excuse in ("no source",):
        assert excuse not in text


def test_a_ruling_that_supersedes_one_says_which_and_why() -> None:
    text = words_of(parsed(full_page()))
    assert "takes the place of ruling 1, which no longer holds" in text
    assert "The first look missed a finger." in text
    assert DIGEST in text


def test_a_draft_is_marked_on_every_printed_page_and_a_ruling_is_not() -> None:
    draft = PAGES["draft"]()
    assert '@top-center { content: "DRAFT' in draft
    assert 'class="watermark"' in draft
    assert "DRAFT" not in page(claimed(*STANDS))


def test_an_anonymous_copy_says_that_the_code_is_left_out() -> None:
    claim = CLAIM.model_copy(update={"competitor": None})
    text = words_of(parsed(page(session(*STANDS, claim=claim), anonymous=True)))
    assert "Competitor left out of this copy" in text


def test_the_same_document_gives_the_same_page() -> None:
    assert full_page() == full_page()
