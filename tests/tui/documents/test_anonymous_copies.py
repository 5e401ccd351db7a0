"""Copies that leave out the competitor: of code and file names nothing is left."""

import json
from typing import Any

import pytest

from sessions.errors import DocumentError
from sessions.record.entries import ReadingAccepted
from sessions.record.header import Claim
from tests.tui.documents.conftest import Case
from tests.tui.documents.test_issuing import files_after, issued
from tui.documents.issuing import IssueWish
from tui.documents.sources import LEFT_OUT
from tui.footage.footage import Footage


def test_an_anonymous_copy_names_neither_competitor_nor_file(case: Case) -> None:
    made = issued(case, IssueWish(anonymous=True))
    assert made.document.ruling.claim.competitor is None
    assert made.document.ruling.footage.name == made.document.session.file == LEFT_OUT
    competitor = Claim.model_validate(
        json.loads(case.session.read_text().splitlines()[0])["claim"]
    ).competitor
    assert competitor is not None
    for path in made.paths:
        assert competitor not in path.read_text(encoding="utf-8")


def test_an_anonymous_copy_without_a_claim_is_named_by_the_footage(case: Case) -> None:
    case.rewrite(claim=Claim(competitor="LQ-900"))
    name = files_after(case, IssueWish(anonymous=True))[0]
    assert name == f"footage-{Footage.open(case.footage).sha256[:12]}.ruling-1.html"


@pytest.mark.parametrize(
    ("change", "place"),
    [
        ({"claim": Claim(id="claim lq-900", competitor="LQ-900")}, "the claim's id"),
        ({"reviewer": "LQ-900", "claim": Claim(competitor="LQ-900")}, "the reviewer's code"),
    ],
)
def test_a_code_that_stands_elsewhere_cannot_be_left_out(
    case: Case, change: dict[str, Any], place: str
) -> None:
    case.rewrite(**change)
    with pytest.raises(DocumentError, match=place):
        issued(case, IssueWish(anonymous=True))


def test_a_code_in_a_reason_cannot_be_left_out(case: Case) -> None:
    case.rewrite(claim=Claim(competitor="LQ-900"))
    case.add(ReadingAccepted(run=2, display="9.999", reason="LQ-900 hit the clock"))
    with pytest.raises(DocumentError, match="the reason for accepting the reading of run 2"):
        issued(case, IssueWish(anonymous=True))


def test_a_longer_code_is_another_code(case: Case) -> None:
    case.rewrite(claim=Claim(id="LQ-9001", competitor="LQ-900"))
    assert issued(case, IssueWish(anonymous=True)).document.ruling.claim.id == "LQ-9001"


def test_a_claim_without_a_code_has_only_its_file_names_left_out(case: Case) -> None:
    case.rewrite(claim=Claim(id="C-1"))
    assert issued(case, IssueWish(anonymous=True)).document.ruling.footage.name == LEFT_OUT
