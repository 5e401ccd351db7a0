"""Three opinions on one matter, and what differs without need to be settled."""

import pytest

from sessions.errors import EntryRefused
from sessions.record.entries import DifferenceSettled, Entry, Look
from sessions.record.recording import read_session
from tests.tui.settling.conftest import Settle
from tests.tui.settling.settlers import (
    one_fault,
    right_entries,
    seen_otherwise,
    truth,
    unclear,
)
from tui.settling.rows import question, remark_lines

LAST = truth().runs[-1].run


def test_a_third_opinion_can_be_turned_to_and_taken(settle: Settle) -> None:
    made = settle(right_entries(), one_fault(), seen_otherwise("f1.s1.let-go", unclear))
    settlement = made.settlement
    assert (settlement.pairs, settlement.sides) == (((0, 1), (0, 2), (1, 2)), (0, 1))
    settlement.show_others()
    settlement.show_others()
    assert settlement.sides == (1, 2)
    assert "Also: R1 says in order" in question(settlement)
    settlement.take(1, "Motion blur hides it.")
    entry = read_session(made.path).lines[-1].entry
    assert isinstance(entry, DifferenceSettled)
    assert (entry.taken, entry.reason) == ("R3", "Motion blur hides it.")


def test_the_sides_come_round_and_begin_anew_at_the_next_difference(settle: Settle) -> None:
    made = settle(right_entries(), one_fault(), seen_otherwise("f1.s1.let-go", unclear))
    for _ in range(3):
        made.settlement.show_others()
    assert made.settlement.sides == (0, 1)
    made.settlement.show_others()
    made.settlement.move(1)
    assert made.settlement.sides == (0, 1)


def test_where_two_findings_differ_there_are_no_other_sides(settle: Settle) -> None:
    with pytest.raises(EntryRefused, match="there are no other sides"):
        settle().settlement.show_others()


def test_what_needs_no_settling_is_listed_with_what_each_review_says(settle: Settle) -> None:
    def wider(look: Look) -> Entry:
        earlier = look.by.model_copy(update={"frame": look.by.frame + 1, "pts": look.by.pts + 1})
        return look.model_copy(update={"by": earlier})

    made = settle(seen_otherwise("start.flat", wider), one_fault())
    brackets = [line for line in remark_lines(made.settlement) if "(bracket)" in line]
    looks = (e for e in right_entries() if isinstance(e, Look) and e.checkpoint == "start.flat")
    frame = next(look.by.frame for look in looks if look.run == LAST)
    assert any(f"R1: in order at frame {frame + 1}" in line for line in brackets)
    assert all("R2: " in line for line in remark_lines(made.settlement))
