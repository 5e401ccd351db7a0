"""Settling where the clock started and stopped, which reviews may see apart though they agree."""

import pytest

from sessions.docket.claim_state import State
from sessions.errors import EntryRefused
from sessions.record.entries import (
    DifferenceSettled,
    Entry,
    Look,
    Reading,
    ReadingAccepted,
    Sighted,
)
from sessions.ruling.ruling import Standing
from tests.sessions.tags import place_of
from tests.tui.settling.conftest import Settle
from tests.tui.settling.settlers import (
    right_entries,
    seen_earlier,
    sighted_by,
    spot_at,
    state,
    truth,
)
from tui.settling.rows import around, captions, question

LAST = truth().runs[-1].run


def test_a_clock_that_was_sighted_apart_is_settled_though_both_rule_alike(settle: Settle) -> None:
    made = settle(right_entries(), seen_earlier(5))
    assert state(made.folder) is State.DIFFERING
    start = sighted_by("start")
    assert [d.subject for d in made.settlement.disputes] == ["start", "stop"]
    assert question(made.settlement) == f"Run {LAST}: Start of the clock"
    assert [words for words, _ in captions(made.settlement)] == [
        f"R1: seen in ({start - 1},{start}]", f"R2: seen in ({start - 6},{start - 5}]",
    ]  # fmt: skip
    assert made.settlement.frames == (start, start - 5)
    stretch = around(made.settlement)
    assert stretch is not None
    assert [(s.label, s.after, s.by) for s in stretch.spans] == [
        ("seen", start - 1, start), ("seen", start - 6, start - 5),
    ]  # fmt: skip
    with pytest.raises(EntryRefused, match="still open: look again, or take a side"):
        made.settlement.looked_again("nothing was tagged")
    made.settlement.take(0, "the pad is free in this frame only")
    made.settlement.take(0, "the pad is touched in this frame only")
    made.settlement.finish()
    assert made.settlement.review.ruling.runs[-1].standing is Standing.STANDS
    assert state(made.folder) is State.SETTLED


def look_at_the_end(saw: str, frame: int) -> Look:
    by = spot_at(frame)
    return Look.model_validate({"run": LAST, "checkpoint": "exact", "saw": saw, "by": by})


def read(entries: list[Entry]) -> str:
    """What the display reads in the last run."""
    return next(e.display for e in entries if isinstance(e, Reading) and e.run == LAST)


def with_marks(*marks: Look | Sighted, earlier: int = 0) -> list[Entry]:
    """A review with other marks in the last run, and its start seen so much earlier."""
    places = {place_of(mark) for mark in marks}
    return [*(e for e in seen_earlier(earlier, "start") if place_of(e) not in places), *marks]


def test_where_one_of_two_that_found_the_same_does_not_fit_the_other_is_taken(
    settle: Settle,
) -> None:
    """R2's start comes with a stop after the frame in which R1 saw that nothing was added."""
    stop = sighted_by("stop")
    later = Sighted(run=LAST, moment="stop", after=spot_at(stop), by=spot_at(stop + 1))
    early = with_marks(look_at_the_end("proven", stop), earlier=5)
    made = settle(
        [*early, ReadingAccepted(run=LAST, display=read(early), reason="the display was hit")],
        with_marks(later, look_at_the_end("refuted", stop)),
        with_marks(look_at_the_end("refuted", stop - 1)),
    )
    assert [d.subject for d in made.settlement.disputes] == ["exact", "start"]
    made.settlement.take(0, "nothing is added")
    assert made.settlement.take(1, "the pad is free here").startswith("Settled as R3 found it")
    made.settlement.finish()
    assert state(made.folder) is State.SETTLED


def test_a_start_that_is_sighted_otherwise_afterwards_is_settled_no_more(settle: Settle) -> None:
    made = settle(right_entries(), seen_earlier(5))
    made.settlement.take(1, "seen")
    assert made.settlement.left == 1
    review, start = made.settlement.review, sighted_by("start")
    moved = Sighted(run=LAST, moment="start", after=spot_at(start - 7), by=spot_at(start - 6))
    sighted = [e for e in review.session.live if isinstance(e.entry, Sighted)]
    line = next(e for e in sighted if (e.entry.run, e.entry.moment) == (LAST, "start"))  # type: ignore[union-attr]
    review.write(moved, replaces=line.seq)
    assert made.settlement.left == 2
    made.settlement.move(1)
    made.settlement.looked_again("the left hand only")
    (entry,) = [e.entry for e in review.session.live if isinstance(e.entry, DifferenceSettled)]
    assert [spot.frame for spot in entry.at] == [start - 6]
