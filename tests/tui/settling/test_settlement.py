"""Settling without a screen: from two reviews that differ to a claim that is settled."""

import re
from pathlib import Path

import pytest

from sessions.docket.claim_state import State
from sessions.errors import EntryRefused, ReviewClosed
from sessions.record.entries import (
    DifferenceSettled,
    Entry,
    Finished,
    Look,
    Note,
    Reading,
    Retracted,
    Settling,
    Shown,
    Sighted,
    Spot,
)
from sessions.record.journal import Journal
from sessions.record.recording import read_session
from sessions.ruling.ruling import Standing
from tests.tui.reviewing import living
from tests.tui.settling.conftest import Settle
from tests.tui.settling.settlers import (
    Settler,
    broken,
    docket_of,
    listed,
    one_fault,
    one_sided,
    other_matters,
    read,
    right_entries,
    seen_otherwise,
    settler,
    sighted_by,
    spot_at,
    state,
    truth,
    unclear,
)
from tui.bench.finishing import finish, reopen
from tui.bench.tagging import tag_checkpoint
from tui.settling.rows import around, captions, dispute_rows, frame_labels, question

LAST = truth().runs[-1].run


def frame_of(checkpoint: str) -> int:
    looks = (
        e
        for e in right_entries()
        if isinstance(e, Look) and (e.run, e.checkpoint) == (LAST, checkpoint)
    )
    return next(looks).by.frame


def entries_of(path: Path) -> list[Entry]:
    return [line.entry for line in read_session(path).lines]


def standings(made: Settler) -> list[Standing]:
    return [run.standing for run in made.settlement.review.ruling.runs if run.number is not None]


@pytest.mark.parametrize(
    ("place", "taken", "standing"), [(0, "R1", Standing.STANDS), (1, "R2", Standing.SCRATCH)]
)
def test_two_reviews_with_one_difference_are_settled(
    settle: Settle, place: int, taken: str, standing: Standing
) -> None:
    made = settle()
    assert state(made.folder) is State.DIFFERING
    assert made.settlement.left == 1
    assert standings(made)[-1] is Standing.OPEN
    said = made.settlement.take(place, " the thumb is clear in 300 ")
    assert said.startswith(f"Settled as {taken} found it: Let go")
    assert standings(made)[-1] is standing
    assert state(made.folder) is State.DIFFERING
    assert made.settlement.finish().startswith("Settled. ")
    assert state(made.folder) is State.SETTLED
    assert read(made.folder).placed[0].state.deciding[0].reviewer == "R3"


def test_the_settled_entry_names_who_why_and_which_frames(settle: Settle) -> None:
    made = settle()
    made.settlement.take(1, "the thumb is on the cup")
    frame = frame_of("f1.s1.let-go")
    (entry,) = [e for e in entries_of(made.path) if isinstance(e, DifferenceSettled)]
    assert entry.difference == f"{LAST}.f1.s1.let-go"
    assert (entry.taken, entry.reason) == ("R2", "the thumb is on the cup")
    assert [spot.frame for spot in entry.at] == [frame, frame + 1]
    assert read_session(made.path).header.reviewer == "R3"


def test_a_settling_begins_with_the_reviews_and_what_they_agree_on(settle: Settle) -> None:
    made = settle()
    first, *others = entries_of(made.path)
    assert isinstance(first, Settling)
    reviews = {r.reviewer: r.sha256 for r in read(made.folder).placed[0].state.reviews}
    reviews.pop("R3")
    assert {r.reviewer: r.sha256 for r in first.reviews} == reviews
    looks = [e for e in others if isinstance(e, Look)]
    right = [e for e in right_entries() if isinstance(e, Look)]
    missing = [e for e in right if e not in looks]
    assert [(e.run, e.checkpoint) for e in missing] == [(LAST, "f1.s1.let-go")]
    assert not made.settlement.review.session.unseen.ranges


def test_a_settling_that_was_torn_off_is_gone_on_with_whole(settle: Settle) -> None:
    made = settle()
    made.close()
    lines = made.path.read_bytes().splitlines(keepends=True)
    whole = entries_of(made.path)
    made.path.write_bytes(b"".join(lines[:9]))
    again = settler(made.folder)
    assert entries_of(made.path) == whole
    again.close()


def test_a_settled_difference_is_not_begun_anew(settle: Settle) -> None:
    made = settle()
    made.settlement.take(1, "seen")
    made.close()
    again = settler(made.folder)
    assert again.settlement.left == 0
    assert again.settlement.review.ruling == made.settlement.review.ruling
    again.close()


def test_a_difference_may_be_settled_otherwise_later(settle: Settle) -> None:
    made = settle()
    made.settlement.take(1, "seen")
    made.settlement.take(0, "seen better")
    assert standings(made)[-1] is Standing.STANDS
    living = [e.entry for e in made.settlement.review.session.live]
    (entry,) = [e for e in living if isinstance(e, DifferenceSettled)]
    assert (entry.taken, entry.reason) == ("R1", "seen better")


@pytest.mark.parametrize("reason", ["", "   ", "x" * 2001])
def test_without_a_reason_nothing_is_settled(settle: Settle, reason: str) -> None:
    made = settle()
    before = entries_of(made.path)
    with pytest.raises(EntryRefused, match="A reason is needed"):
        made.settlement.take(0, reason)
    assert entries_of(made.path) == before


def test_what_is_not_settled_keeps_the_settling_from_being_finished(settle: Settle) -> None:
    made = settle()
    with pytest.raises(EntryRefused, match=re.escape("1 difference is not settled yet.")):
        made.settlement.finish()
    made.settlement.take(0, "seen")
    made.settlement.finish()
    with pytest.raises(EntryRefused, match="finished already"):
        made.settlement.finish()
    assert [e.blind for e in entries_of(made.path) if isinstance(e, Finished)] == [False]


def test_what_is_settled_is_changed_only_once_a_reason_is_given(settle: Settle) -> None:
    made = settle()
    made.settlement.take(1, "seen")
    made.settlement.finish()
    with pytest.raises(ReviewClosed):
        made.settlement.take(0, "seen better")
    reopen(made.settlement.review, "The line was restored.")
    made.settlement.take(0, "seen better")
    assert state(made.folder) is State.SETTLED


def test_looking_again_settles_what_was_tagged_anew(settle: Settle) -> None:
    made = settle()
    review = made.settlement.review
    with pytest.raises(EntryRefused, match="still open: look again, or take a side"):
        made.settlement.looked_again("nothing was tagged")
    assert review.run_id == LAST
    step = review.checkpoint
    assert step is not None
    assert step.id == "f1.s1.let-go"
    review.go(frame_of("f1.s1.let-go") + 1)
    tag_checkpoint(review, step, "proven")
    assert made.settlement.looked_again("clear in the frame after").startswith("Settled anew: ")
    entry = made.settlement.settled(made.settlement.disputes[0])
    assert entry is not None
    assert entry.taken is None
    assert [spot.frame for spot in entry.at] == [frame_of("f1.s1.let-go") + 1]
    made.settlement.finish()
    assert state(made.folder) is State.SETTLED


def test_one_accepted_side_is_one_undo_and_one_redo(settle: Settle) -> None:
    made = settle()
    settlement = made.settlement
    began = entries_of(made.path)
    before = living(settlement.review)
    settlement.take(1, "seen")
    after = living(settlement.review)
    assert settlement.left == 0
    assert len(entries_of(made.path)) > len(began) + 1
    assert settlement.undo() == (
        'Undone: settling "Let go: 1st 3" as R2 found it at frame '
        f"{frame_of('f1.s1.let-go')} and {frame_of('f1.s1.let-go') + 1}."
    )
    assert (settlement.left, living(settlement.review)) == (1, before)
    assert settlement.redo().startswith('Done again: settling "Let go: 1st 3" as R2 found it')
    assert settlement.left == 0
    assert sorted(map(str, living(settlement.review))) == sorted(map(str, after))
    settlement.undo()
    for step in (settlement.undo, settlement.review.undo):
        with pytest.raises(EntryRefused, match="nothing to undo"):
            step()
    assert settlement.settled(settlement.disputes[0]) is None


def test_that_it_settles_is_never_undone(settle: Settle) -> None:
    made = settle()
    for _ in range(len(entries_of(made.path))):
        try:
            made.settlement.review.undo()
        except EntryRefused:
            break
    assert any(isinstance(line.entry, Settling) for line in made.settlement.review.session.live)


def test_a_settling_is_not_finished_as_a_review_is(settle: Settle) -> None:
    made = settle()
    with pytest.raises(EntryRefused, match="finished where its differences are listed"):
        finish(made.settlement.review)


def test_a_review_that_was_changed_blocks_and_is_named(settle: Settle) -> None:
    made = settle()
    path = made.folder.session("C-1", "R2")
    with Journal.reopen(path) as journal:
        journal.append(Note(text="once more", at=Spot(frame=0, pts=0)))
    before = entries_of(made.path)
    with pytest.raises(EntryRefused, match=r"C-1\.R2\.session\.jsonl was changed"):
        made.settlement.take(0, "seen")
    with pytest.raises(EntryRefused, match=r"C-1\.R2\.session\.jsonl was changed"):
        made.settlement.finish()
    path.unlink()
    with pytest.raises(EntryRefused, match="was changed"):
        made.settlement.check_open()
    assert entries_of(made.path) == before


AT_START = ("start.flat", "start.grip", "start.still")


def of_start(first: int, saw: str) -> list[Entry]:
    """A review that sees the start of the last run in a frame, and holding and moving so.

    It reads a time that fits a start in the true frame as well as one in the frame after.
    """
    display = f"{(sighted_by('stop') - sighted_by('start') - 0.5) / 60:.3f}"
    changed: list[Entry] = []
    for entry in right_entries():
        if isinstance(entry, Sighted) and (entry.run, entry.moment) == (LAST, "start"):
            entry = Sighted(run=LAST, moment="start", after=spot_at(first - 1), by=spot_at(first))
        elif isinstance(entry, Look) and entry.run == LAST and entry.checkpoint in AT_START:
            kept = entry.checkpoint == "start.flat" or saw == "proven"
            by = spot_at(first if kept else first - 1)
            entry = Look(
                run=LAST, checkpoint=entry.checkpoint, saw="proven" if kept else "refuted", by=by
            )
        elif isinstance(entry, Reading) and entry.run == LAST:
            entry = entry.model_copy(update={"display": display})
        changed.append(entry)
    return changed


def test_what_contradicts_a_side_taken_before_is_refused_whole(settle: Settle) -> None:
    """R2 saw the start a frame earlier: one's holding and the other's moving do not mix."""
    first = sighted_by("start")
    made = settle(of_start(first + 1, "refuted"), of_start(first, "proven"))
    keys = [dispute.subject for dispute in made.settlement.disputes]
    assert keys == ["start.grip", "start.still"]
    made.settlement.take(1, "seen")
    lines = entries_of(made.path)
    with pytest.raises(EntryRefused, match="contradicts what is settled already"):
        made.settlement.take(0, "seen")
    assert entries_of(made.path) == lines
    made.settlement.take(1, "seen")
    made.settlement.finish()


def test_what_nobody_looked_at_must_be_looked_at_before_it_is_finished(settle: Settle) -> None:
    """A slower run that both left open does not hinder; the one that decides would."""
    drop = seen_otherwise("start.grip", lambda _: None, run=LAST)
    fault = [
        broken(e) if isinstance(e, Look) and e.checkpoint == "f1.s1.let-go" else e for e in drop
    ]
    made = settle(right_entries(), fault)
    assert all(d.subject == "f1.s1.let-go" for d in made.settlement.disputes)
    for _ in made.settlement.disputes:
        made.settlement.take(0, "seen")
    made.settlement.review.retract(
        [
            line
            for line in made.settlement.review.session.live
            if isinstance(line.entry, Look)
            and (line.entry.run, line.entry.checkpoint) == (LAST, "start.grip")
        ]
    )
    with pytest.raises(EntryRefused, match=f"Nothing differs, but run {LAST} is still open"):
        made.settlement.finish()


def test_every_matter_can_be_settled(settle: Settle) -> None:
    made = settle(right_entries(), other_matters())
    subjects = [d.subject for d in made.settlement.disputes]
    assert subjects == ["started-over", "fumbles", "reading", "cup.mark.1"]
    for subject in subjects:
        current = made.settlement.current
        assert current is not None
        assert current.subject == subject
        assert len(captions(made.settlement)) == 2
        assert around(made.settlement) is not None
        made.settlement.take(0, "seen")
    assert made.settlement.review.cup == 1
    assert standings(made)[-1] is Standing.STANDS
    made.settlement.finish()
    assert state(made.folder) is State.SETTLED


def test_looking_again_at_what_is_no_checkpoint_names_no_frame(settle: Settle) -> None:
    made = settle(right_entries(), other_matters())
    made.settlement.looked_again("it was never started over")
    (entry,) = [e for e in entries_of(made.path) if isinstance(e, DifferenceSettled)]
    assert (entry.difference, entry.at) == (f"{LAST}.started-over", ())


def test_a_run_that_one_did_not_count_is_settled_first(settle: Settle) -> None:
    without = [e for e in right_entries() if getattr(e, "run", None) != LAST]
    made = settle(right_entries(), [*without, Shown(ranges=((0, truth().frames - 1),))])
    (dispute,) = made.settlement.disputes
    assert dispute.subject == "run"
    assert captions(made.settlement)[1][0] == "R2: no run here"
    assert made.settlement.is_one_frame
    made.settlement.take(0, "it is an attempt")
    assert standings(made)[-1] is Standing.STANDS
    made.settlement.take(1, "it is none")
    assert made.settlement.review.session.run(LAST) is None


def test_the_other_differences_are_stepped_through_round_the_ends(settle: Settle) -> None:
    made = settle(right_entries(), other_matters())
    here = []
    for _ in range(5):
        here.append(made.settlement.at)
        made.settlement.move(1)
    assert here == [0, 1, 2, 3, 0]
    made.settlement.move(-1)
    assert made.settlement.at == 0
    assert [row.here for row in dispute_rows(made.settlement)] == [True, False, False, False]


def test_where_only_one_looked_nothing_is_left_but_to_finish(settle: Settle) -> None:
    made = settle(one_sided(), right_entries())
    settlement = made.settlement
    assert (settlement.disputes, settlement.left, settlement.current) == ((), 0, None)
    settlement.move(1)
    assert around(settlement) is None
    assert captions(settlement) == ()
    assert question(settlement).startswith("No checkpoint differs")
    assert frame_labels(settlement) == ("frame 0, the one before", "frame 0")
    with pytest.raises(EntryRefused, match="No checkpoint differs"):
        settlement.take(0, "seen")
    settlement.finish()
    assert state(made.folder) is State.SETTLED


def test_a_third_opinion_is_told(settle: Settle) -> None:
    frame = frame_of("f1.s1.let-go")
    made = settle(right_entries(), one_fault(), seen_otherwise("f1.s1.let-go", unclear))
    told = question(made.settlement)
    assert told.endswith(f"Also: R3 says cannot tell in ({frame - 1},{frame}].")
    made.settlement.take(1, "seen")
    assert state(made.folder) is State.DIFFERING


def test_pictures_are_of_the_frames_that_the_sides_name(settle: Settle) -> None:
    made = settle()
    frame = frame_of("f1.s1.let-go")
    assert made.settlement.frames == (frame, frame + 1)
    assert frame_labels(made.settlement) == (
        f"frame {frame}, named by R1", f"frame {frame + 1}, named by R2",
    )  # fmt: skip
    stretch = around(made.settlement)
    assert stretch is not None
    assert (stretch.first, stretch.last) == (frame - 4, frame + 5)
    assert [(s.reviewer, s.label, s.state) for s in stretch.spans] == [
        *(("R1", label, "proven") for label in ("met", "due")),
        *(("R2", label, "fault") for label in ("met", "due")),
    ]  # fmt: skip


def test_only_reviews_that_differ_are_begun_to_be_settled(tmp_path: Path) -> None:
    folder = docket_of(tmp_path, right_entries(), one_fault(), claims=[listed()])
    made = settler(folder, "R1")
    assert made.path.name == "C-1.R1.settling.session.jsonl"
    assert not any(isinstance(e, Retracted) for e in entries_of(made.path))
    made.close()
