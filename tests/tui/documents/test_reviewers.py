"""Who looked at the footage, in words for a parent."""

from typing import Any

import pytest

from sessions.record.entries import SettledReview, TakenOver
from sessions.record.role import Amendment
from sessions.ruling.ruling import Place
from sessions.settling.settlement import SettledPoint
from tests.tui.documents.papers import STANDS, document, session, session_facts
from tui.documents.pages import DocketFacts, ReviewFacts
from tui.documents.render import text, view
from tui.documents.words import reviewers, settled

HASH = "0" * 64


def review(reviewer: str, *, blind: bool | None = True) -> ReviewFacts:
    begun = "2031-05-04T09:30:00Z"
    return ReviewFacts(reviewer=reviewer, sha256=HASH, begun=begun, finished=begun, blind=blind)


def docket(*reviews: ReviewFacts) -> DocketFacts:
    return DocketFacts(division="U10", record="", claims_sha256=HASH, reviews=reviews)


def told(**changes: Any) -> tuple[str, ...]:
    return reviewers(document(session(*STANDS), **changes)[0])


POINT = SettledPoint(
    run=1, title="Cups free", taken="R2", reason="Seen so.", at=(Place(frame=8), Place(frame=9))
)
BOTH = session_facts(
    settles=(SettledReview(reviewer="R1", sha256=HASH), SettledReview(reviewer="R2", sha256=HASH))
)


def test_one_review_alone_is_said_to_be_unchecked() -> None:
    assert told() == (
        "This ruling rests on the review by reviewer-1 alone; "
        "nobody else has reviewed the footage.",
    )
    assert told(docket=docket(review("reviewer-1"))) == told()


@pytest.mark.parametrize("blind", [False, None])
def test_reviews_that_were_not_blind_are_not_said_to_be(blind: bool | None) -> None:
    looked, agreed = told(docket=docket(review("R1"), review("R2", blind=blind)))
    assert looked == "R1 and R2 each looked at the footage on their own."
    assert agreed == "They came to the same ruling."


def about(**changes: Any) -> dict[str, str]:
    return dict(view(document(session(*STANDS), **changes)[0]).about)


def test_the_head_names_the_reviewers_and_who_settled() -> None:
    assert about()["Reviewer"] == "reviewer-1"
    both = about(docket=docket(review("R1"), review("R2")))
    assert (both["Reviewers"], both.get("Settled by")) == ("R1 and R2", None)
    settled_by = about(session=BOTH)
    assert (settled_by["Reviewers"], settled_by["Settled by"]) == ("R1 and R2", "reviewer-1")


def test_three_reviewers_are_named() -> None:
    looked, _ = told(docket=docket(review("R1"), review("R2"), review("R4")))
    assert looked.startswith("R1, R2 and R4 each looked at the footage on their own, before any")


@pytest.mark.parametrize("is_settled", [False, True])
def test_who_alone_recorded_the_claimed_time_is_told(is_settled: bool) -> None:
    one, two = review("R1"), review("R2").model_copy(update={"claimed": False})
    changes: dict[str, Any] = {"session": BOTH, "settled": (POINT,)} if is_settled else {}
    sentence = "An attempt with the claimed time was recorded by R1 only; R2 recorded none."
    claimed = one.model_copy(update={"claimed": True})
    assert sentence in told(docket=docket(claimed, two), **changes)
    both = told(docket=docket(claimed, two.model_copy(update={"claimed": True})), **changes)
    assert sentence not in both
    neither = told(docket=docket(one.model_copy(update={"claimed": False}), two), **changes)
    assert sentence not in neither
    assert sentence not in told(docket=docket(one, two), **changes)  # of an earlier version


def test_a_settling_session_tells_whose_reviews_it_settles_even_without_a_docket() -> None:
    looked, differed = told(session=BOTH, settled=(POINT,))
    assert looked == "R1 and R2 each looked at the footage on their own."
    assert differed == "They saw one point differently, which reviewer-1 settled afterwards:"
    _, differed = told(session=BOTH, settled=(POINT, POINT))
    assert differed.startswith("They saw 2 points differently")


def test_every_point_says_how_why_and_where() -> None:
    again = POINT.model_copy(update={"taken": None, "at": (Place(frame=8),)})
    cup = POINT.model_copy(update={"run": None, "title": "Maker's mark of cup 3", "at": ()})
    made, _ = document(session(*STANDS), session=BOTH, settled=(POINT, again, cup))
    assert settled(made) == (
        "Run 1: Cups free: settled as R2 found it (frames 8 and 9). The reason given: Seen so.",
        "Run 1: Cups free: looked at again by reviewer-1 (frame 8). The reason given: Seen so.",
        "Maker's mark of cup 3: settled as R2 found it. The reason given: Seen so.",
    )
    assert "* Run 1: Cups free: looked at again by reviewer-1" in text(made)


def test_the_reviews_that_count_are_in_the_figures() -> None:
    made, _ = document(session(*STANDS), docket=docket(review("R1"), review("R2", blind=False)))
    figures = text(made)
    assert "Reviews that count" in figures
    assert figures.count(HASH) >= 3
    assert "Blind until then: no" in figures


def test_tags_that_a_reviewer_took_over_from_another_claim_are_in_the_figures() -> None:
    origin = TakenOver(claim="C-05", sha256="c" * 64)
    again = review("R1").model_copy(update={"taken_over": origin})
    made, _ = document(
        session(*STANDS),
        session=session_facts(taken_over=origin),
        docket=docket(again, review("R2")),
    )
    words = " ".join(text(made).split())
    assert (
        f"Begun with the reviewer's own tags: those on claim C-05, session SHA-256 {'c' * 64}"
    ) in words
    assert "R1 began with own tags on the same footage: those on claim C-05, session" in words
    assert "R2 began with own tags" not in words


AMENDED = (Amendment(at="2031-05-05T08:00:00Z", reason="A finger was missed.", entries=2),)


def test_changes_after_finishing_are_told_with_their_reason() -> None:
    first = review("R1").model_copy(update={"amended": AMENDED})
    looked, changed, agreed = told(docket=docket(first, review("R2")))
    assert looked.startswith("R1 and R2 each looked")
    assert changed == (
        "R1 changed the review after it was finished, when the claim may have been known; "
        "the reason given: A finger was missed."
    )
    assert agreed == "They came to the same ruling."


def test_a_settling_or_a_lone_review_that_was_changed_says_so_too() -> None:
    for facts in (session_facts(amended=AMENDED), BOTH.model_copy(update={"amended": AMENDED})):
        assert any("reviewer-1 changed the review" in sentence for sentence in told(session=facts))


def test_the_figures_tell_how_much_was_changed() -> None:
    made, _ = document(session(*STANDS), session=session_facts(amended=AMENDED))
    assert "2 entries; the reason: A finger was missed." in " ".join(text(made).split())
