"""Settling any reviews: what is settled says what the sides said, and what all reviews say.

The expectations are read off the rulings of the reviews, by plain rules written here again.
"""

from collections.abc import Iterable
from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sessions.errors import EntryRefused
from sessions.evidence.sighting import Sighting
from sessions.record.entries import Look, SettledReview, Settling, Sighted
from sessions.record.session import Run, Session
from sessions.ruling.brackets import Outcome
from sessions.ruling.checker import check_run
from sessions.ruling.judge import rule
from sessions.ruling.ruling import RuledRun, Ruling
from sessions.settling.differences import ComparedRun, Difference, Matter, differences
from tests.proofs import examples
from tests.sessions.samples import faultless_run, spot
from tests.sessions.settling.near_reviews import (
    APART_CHANGES,
    CLOCK_CHANGES,
    Tags,
    near_reviews,
    truth,
)
from tests.sessions.settling.paper import PaperJournal
from tui.bench.review import Review
from tui.settling.settlement import Settlement, begin

CLOCK = "clock"
OF_CLOCK = (Matter.READING, Matter.CLOCK, Matter.INSTANT)
ALIKE = ("reading", CLOCK, "record", "number")
"""Subjects that are compared otherwise than by an outcome."""

thoroughly = examples(few=8, many=50)
randoms = st.randoms(use_true_random=False)


@thoroughly
@given(st.one_of(near_reviews(), near_reviews(CLOCK_CHANGES)), randoms)
def test_whatever_is_taken_the_settling_says_what_the_sides_and_what_all_said(
    reviews: tuple[Tags, ...], random: Random
) -> None:
    made = settlement_of(reviews)
    check(made)
    for _ in range(2 * len(made.disputes)):
        take(made, random.randrange(len(made.disputes)), random.randrange(2), random.randrange(3))
        check(made)


@thoroughly
@given(st.one_of(near_reviews(most=2), near_reviews(CLOCK_CHANGES, most=2)), randoms)
def test_of_two_reviewers_one_can_be_followed_to_the_end_whatever_was_taken_before(
    reviews: tuple[Tags, ...], random: Random
) -> None:
    made = settlement_of(reviews)
    disputes, place = range(len(made.disputes)), random.randrange(2)
    for _ in disputes:
        take(made, random.choice(disputes), random.randrange(2), 0)
    for at in (*disputes, *disputes):
        if not take(made, at, place, 0):
            assert made.current is not None
            assert not can_be_open(made.current) or made.looked_again("it was looked at again")
    assert made.left == 0


@thoroughly
@given(
    st.one_of(near_reviews(most=2), near_reviews(CLOCK_CHANGES, 2), near_reviews(APART_CHANGES, 2)),
    randoms,
)
def test_any_two_reviews_can_be_settled_by_taking_sides(
    reviews: tuple[Tags, ...], random: Random
) -> None:
    """Whoever is followed, whatever was taken before: nothing is left open, and all can be true."""
    for place in (0, 1):
        made = settlement_of(reviews)
        order = list(range(len(made.disputes)))
        random.shuffle(order)
        for at in order if random.randrange(2) else ():
            take(made, at, random.randrange(2), 0)
        for at in (*order, *order):
            take(made, at, place, 0)
        assert made.left == 0
        made.check_settled()
        assert clashes(made.review.session) <= clashes(reviews[place].session)


def clashes(session: Session) -> set[frozenset[object]]:
    """The tags of each run that cannot all be true by the order of its moments."""
    checked = (check_run(session, run) for run in session.runs)
    return {frozenset(clash.tags) for found in checked for clash in found.clashes}


def test_a_late_start_and_an_early_stop_that_leave_no_time_for_the_run_are_refused() -> None:
    """Start of the one and stop of the other, where all that both agree on needs more time."""
    true = truth(("3-3",), runs=1)
    later = Tags(true.header, (*true.entries[:2], *faultless_run(true.header.event, 1, 30)))
    made = settlement_of([true, later])
    assert [dispute.subject for dispute in made.disputes] == ["start", "stop"]
    said = made.take(1, "the hands were down")
    assert "So that it fits, reviewer-1's frames are taken for what all agree on, too" in said
    assert not take(made, 1, 0, 0)
    assert take(made, 1, 1, 0)
    made.check_settled()


def test_tags_settled_before_that_the_order_of_the_run_excludes_are_named() -> None:
    true = truth(("3-3",), runs=1)
    hands, order = "f1.d1.two-hands", "f1.order"
    one = true.tagged(Look(run=1, checkpoint=hands, saw="unproven", after=spot(66), by=spot(67)))
    two = true.tagged(Look(run=1, checkpoint=hands, saw="refuted", by=spot(62)))
    two = two.tagged(Look(run=1, checkpoint=order, saw="refuted", by=spot(65)))
    made = settlement_of([one, two])
    assert [dispute.subject for dispute in made.disputes] == [hands, order]
    assert take(made, 0, 0, 0)
    why = "cannot be true beside what is settled already: .*no take-down comes before the first"
    with pytest.raises(EntryRefused, match=why):
        made.take(1, "it was blurred")
    assert take(made, 0, 1, 0)
    assert take(made, 1, 1, 0)


def test_a_finding_that_follows_from_what_was_not_taken_is_refused() -> None:
    """Where hands let go is sighted, and that the take-down had begun is a fault of its own."""
    true = truth(("3-3",), runs=1)
    let_go = Sighted(run=1, moment="f1.s2.let_go", after=spot(59), by=spot(60))
    begun = Look(run=1, checkpoint="f1.d1.two-hands", saw="refuted", by=spot(58))
    looks = [e for e in true.entries if isinstance(e, Look) and e.checkpoint == "f1.s2.let-go"]
    made = settlement_of([true, true.but(looks, let_go).tagged(begun)])
    assert [dispute.subject for dispute in made.disputes] == ["f1.s2.let-go", "f1.d1.two-hands"]
    with pytest.raises(EntryRefused, match="follows from a tag that is not taken over"):
        made.take(1, "the take-down had begun")
    assert made.left == 2
    made.move(1)
    made.take(1, "one hand was on it")
    made.take(1, "the take-down had begun")
    assert made.left == 0


def can_be_open(dispute: Difference) -> bool:
    """Whether a difference needs nothing tagged to be settled by looking again."""
    return dispute.matter in (Matter.RUN, Matter.STARTED_OVER, Matter.FUMBLES)


def settlement_of(reviews: Iterable[Tags]) -> Settlement:
    sessions = [review.session for review in reviews]
    found = differences(sessions)
    journal = PaperJournal(sessions[0].header.model_copy(update={"reviewer": "S"}))
    hashes = zip(found.reviewers, "abc", strict=False)
    named = (SettledReview(reviewer=name, sha256=letter * 64) for name, letter in hashes)
    begin(journal, Settling(reviews=tuple(named)), found)
    return Settlement(Review(journal, lambda frame: spot(frame).pts, lambda _: 0), found)


def take(made: Settlement, at: int, place: int, turns: int) -> bool:
    """Take a side of a difference; whether it was taken. What is refused writes nothing."""
    made.move(at - made.at)
    for _ in range(turns if len(made.pairs) > 1 else 0):
        made.show_others()
    before = list(made.review.lines)
    try:
        made.take(place, "so it was seen")
    except EntryRefused:
        assert made.review.lines == before
        made.move(at - made.at)
        return False
    return True


# -- what must hold of a settling at any time


def check(made: Settlement) -> None:
    session, ruling = made.review.session, made.review.ruling
    for dispute in made.disputes:
        entry = made.settled(dispute)
        if entry is not None and entry.taken is not None:
            side = made.found.reviewers.index(entry.taken)
            row = None if dispute.run is None else made.found.row(dispute.run)
            theirs = row.runs[side] if row is not None else None
            said = word(dispute, made.found.sessions[side], theirs.id if theirs else None)
            assert word(dispute, session, dispute.run) == said
    for row in made.found.rows:
        if row.is_counted:
            check_run_of(made, row, session, ruling)


def word(dispute: Difference, session: Session, run_id: int | None) -> object:
    """What a session says of a difference, in one of its runs."""
    ruling, run = rule(session), session.run(run_id or 0)
    if dispute.run is None:
        return next(c.outcome for c in ruling.cups if dispute.subject == f"cup.mark.{c.cup}")
    if dispute.matter is Matter.RUN:
        return run is not None and run.counts
    assert run is not None
    ruled = run_of(ruling, run.id)
    if dispute.matter is Matter.STARTED_OVER:
        return sorted(entry.at.frame for entry in run.started_over)
    if dispute.matter is Matter.FUMBLES:
        return sorted((f.fumble, f.stack, f.phase) for f in run.fumbles)
    if dispute.matter is Matter.READING:
        return ruled.time
    if dispute.matter is Matter.INSTANT:
        return sightings(run, dispute.subject)
    reasons = {entry.reason for entry in run.accepted} if dispute.matter is Matter.CLOCK else set()
    return outcomes(ruled).get(dispute.subject), reasons


def check_run_of(made: Settlement, row: ComparedRun, session: Session, ruling: Ruling) -> None:
    run = session.run(row.number)
    assert run is not None
    checked = check_run(session, run)
    assert not checked.brackets.conflicts
    disputed = {d.subject for d in made.disputes if d.run == row.number}
    ours = outcomes(run_of(ruling, run.id))
    theirs = [outcomes(ruled) for ruled, _ in row.whole]
    for subject in set(theirs[0]).intersection(*theirs) - set(ALIKE) - disputed:
        if subject.startswith("x") and "fumbles" in disputed:
            continue
        said = {found[subject] for found in theirs}
        told = {outcome for outcome in said if not outcome.is_open}
        if len(said) == 1 and told:
            assert {ours[subject]} == told
        else:
            assert ours[subject].is_open or ours[subject] in told
    times = {ruled.time for ruled, _ in row.whole}
    if len(times) == 1 and not disputed & {"reading", CLOCK}:
        assert {run_of(ruling, run.id).time} == times
    for moment in checked.brackets.sighted:
        assert sightings(run, moment) in [sightings(theirs, moment) for _, theirs in row.whole]
    if not made.left:
        check_reasons(made, row, {entry.reason for entry in run.accepted})


def check_reasons(made: Settlement, row: ComparedRun, reasons: set[str]) -> None:
    """A reason why display and picture part is of a review whose clock was taken, or agreed."""
    clocks = [d for d in made.disputes if d.run == row.number and d.matter in OF_CLOCK]
    if not clocks or all(d.matter is Matter.INSTANT for d in clocks):
        assert reasons <= {e.reason for _, run in row.whole for e in run.accepted}
        return
    taken = {entry.taken for d in clocks if (entry := made.settled(d)) is not None}
    sides = zip(made.found.reviewers, row.whole, strict=True)
    assert reasons <= {e.reason for name, (_, run) in sides if name in taken for e in run.accepted}


def run_of(ruling: Ruling, run_id: int) -> RuledRun:
    return next(run for run in ruling.runs if run.run == run_id)


def outcomes(ruled: RuledRun) -> dict[str, Outcome]:
    return {finding.checkpoint: finding.outcome for finding in ruled.findings}


def sightings(run: Run, moment: str) -> set[tuple[str | None, Sighting]]:
    """The brackets of an instant as the hands were sighted, what looks say of it left aside."""
    marks = (mark for mark in run.marks if isinstance(mark, Sighted) and mark.moment == moment)
    return {(mark.hand, mark.bracket) for mark in marks}
