"""What the list says of each claim to a reviewer, and what it keeps from them."""

from dataclasses import replace
from pathlib import Path

import pytest

from sessions.docket.claim_state import ClaimState, State, state_of
from sessions.docket.claims import ListedClaim
from sessions.docket.docket import DocketFolder
from sessions.docket.review_summary import ReviewSummary
from sessions.docket.work_order import Placed, arrange
from sessions.ruling.ruling import Standing
from tests.sessions.docket.docket_samples import claim, review, ruled, run, scratched
from tests.tui.docket.docketing import SECRET, SECRETS, begun_entries, write_review
from tui.docket.rows import (
    DIFFERING,
    HIDDEN,
    NO_FASTER,
    RECORD_HIDDEN,
    REVIEWED,
    SET_ASIDE,
    UNREAD_NOTE,
    DocketRow,
    Sight,
    docket_rows,
    docket_text,
)


def sight(tmp_path: Path, reviewer: str = "one", *, shown: bool = False) -> Sight:
    return Sight(reviewer, DocketFolder(tmp_path), shown)


def row_of(state: ClaimState, seen_by: Sight) -> DocketRow:
    (row,) = docket_rows(arrange([state]), seen_by)
    return row


def cell(row: DocketRow, heading: str) -> str:
    names = ("place", "claim", "event", "division", "time", "record", "competitor", "state", "who")
    return row.cells[names.index(heading)]


def reviewed(*reviews: ReviewSummary) -> ClaimState:
    return state_of(claim(), reviews)


BY_ONE = review(run("6.000"), reviewer="one")
BY_TWO = review(run("6.000"), reviewer="two")
BY_TWO_DIFFERENTLY = review(scratched("6.000"), reviewer="two")
BY_TWO_OPEN = review(run("6.000", Standing.OPEN), reviewer="two", made=False)
BY_TWO_BEGUN = review(reviewer="two", finished=False)
BY_THREE = review(run("6.000"), reviewer="three")


def test_a_claim_that_nobody_looked_at_hides_time_record_and_competitor(tmp_path: Path) -> None:
    row = row_of(state_of(SECRET, ()), sight(tmp_path))
    assert row.cells == ("1", "C-7", "3-3-3", "U10", HIDDEN, HIDDEN, HIDDEN, "untouched", "")
    assert not any(secret in row.searched or secret in row.note for secret in SECRETS)
    assert "hidden until you finish your review" in row.note
    assert "fastest first" in row.note


def test_a_claim_is_shown_to_the_reviewer_who_is_done_with_it(tmp_path: Path) -> None:
    row = row_of(reviewed(BY_ONE), sight(tmp_path))
    assert [cell(row, name) for name in ("time", "record", "competitor")] == [
        "6.000", "7.000", "S-C-1",
    ]  # fmt: skip
    assert cell(row, "state") == "awaiting second review"
    assert row.note == ""
    assert not row.is_due


@pytest.mark.parametrize(
    ("reviews", "words"),
    [
        ((), "untouched"),
        ((BY_TWO_BEGUN,), "open"),
        ((BY_TWO_OPEN,), "open"),
        ((BY_TWO,), "awaiting second review"),
        ((BY_TWO_DIFFERENTLY,), "awaiting second review"),
        ((BY_TWO, BY_THREE), REVIEWED),
        ((BY_TWO_DIFFERENTLY, BY_THREE), REVIEWED),
    ],
)
def test_a_reviewer_who_is_not_done_sees_no_verdict(
    tmp_path: Path, reviews: tuple[ReviewSummary, ...], words: str
) -> None:
    row = row_of(reviewed(*reviews), sight(tmp_path))
    assert cell(row, "state") == words
    assert row.state in (None, State.UNTOUCHED, State.OPEN, State.AWAITING)
    assert cell(row, "time") == HIDDEN


def test_what_two_reviewers_found_alike_is_shown_to_both(tmp_path: Path) -> None:
    row = row_of(reviewed(BY_ONE, BY_TWO), sight(tmp_path))
    assert cell(row, "state") == "stands"
    assert row.state is State.STANDS
    assert cell(row, "place") == ""


def test_reviews_that_differ_are_to_be_settled(tmp_path: Path) -> None:
    row = row_of(reviewed(BY_ONE, BY_TWO_DIFFERENTLY), sight(tmp_path))
    assert cell(row, "state") == "differing"
    assert row.note == DIFFERING
    assert row.is_due


def test_who_settled_otherwise_is_told_to_those_who_may_know(tmp_path: Path) -> None:
    settled = (BY_ONE.sha256, BY_TWO_DIFFERENTLY.sha256)
    first = review(run("6.000"), reviewer="three", settles=settled)
    later = review(scratched("6.000"), reviewer="four", settles=settled)
    state = reviewed(BY_ONE, BY_TWO_DIFFERENTLY, first, later)
    assert "four settled it otherwise" in row_of(state, sight(tmp_path)).note
    assert "four" not in row_of(state, sight(tmp_path, "five")).note


def test_finishing_does_not_show_a_claim_whose_runs_are_open(tmp_path: Path) -> None:
    row = row_of(reviewed(BY_TWO_OPEN), sight(tmp_path, "two"))
    assert cell(row, "time") == HIDDEN


def test_who_has_begun_and_who_has_finished_is_told(tmp_path: Path) -> None:
    begun = review(reviewer="three", finished=False)
    settling = review(run("6.000"), reviewer="four", settles=("a", "b"))
    row = row_of(reviewed(BY_TWO, begun, settling), sight(tmp_path))
    assert cell(row, "who") == "two✓ three…"


def test_a_claim_out_of_reach_is_set_aside_and_says_why_to_those_who_may_know(
    tmp_path: Path,
) -> None:
    state = state_of(claim(time="8.000"), ())
    hidden, shown = row_of(state, sight(tmp_path)), row_of(state, sight(tmp_path, shown=True))
    assert cell(hidden, "state") == cell(shown, "state") == SET_ASIDE
    assert "7.000" not in hidden.note
    assert shown.note == "It does not beat the standing record of 7.000 s."


def test_what_is_wrong_with_a_session_is_said(tmp_path: Path) -> None:
    broken = ReviewSummary(claim="C-1", reviewer="two", problem="cannot be used: torn")
    row = row_of(state_of(claim(), [broken]), sight(tmp_path))
    assert row.note.startswith("the session by two cannot be used: torn.")


def test_all_is_shown_where_that_is_asked_for(tmp_path: Path) -> None:
    row = row_of(state_of(SECRET, [BY_TWO]), sight(tmp_path, shown=True))
    assert [cell(row, name) for name in ("competitor", "time", "record")] == list(SECRETS)


def test_a_review_begun_blind_stays_blind_where_claims_are_shown(tmp_path: Path) -> None:
    folder = DocketFolder(tmp_path)
    folder.sessions.mkdir()
    write_review(folder, SECRET, "one", begun_entries())
    own = review(reviewer="one", finished=False, claim_id="C-7")
    state = state_of(SECRET, [own])
    assert cell(row_of(state, sight(tmp_path, shown=True)), "time") == HIDDEN
    folder.session("C-7", "one").unlink()
    assert cell(row_of(state, sight(tmp_path, shown=True)), "time") == HIDDEN
    write_review(folder, SECRET, "one", begun_entries(), shown=True)
    assert cell(row_of(state, sight(tmp_path, shown=True)), "time") == "2.003"


def test_hostile_text_is_shown_as_text(tmp_path: Path) -> None:
    hostile = ListedClaim("C\x1b[2J", "3-3-3", "[red]U", "S\u202e", "6.0", "", "a.mp4")
    row = row_of(state_of(hostile, ()), sight(tmp_path, shown=True))
    assert cell(row, "claim") == "C<U+001B>[2J"
    assert cell(row, "division") == "[red]U"
    assert cell(row, "competitor") == "S<U+202E>"


def test_the_list_as_text_stands_in_columns(tmp_path: Path) -> None:
    placed = [Placed(state_of(claim("C-1"), ()), place=0), Placed(state_of(claim("C-22"), ()))]
    heading, first, second = docket_text(docket_rows(placed, sight(tmp_path))).splitlines()
    at = heading.index("event")
    assert first[at:].startswith("3-3-3")
    assert second[at:].startswith("3-3-3")
    assert first.startswith("1  C-1")


def test_a_ruled_claim_says_its_verdict_and_what_came_after(tmp_path: Path) -> None:
    umpire = review(run("6.000"), reviewer="three", settles=("one", "two"))
    agreed = state_of(claim(), [BY_ONE, BY_TWO])
    settled = replace(agreed, state=State.SETTLED, deciding=(umpire,))
    for state, words in (
        (agreed, "stands"),
        (settled, "stands, settled"),
        (replace(agreed, issued=2), "stands, issued"),
        (replace(settled, issued=1), "stands, issued"),
    ):
        row = row_of(state, sight(tmp_path))
        assert (cell(row, "state"), row.state) == (words, State.STANDS)
        assert row.is_to_issue == (not state.issued)
        assert ("was issued" in row.note) == bool(state.issued)


def test_what_was_issued_is_hidden_from_who_has_not_finished(tmp_path: Path) -> None:
    state = replace(state_of(claim(), [BY_ONE, BY_TWO]), issued=1)
    row = row_of(state, sight(tmp_path, "four"))
    assert (cell(row, "state"), row.is_to_issue) == (REVIEWED, False)
    assert "issued" not in row.note


def test_a_record_stays_hidden_while_another_claim_on_it_waits(tmp_path: Path) -> None:
    done = state_of(claim("C-1", "6.000"), [BY_ONE])
    waits = state_of(claim("C-2", "6.500"), ())
    first, second = docket_rows(arrange([done, waits]), sight(tmp_path))
    assert [cell(first, name) for name in ("time", "record")] == ["6.000", HIDDEN]
    assert cell(second, "record") == HIDDEN
    assert first.note == RECORD_HIDDEN
    assert "7.000" not in first.searched


def test_a_review_finished_with_a_run_left_open_keeps_the_record_hidden(tmp_path: Path) -> None:
    known = state_of(claim(), [BY_TWO])
    left_open = review(run("6.500", Standing.OPEN), reviewer="two", claim_id="C-2", made=False)
    waiting = state_of(claim("C-2", "6.500"), [left_open])
    first, second = docket_rows(arrange([known, waiting]), sight(tmp_path, "two"))
    assert [cell(first, name) for name in ("time", "record")] == ["6.000", HIDDEN]
    assert cell(second, "record") == HIDDEN


def test_a_claim_set_aside_does_not_tell_the_record_that_another_waits_on(tmp_path: Path) -> None:
    beaten = state_of(claim("C-1", "8.000"), [review(run("8.000"), reviewer="one")])
    waits = state_of(claim("C-2", "6.500"), ())
    rows = docket_rows(arrange([beaten, waits]), sight(tmp_path))
    assert all("7.000" not in row.note for row in rows)
    assert NO_FASTER in rows[1].note


AMENDED_BY_ONE = replace(BY_ONE, amending=True)
AMENDED_BY_TWO = replace(BY_TWO, amending=True)


def test_an_amendment_that_is_not_finished_is_shown_and_found(tmp_path: Path) -> None:
    row = row_of(reviewed(BY_ONE, AMENDED_BY_TWO), sight(tmp_path))
    assert cell(row, "who") == "one✓ two✓…"
    assert "amending" in row.searched
    assert row.note.startswith(
        "two is amending: a finished review was changed, and not finished again."
    )
    again = row_of(reviewed(BY_ONE, BY_TWO), sight(tmp_path))
    assert "amending" not in again.searched
    assert again.note == "A new record: 6.000 s stands, before 7.000 s."


def test_a_time_that_equals_the_record_says_so(tmp_path: Path) -> None:
    equal = ruled(claim("C-1", "7.0"), run("7.0"))
    assert row_of(equal, sight(tmp_path)).note == "7.0 s stands, and equals the record of 7.000 s."


def test_a_record_is_not_told_while_another_claim_on_it_waits_for_a_look(tmp_path: Path) -> None:
    waits = state_of(claim("C-2", "5.000"), ())
    rows = docket_rows(arrange([ruled(claim("C-1", "6.0"), run("6.0")), waits]), sight(tmp_path))
    assert all("record: " not in row.note for row in rows)


def test_nobody_whose_look_is_still_to_come_is_told_of_an_amendment(tmp_path: Path) -> None:
    told = [row_of(reviewed(two, BY_THREE), sight(tmp_path)) for two in (BY_TWO, AMENDED_BY_TWO)]
    assert told[0] == told[1]


def test_reviewers_are_told_of_their_own_amendment_whatever_it_leaves_open(tmp_path: Path) -> None:
    own = replace(AMENDED_BY_ONE, made=False, runs=(run("6.000", Standing.OPEN),))
    row = row_of(reviewed(own, AMENDED_BY_TWO), sight(tmp_path))
    assert cell(row, "time") == HIDDEN
    assert cell(row, "who") == "one✓… two✓"
    assert row.note.startswith("one is amending: ")


def test_the_record_of_another_division_does_not_matter(tmp_path: Path) -> None:
    done = state_of(claim("C-1", "6.000"), [BY_ONE])
    other = state_of(replace(claim("C-2", "6.500"), division="U14"), ())
    rows = docket_rows(arrange([done, other]), sight(tmp_path))
    assert [cell(row, "record") for row in rows] == ["7.000", HIDDEN]


def test_a_record_is_shown_to_all_where_claims_are_shown(tmp_path: Path) -> None:
    states = [state_of(claim(name), ()) for name in ("C-1", "C-2")]
    rows = docket_rows(arrange(states), sight(tmp_path, shown=True))
    assert [cell(row, "record") for row in rows] == ["7.000", "7.000"]


def test_a_claim_with_sessions_to_be_read_tells_nothing_even_where_claims_are_shown(
    tmp_path: Path,
) -> None:
    for state in (state_of(SECRET, ()), reviewed(BY_ONE, BY_TWO)):
        row = row_of(replace(state, is_read=False), sight(tmp_path, shown=True))
        assert cell(row, "state") == "to be read"
        assert row.state is None
        assert {cell(row, name) for name in ("time", "record", "competitor")} == {HIDDEN}
        assert UNREAD_NOTE in row.note
        assert not row.is_to_issue
