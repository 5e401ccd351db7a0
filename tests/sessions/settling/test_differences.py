"""Differences of reviews: none from itself, the same from either side, and every one is found."""

from collections.abc import Sequence

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from sessions.record.entries import Entry, Look, Reading
from sessions.record.header import Header
from sessions.record.session import Session, fold
from sessions.rules.ladder import build_ladder
from sessions.ruling.judge import rule
from sessions.settling.differences import Difference, Differences, Matter, differences
from tests.proofs import examples
from tests.sessions.samples import faultless_run, header, session_of, standing_session
from tests.sessions.strategies import Drawn, drawn_sessions
from tests.sessions.tags import session_from

HEAD = header("3-3-3")
CLEAN = standing_session(HEAD)
RUNGS = [checkpoint.id for checkpoint in build_ladder(HEAD.event).statements]


def by(reviewer: str, session: Session) -> Session:
    head = session.header.model_copy(update={"reviewer": reviewer})
    return fold(head, session.lines)


def of_tags(*tags: str, head: Header = HEAD) -> Session:
    """A clean run from frame 0, with some tags changed."""
    return session_from(head, tags, *CLEAN)


def between(one: Session, other: Session) -> Differences:
    return differences([by("R1", one), by("R2", other)])


def keys(found: Sequence[Difference]) -> list[tuple[Matter, str]]:
    return [(d.matter, d.key) for d in found]


CHANGED = [
    ("look 1 f1.s1.let-go refuted 60", Matter.CHECKPOINT, "1.f1.s1.let-go"),
    ("look 1 start.still unproven 8 20", Matter.CHECKPOINT, "1.start.still"),
    ("reading 1 4.005 at 200", Matter.READING, "1.reading"),
    ("over 1 at 50", Matter.STARTED_OVER, "1.started-over"),
    ("fumble 1 x1 f1.s1 down at 50", Matter.FUMBLES, "1.fumbles"),
    ("open 2 attempt at 400", Matter.RUN, "2.run"),
]


@pytest.mark.parametrize(("tag", "matter", "key"), CHANGED, ids=[key for _, _, key in CHANGED])
def test_one_changed_tag_is_found(tag: str, matter: Matter, key: str) -> None:
    changed = of_tags(tag) if matter is not Matter.READING else _read_otherwise()
    assert (matter, key) in keys(between(of_tags(), changed).disputes)


def _read_otherwise() -> Session:
    """The same with another time read that the picture allows as well."""
    entries: list[Entry] = [
        entry.model_copy(update={"display": "4.005"}) if entry.kind == "reading" else entry
        for entry in CLEAN
    ]
    return session_of(HEAD, entries)


@examples(few=8, many=30)
@given(st.sampled_from(RUNGS))
def test_every_checkpoint_that_only_one_found_broken_is_a_dispute(checkpoint: str) -> None:
    look = next(e for e in CLEAN if isinstance(e, Look) and e.checkpoint == checkpoint)
    changed = [e.model_copy(update={"saw": "refuted"}) if e is look else e for e in CLEAN]
    one, other = session_of(HEAD, CLEAN), session_of(HEAD, changed)
    assume(not any(f.outcome == "conflict" for run in rule(other).runs for f in run.findings))
    (found,) = [d for d in between(one, other).disputes if d.subject == checkpoint]
    assert [opinion.value for opinion in found.opinions] == ["proven", "refuted"]
    frame = look.by.frame
    assert [opinion.frame for opinion in found.opinions] == [frame, frame]
    assert [opinion.words for opinion in found.opinions] == [
        f"in order at frame {frame}", f"FAULT at frame {frame}",
    ]  # fmt: skip


@examples(few=15, many=100)
@given(drawn_sessions())
def test_a_review_does_not_differ_from_itself(drawn: Drawn) -> None:
    assume(not rule(drawn.session).problems)
    found = between(drawn.session, drawn.session)
    assert found.disputes == found.remarks == ()


@examples(few=15, many=100)
@given(drawn_sessions(most_runs=2), st.data())
def test_the_same_differences_are_found_from_either_side(drawn: Drawn, data: st.DataObject) -> None:
    dropped = data.draw(st.sets(st.integers(0, len(drawn.entries) - 1), max_size=6))
    other = drawn.with_entries([e for i, e in enumerate(drawn.entries) if i not in dropped])
    assume(not rule(drawn.session).problems)
    assume(not rule(other.session).problems)
    there, back = between(drawn.session, other.session), between(other.session, drawn.session)
    for one, turned in ((there.disputes, back.disputes), (there.remarks, back.remarks)):
        assert sorted(keys(one)) == sorted(keys(turned))
        values = {d.key + d.matter: [o.value for o in d.opinions] for d in one}
        assert values == {d.key + d.matter: [o.value for o in d.opinions][::-1] for d in turned}


def test_brackets_that_differ_with_the_same_verdict_are_only_remarked() -> None:
    later = of_tags("look 1 f1.s1.let-go proven 51")
    found = between(of_tags(), later)
    assert found.disputes == ()
    assert keys(found.remarks) == [(Matter.BRACKET, "1.f1.s1.let-go")]
    first, second = found.remarks[0].opinions
    assert first.brackets != second.brackets
    assert first.met is not None
    assert first.met.moment == "both hands are clear of 1st 3"


def test_what_only_one_looked_at_is_remarked() -> None:
    found = between(of_tags("drop 1 f1.s1.let-go"), of_tags())
    assert found.disputes == ()
    (one_sided, standing) = found.remarks
    assert (one_sided.matter, one_sided.sides) == (Matter.ONE_SIDED, (1,))
    assert one_sided.opinions[0].words == "not looked at"
    assert [o.words for o in standing.opinions] == ["open", "stands"]


def test_where_the_run_begins_does_not_have_to_be_settled() -> None:
    earlier = [
        e.model_copy(update={"begins": e.begins.model_copy(update={"frame": 2})})
        if e.kind == "run-begun" else e
        for e in CLEAN
    ]  # fmt: skip
    found = between(of_tags(), session_of(HEAD, earlier))
    assert found.disputes == ()
    assert keys(found.remarks) == [(Matter.BOUNDS, "1.bounds of the run")]


def test_a_display_that_nobody_read_is_told_as_no_reading() -> None:
    unread = [entry for entry in CLEAN if not isinstance(entry, Reading)]
    found = differences([session_of(HEAD, unread), session_of(HEAD, CLEAN)])
    (clock,) = [d for d in found.remarks if d.subject == "clock"]
    assert [opinion.words for opinion in clock.opinions] == [
        "no reading, not looked at",
        "reads 4.004 s, agrees",
    ]


def test_a_contradiction_of_the_clock_that_only_one_settled_is_a_dispute() -> None:
    wrong = [e.model_copy(update={"display": "9.999"}) if e.kind == "reading" else e for e in CLEAN]
    settled = session_from(HEAD, ["settled 1 the display was hit"], *wrong)
    found = between(session_of(HEAD, wrong), settled)
    assert keys(found.disputes) == [(Matter.CLOCK, "1.clock")]
    assert [o.words for o in found.disputes[0].opinions] == [
        "reads 9.999 s, does not agree", "reads 9.999 s, does not agree, settled",
    ]  # fmt: skip


LATE_START = (
    "sighted 1 start 39 40",
    *(f"look 1 start.{part} proven 40" for part in ("flat", "grip", "still")),
)
"""The clean run with its start seen 30 frames later than in (9,10], where it is."""


def moved(frames: int, display: str | None = None) -> Session:
    """The clean run seen so many frames later, all of it, so that its reading fits as well."""
    entries = [
        *(e for e in CLEAN if getattr(e, "run", None) is None),
        *faultless_run(HEAD.event, 1, frames, display),
    ]
    return session_of(HEAD, entries)


def test_a_clock_sighted_apart_is_a_dispute_of_its_own_though_all_else_is_alike() -> None:
    found = between(of_tags(), moved(30))
    assert rule(moved(30)).runs[0].time == rule(of_tags()).runs[0].time
    assert keys(found.disputes) == [(Matter.INSTANT, "1.start"), (Matter.INSTANT, "1.stop")]
    start, stop = found.disputes
    assert [o.words for o in start.opinions] == ["seen in (9,10]", "seen in (39,40]"]
    assert [o.frame for o in stop.opinions] == [130, 160]
    assert (start.title, start.sides) == ("Start of the clock", (0, 1))


@pytest.mark.parametrize("frames", [1, 2])
def test_a_clock_sighted_a_frame_or_so_apart_is_only_remarked(frames: int) -> None:
    found = between(of_tags(), moved(frames))
    assert found.disputes == ()
    assert (Matter.BRACKET, "1.clock") in keys(found.remarks)


def test_a_clock_that_agrees_for_one_only_follows_from_where_its_start_is_settled() -> None:
    late = of_tags(*LATE_START, "settled 1 the display was hit")
    clock = next(f for f in rule(late).runs[0].findings if f.checkpoint == "clock")
    assert clock.outcome == "refuted"
    found = between(of_tags(), late)
    assert keys(found.disputes) == [(Matter.INSTANT, "1.start")]


def test_an_instant_that_one_did_not_sight_is_not_disputed() -> None:
    found = between(of_tags("drop 1 start"), of_tags(*LATE_START))
    assert keys(found.disputes) == []
    assert (Matter.ONE_SIDED, "1.clock") in keys(found.remarks)


def test_a_third_review_between_two_that_are_apart_does_not_join_them() -> None:
    sessions = [by(f"R{n}", moved(n)) for n in (0, 2, 4)]
    start = next(d for d in differences(sessions).disputes if d.subject == "start")
    assert [o.value for o in start.opinions] == ["(9,10]", "(11,12]", "(13,14]"]
    assert start.sides == (0, 1, 2)


def test_reasons_that_differ_for_the_same_contradiction_are_remarked() -> None:
    wrong = [e.model_copy(update={"display": "9.999"}) if e.kind == "reading" else e for e in CLEAN]
    one, other = (
        session_from(HEAD, [f"settled 1 {why}"], *wrong) for why in ("hit", "read too early")
    )
    found = between(one, other)
    assert found.disputes == ()
    (remark,) = found.remarks
    assert (remark.matter, remark.key) == (Matter.REASONS, "1.clock-reasons")
    assert [o.words for o in remark.opinions] == ["hit", "read too early"]
    assert between(one, one).remarks == ()


def test_a_reason_left_from_before_is_no_difference_where_display_and_picture_agree() -> None:
    found = between(of_tags(), of_tags("settled 1 it was misread at first"))
    assert found.disputes == found.remarks == ()


def test_a_warm_up_that_only_one_noted_is_no_difference() -> None:
    found = between(of_tags(), of_tags("open 2 warm-up at 400", "close 2 at 420"))
    assert found.disputes == found.remarks == ()


def test_an_attempt_that_the_other_took_for_a_warm_up_is_told_with_its_frames() -> None:
    tags = ("close 2 at 500",)
    one = of_tags("open 2 attempt at 400", *tags)
    other = of_tags("open 2 warm-up at 402", *tags)
    (dispute,) = between(one, other).disputes
    assert [o.words for o in dispute.opinions] == [
        "attempt 2, frames 400-500", "warm-up, frames 402-500",
    ]  # fmt: skip
    assert dispute.sides == (0, 1)


def test_a_cup_that_only_one_found_bare_is_a_dispute() -> None:
    bare = [
        e.model_copy(update={"cups": tuple(range(2, 10))}) if e.kind == "cups" else e for e in CLEAN
    ]
    found = between(of_tags(), session_from(HEAD, ["cups 1 refuted at 999"], *bare))
    assert keys(found.disputes) == [(Matter.CUP, "cup.mark.1")]
    assert [o.words for o in found.disputes[0].opinions] == [
        "its mark was seen at frame 0", "its mark never appeared",
    ]  # fmt: skip


def test_words_tell_the_hand_the_bracket_and_what_was_never_done() -> None:
    one = of_tags("look 1 start.grip refuted 9 left", "look 1 start.still unproven 8 20")
    other = of_tags("over 1 at 50", "fumble 1 x1 f1.s1 down at 60")
    words = {d.subject: [o.words for o in d.opinions] for d in between(one, other).disputes}
    assert words["start.grip"][0] == "FAULT at frame 9 (left hand)"
    assert words["start.still"][0] == "cannot tell in (8,20]"
    assert words["started-over"] == ["never started over", "started over at frame 50"]
    assert words["fumbles"] == ["no fumble", "f1.s1 going down at frame 60"]


def test_a_look_that_begins_before_the_footage_says_so() -> None:
    unclear = [
        Look(run=1, checkpoint="start.still", saw="unproven", by=e.by)
        if isinstance(e, Look) and e.checkpoint == "start.still" else e
        for e in CLEAN
    ]  # fmt: skip
    found = between(of_tags(), session_of(HEAD, unclear))
    said = {d.subject: d.opinions[1].words for d in found.disputes}
    assert said["start.still"].startswith("cannot tell up to frame ")


def test_three_reviews_are_compared_at_once() -> None:
    sessions = [of_tags(), of_tags("look 1 start.still refuted 9"), of_tags()]
    named = [by(f"R{i}", session) for i, session in enumerate(sessions, 1)]
    found = differences(named)
    (dispute,) = [d for d in found.disputes if d.subject == "start.still"]
    assert dispute.sides == (0, 1)
    assert found.reviewers == ("R1", "R2", "R3")
