"""Searching and choosing in the list, however long it is."""

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sessions.docket.claim_state import state_of
from sessions.docket.docket import DocketFolder
from sessions.docket.work_order import arrange
from tests.sessions.docket.docket_samples import review, run
from tests.tui.docket.docketing import listed
from tui.docket.rows import DocketRow, DocketView, Sight, docket_rows


def rows(count: int, event: str = "3-3-3") -> tuple[DocketRow, ...]:
    states = [state_of(listed(f"C-{n:03}", f"{n + 1}.000", event), ()) for n in range(count)]
    return docket_rows(arrange(states), Sight("R1", DocketFolder(Path("nowhere"))))


@pytest.fixture
def view() -> DocketView:
    made = DocketView()
    made.update(rows(20) + rows(5, "cycle"))
    return made


def found(view: DocketView) -> list[str]:
    return [row.claim.claim for row in view.found]


def test_every_word_typed_must_be_found(view: DocketView) -> None:
    view.search("CYC 00")
    assert found(view) == [f"C-00{n}" for n in range(5)]
    view.search("cyc u10 untouched 003")
    assert found(view) == ["C-003"]
    view.search("scratch")
    assert found(view) == []
    assert view.chosen is None


def test_words_of_a_state_find_claims_in_it() -> None:
    view = DocketView()
    by_two = review(run("6.000"), reviewer="two")
    states = [state_of(listed("C-1", "6.000"), [by_two]), state_of(listed("C-2", "6.500"), ())]
    view.update(docket_rows(arrange(states), Sight("R1", DocketFolder(Path("nowhere")))))
    view.search("second")
    assert found(view) == ["C-1"]


def test_a_time_or_competitor_that_is_hidden_cannot_be_searched_for(view: DocketView) -> None:
    for secret in ("3.000", "S-C-002", "9.000"):
        view.search(secret)
        assert found(view) == []


def test_the_chosen_claim_stays_chosen_through_search_and_change(view: DocketView) -> None:
    view.choose("C-012")
    view.search("012")
    assert view.chosen is not None
    view.search("")
    assert view.chosen.claim.claim == "C-012"
    view.update(rows(15))
    assert view.chosen.claim.claim == "C-012"
    view.update(rows(5))
    assert view.chosen.claim.claim == "C-000"


def test_a_claim_that_is_not_found_cannot_be_chosen(view: DocketView) -> None:
    view.choose("C-002")
    view.choose("none")
    assert view.chosen is not None
    assert view.chosen.claim.claim == "C-002"


@given(
    st.integers(0, 40), st.integers(1, 12), st.lists(st.integers(-50, 50), min_size=1, max_size=9)
)
def test_the_chosen_row_is_always_in_sight(count: int, height: int, moves: list[int]) -> None:
    view = DocketView()
    view.update(rows(count))
    for move in moves:
        view.move(move)
        window = view.window(height)
        assert len(window) == min(height, count)
        assert view.chosen is None or view.chosen in window
