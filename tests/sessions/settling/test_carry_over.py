"""A reviewer's own tags taken over for another claim on the same footage."""

import pytest

from sessions.record.entries import (
    Entry,
    Finished,
    Note,
    Reopened,
    SettledReview,
    Settling,
    TakenOver,
)
from sessions.record.header import Claim, Header
from sessions.record.session import Session
from sessions.ruling.judge import rule
from sessions.settling.carry_over import may_take_over, taken_over
from tests.sessions.samples import cups_and_frames, header, session_of, spot
from tests.sessions.tags import session_from

DIGEST = "d" * 64
CLEAN = "clean 1 at 0"
DONE = Finished(blind=True)
SETTLING = Settling(
    reviews=tuple(SettledReview(reviewer=f"R{n}", sha256=f"{n}" * 64) for n in (1, 2))
)


def head(named: str | None, **changes: object) -> Header:
    return header().model_copy(update={"claim": Claim(id=named), **changes})


NEW = head("C-07")


def source(*after: Entry, **changes: object) -> Session:
    first = head("C-05", **changes)
    tagged = session_from(first, [CLEAN], *cups_and_frames(first))
    return session_of(first, [*(line.entry for line in tagged.lines), *after])


def test_a_finished_blind_review_of_the_same_footage_may_be_taken_over() -> None:
    assert may_take_over(source(DONE), NEW)


@pytest.mark.parametrize(
    "other",
    [
        source(),
        source(Finished(blind=False)),
        source(DONE, Reopened(reason="a slip"), Finished(blind=False)),
        source(DONE, SETTLING),
        source(DONE, reviewer="reviewer-2"),
        source(DONE, claim=Claim(id="C-07")),
        source(DONE, claim=Claim()),
        source(DONE, claim=Claim(id="C-05", time="4.004")),
        source(DONE, claim=Claim(id="C-05", competitor="K-1")),
        source(DONE, event=header("cycle").event),
        source(DONE, footage=header().footage.model_copy(update={"sha256": DIGEST})),
    ],
    ids=[
        "not finished", "finished not blind", "finished anew, no longer blind", "settling",
        "another reviewer", "same claim",
        "no claim", "time shown", "competitor shown", "another event", "other footage",
    ],
)  # fmt: skip
def test_nothing_else_may_be_taken_over(other: Session) -> None:
    assert not may_take_over(other, NEW)


def test_the_new_session_says_where_its_tags_are_from_and_rules_alike() -> None:
    old = source(Note(text="mine", at=spot(3)), DONE)
    origin, *copies = taken_over(old, DIGEST)
    assert origin == TakenOver(claim="C-05", sha256=DIGEST)
    assert not any(isinstance(entry, Finished | Note) for entry in copies)
    new = session_of(NEW, [origin, *copies])
    assert rule(new).runs == rule(old).runs
    assert rule(new).cups == rule(old).cups
    assert new.shown == old.shown


def test_what_was_taken_back_or_amended_is_not_taken_over() -> None:
    first = head("C-05")
    changed = session_from(first, [CLEAN, "look 1 start.grip refuted 8", "drop 1 exact"])
    old = session_of(first, [*(line.entry for line in changed.live), DONE])
    direct = session_from(first, [CLEAN, "look 1 start.grip refuted 8", "drop 1 exact"], DONE)
    assert taken_over(old, DIGEST)[1:] == tuple(line.entry for line in changed.live)
    assert taken_over(direct, DIGEST) == (TakenOver(claim="C-05", sha256=DIGEST),)


def test_what_was_tagged_after_finishing_stays_behind() -> None:
    later = plain_entries(session_from(head("C-05"), ["clean 2 at 300"]))
    for after in (later, [*later, DONE]):
        taken = taken_over(source(DONE, *after), DIGEST)
        assert {getattr(entry, "run", 1) for entry in taken} == {1}


def test_the_sign_of_taking_over_changes_nothing_that_a_session_says() -> None:
    plain = source()
    signed = session_of(NEW, [TakenOver(claim="C-05", sha256=DIGEST), *plain_entries(plain)])
    assert (signed.runs, signed.cups, signed.orphans) == (plain.runs, plain.cups, ())


def plain_entries(session: Session) -> list[Entry]:
    return [line.entry for line in session.lines]


def test_a_session_without_an_end_is_taken_as_it_is() -> None:
    assert len(taken_over(source(), DIGEST)) == 1 + len(source().lines)
