"""What the rows of random dockets tell a reviewer: never what others found before they are done."""

from dataclasses import replace
from pathlib import Path

from hypothesis import given

from sessions.docket.claim_state import VERDICTS, State, state_of
from sessions.docket.docket import DocketFolder
from sessions.docket.work_order import Placed, arrange, compared
from sessions.ruling.ruling import Standing
from sessions.sanitize import sanitize
from tests.proofs import examples
from tests.sessions.docket.docket_samples import claim, review, ruled, run, scratched
from tests.sessions.docket.random_dockets import Drawn, dockets, names_of
from tui.docket.rows import NO_FASTER, DocketRow, DocketView, Sight, docket_rows, docket_text

FOLDER = DocketFolder(Path("docket"))
FOUND = {*map(str, VERDICTS), str(State.DIFFERING), str(State.SETTLED), "otherwise", "issued"}
"""Words that tell what came of a claim."""


@examples(few=25, many=100)
@given(dockets())
def test_nobody_is_told_of_a_claim_before_their_own_review_of_it_is_done(drawn: Drawn) -> None:
    placed = arrange(compared(state_of(listed, drawn.of(listed)) for listed in drawn.claims))
    for name in names_of(drawn):
        rows = docket_rows(placed, Sight(name, FOLDER))
        hidden = [one for one in placed if not is_done(one, name)]
        for one, row in zip(placed, rows, strict=True):
            if one in hidden:
                check_hidden(one, row)
            check_others_hidden(row, [other for other in hidden if other is not one])
        check_search_and_list(rows, hidden)


def is_done(placed: Placed, name: str) -> bool:
    """Whether a reviewer finished their own review of a claim, with nothing left open in it."""
    own = (r for r in placed.state.reviews if r.reviewer == name and not r.settles)
    return any(
        one.finished and one.made and all(r.standing is not Standing.OPEN for r in one.runs)
        for one in own
    )


def check_hidden(placed: Placed, row: DocketRow) -> None:
    """Nothing in a row, nor in what is said of it, tells what the claim is or what came of it."""
    listed = placed.state.claim
    told = [*row.cells[4:8], row.note]
    for secret in (listed.time, listed.record, listed.competitor):
        assert not secret or not any(secret in text for text in told)
    assert not FOUND & {row.cells[7], *row.cells[7].split(", ")}
    assert not row.is_to_issue
    assert row.state in (None, State.UNTOUCHED, State.OPEN, State.AWAITING)


def check_others_hidden(row: DocketRow, hidden: list[Placed]) -> None:
    """What is said of one claim does not tell what came of another."""
    for other in hidden:
        listed = other.state.claim
        assert listed.competitor not in row.note
        assert f"by claim {sanitize(listed.claim)}" not in row.note
        assert sanitize(listed.claim) not in row.note.partition("the ruling on ")[2]


def check_search_and_list(rows: tuple[DocketRow, ...], hidden: list[Placed]) -> None:
    view = DocketView()
    view.update(rows)
    text = docket_text(rows)
    for one in hidden:
        listed = one.state.claim
        assert listed.competitor not in text
        for secret in (listed.competitor, str(one.state.verdict)):
            view.search(secret)
            assert listed not in [row.claim for row in view.found]


def test_the_time_that_stands_by_a_claim_is_not_told_to_who_has_not_finished_that_claim() -> None:
    fast, slow = claim("C-1", "5.731", "9.000"), claim("C-2", "6.113", "9.000")
    own = [review(scratched("6.113"), reviewer=name, claim_id="C-2") for name in ("R1", "two")]
    placed = arrange([ruled(fast, run("5.731")), state_of(slow, own[:1])])
    assert docket_rows(placed, Sight("R1", FOLDER))[1].note == NO_FASTER
    placed = arrange([ruled(fast, run("5.731")), state_of(slow, own[1:])])
    assert "5.731 s, which stands by claim C-1" in docket_rows(placed, Sight("two", FOLDER))[1].note


def test_a_contradiction_is_not_told_to_who_has_not_finished_the_other_claim() -> None:
    tape = run("5.731"), run("6.113", number=2)
    one, other = claim("C-1", "5.731"), claim("C-2", "6.113")
    placed = arrange(compared([ruled(one, *tape), ruled(other, tape[0], scratched("6.113", 2))]))
    assert placed[0].state.at_odds == ("C-2",)
    both = docket_rows(placed, Sight("two", FOLDER))
    assert "The ruling on C-2 is of the same footage and says otherwise" in both[0].note
    mine = replace(placed[1], state=state_of(other, placed[1].state.reviews[:1]))
    notes = [row.note for row in docket_rows([placed[0], mine], Sight("two", FOLDER))]
    assert "otherwise" not in notes[0]
