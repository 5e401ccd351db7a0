"""The ruling as a whole: what it says, and where."""

import pytest

from sessions.record.entries import Entry, Reading, RunBegun, Shown, Sighted, Spot
from sessions.record.header import MOST_FRAMES, FootageFacts
from sessions.record.session import Session
from sessions.ruling.brackets import Outcome
from sessions.ruling.judge import rule
from sessions.ruling.ruling import CAUTIONS, Place, Ruling, Standing
from tests.sessions.samples import FIRST_PTS, cups_and_frames, footage, header, session_of, spot
from tests.sessions.tags import session_from

FALLEN = "look 1 f1.s2.let-go refuted 60"


def session(*tags: str, claim: str | None = None) -> Session:
    head = header("3-3-3", claim=claim)
    return session_from(head, tags, *cups_and_frames(head))


def ruling(*tags: str, claim: str | None = None) -> Ruling:
    return rule(session(*tags, claim=claim))


def entries_of(*tags: str) -> list[Entry]:
    return [line.entry for line in session(*tags).live]


def test_nothing_is_ruled_while_no_timed_run_was_opened() -> None:
    made = ruling("open 1 warm-up at 0", "close 1 at 50")
    assert not made.made
    assert made.summary == "Open: no timed run has been begun yet."


def test_a_run_that_stands_is_told_with_its_attempt() -> None:
    made = ruling("clean 1 at 0")
    assert made.made
    assert made.summary == "4.004 s stands: run 1, attempt 1."
    assert (made.best_run, made.best_time) == (1, "4.004")
    assert made.frames_seen == 1000
    assert made.frames_unseen == 0
    assert made.cautions == CAUTIONS


@pytest.mark.parametrize(
    ("tags", "words"),
    [
        (["look 1 start.grip unproven 8 10"], "1 doubt noted"),
        (["look 1 start.grip unproven 8 10", "look 1 exact unproven 128 132"], "2 doubts noted"),
    ],
)
def test_doubts_are_noted_beside_a_run_that_stands(tags: list[str], words: str) -> None:
    made = ruling("clean 1 at 0", *tags)
    assert made.summary == f"4.004 s stands: run 1, attempt 1, with {words}."


def test_an_open_run_keeps_the_ruling_open() -> None:
    made = ruling("clean 1 at 0", "drop 1 f1.order")
    assert not made.made
    assert made.best_run is None
    assert made.summary == "Open: run 1 must be looked at before anything is ruled."


def test_when_every_run_falls_no_run_stands() -> None:
    made = ruling("clean 1 at 0", FALLEN)
    assert made.made
    assert made.summary == "No run stands."
    assert made.faster_but_not_standing == (1,)


def test_when_the_claim_falls_the_next_fastest_run_that_stands_is_best() -> None:
    tags = ["clean 1 at 0", "clean 2 at 200", "clean 3 at 400", FALLEN]
    settled = ["accepts 2 4.030 read off a copy", "accepts 3 4.020 read off a copy"]
    shown = {2: "4.030", 3: "4.020"}
    entries = [e for e in entries_of(*tags, *settled) if not isinstance(e, Reading)]
    readings = [
        Reading(run=run, display=shown.get(run, "4.004"), at=spot(200 * run - 20))
        for run in (1, 2, 3)
    ]
    made = rule(session_from(header("3-3-3", claim="4.004"), [], *entries, *readings))
    assert (made.claimed_runs, made.best_run, made.best_time) == ((1,), 3, "4.020")
    assert made.faster_but_not_standing == (1,)
    assert made.summary == "4.020 s stands: run 3, attempt 3."


def test_an_open_run_slower_than_the_best_leaves_the_ruling_made() -> None:
    slower = ["open 2 attempt at 200", "reading 2 5.000 at 360", "close 2 at 360"]
    made = ruling("clean 1 at 0", *slower)
    assert made.made
    assert [run.standing for run in made.runs] == [Standing.STANDS, Standing.OPEN]
    faster = ["open 2 attempt at 200", "reading 2 3.000 at 360", "close 2 at 360"]
    assert not ruling("clean 1 at 0", *faster).made


def test_an_open_run_without_a_time_may_be_the_fastest() -> None:
    assert not ruling("clean 1 at 0", "open 2 attempt at 200", "close 2 at 360").made


def test_the_claimed_run_must_be_looked_at_although_a_faster_one_stands() -> None:
    slower = ["open 2 attempt at 200", "reading 2 5.000 at 360", "close 2 at 360"]
    made = ruling("clean 1 at 0", *slower, claim="5.0")
    assert made.claimed_runs == (2,)
    assert not made.made


def test_a_tag_of_a_run_never_opened_is_a_problem_named_by_its_line() -> None:
    entries = session("clean 1 at 0", "look 2 exact proven 300")
    made = rule(entries)
    assert made.problems == (f"line {len(entries.lines) + 1} speaks of a run that was never begun",)
    assert not made.made
    assert made.summary == "Open: the record must be looked at before anything is ruled."


def test_a_place_is_a_frame_its_stamp_its_time_and_its_label() -> None:
    made = ruling("clean 1 at 100")
    assert made.runs[0].begins == Place(
        frame=100, pts=FIRST_PTS + 100_100, time="0:03.337", timecode="00:00:03;10"
    )


def test_footage_without_a_rate_has_no_labels() -> None:
    head = header("3-3-3")
    bare = head.footage.model_copy(update={"nominal_rate": None})
    head = head.model_copy(update={"footage": bare})
    made = rule(session_from(head, ["clean 1 at 100"], *cups_and_frames(head)))
    assert made.runs[0].begins == Place(frame=100, pts=FIRST_PTS + 100_100, time="0:03.337")


def test_footage_of_a_frame_every_three_seconds_is_ruled_on() -> None:
    head = header("3-3-3")
    slow = head.footage.model_copy(update={"nominal_rate": "1/3"})
    head = head.model_copy(update={"footage": slow})
    assert rule(session_from(head, ["clean 1 at 100"], *cups_and_frames(head))).made


def test_a_finding_shows_its_frames_and_what_would_be_right() -> None:
    made = ruling("clean 1 at 0", "sighted 1 f1.s1.let_go 44 45", "sighted 1 f1.s2.rise 50 51")
    found = next(f for f in made.runs[0].findings if f.checkpoint == "f1.s1.let-go")
    assert found.met is not None
    assert found.due is not None
    assert found.met.moment == "both hands are clear of 1st 3"
    assert found.met.after == Place(
        frame=44, pts=spot(44).pts, time="0:01.468", timecode="00:00:01;14"
    )
    assert found.due.by is not None
    assert found.due.by.frame == 51
    assert found.right == "take both hands clear of a stack before building the next"
    assert found.reason == "the footage shows it"


def test_a_bracket_from_before_the_footage_has_no_first_frame() -> None:
    entries = entries_of("clean 1 at 0")
    start = Sighted(run=1, moment="start", by=spot(10))
    kept = [e for e in entries if not (isinstance(e, Sighted) and e.moment == "start")]
    run = rule(session_from(header(), [], *kept, start)).runs[0]
    clock = next(f for f in run.findings if f.checkpoint == "clock")
    assert clock.met is not None
    assert clock.met.after is None
    assert clock.met.by is not None
    assert clock.met.by.frame == 10
    assert clock.reason == (
        "not checked yet: say in which frames the start and the stop had not come yet"
    )
    assert run.by_picture is None
    assert run.uncertainty is None


def test_the_picture_times_the_run_with_its_uncertainty() -> None:
    run = ruling("clean 1 at 0").runs[0]
    assert run.by_picture == ("3.970633", "4.037367")
    assert run.uncertainty == "0.013622"
    assert run.time == "4.004"


def test_readings_that_differ_are_no_time() -> None:
    assert ruling("clean 1 at 0", "reading 1 4.005 at 161").runs[0].time is None


def test_the_number_of_a_run_is_explained() -> None:
    over = ["over 1 at 30", "over 1 at 40", "clean 3 at 400 as warm-up"]
    made = ruling("clean 1 at 0", "clean 2 at 200", *over)
    assert [run.counted_as for run in made.runs] == [
        "timed run 1 counts as attempt 1",
        "timed run 2 counts as attempt 4, because the event was started over 2 times before it "
        "(frame 30 of run 1, frame 40 of run 1), "
        "which spends an attempt each time",
        "warm-up: counts as nothing",
    ]
    assert [(s.number, s.by_run) for s in made.spent] == [(2, 1), (3, 1)]
    once = ruling("clean 1 at 0", "over 1 at 30", "clean 2 at 200")
    assert "started over once before it" in once.runs[1].counted_as


def test_the_claimed_run_is_found_by_its_time_however_it_is_written() -> None:
    assert ruling("clean 1 at 0", claim="4.0040").claimed_runs == (1,)
    assert ruling("clean 1 at 0", claim="4.005").claimed_runs == ()


def test_a_run_as_fast_as_the_best_that_fell_is_not_passed_over() -> None:
    made = ruling("clean 1 at 0", "clean 2 at 200", FALLEN)
    assert made.best_run == 2
    assert made.faster_but_not_standing == (1,)


def test_a_ruling_is_read_back_as_it_was_written() -> None:
    made = ruling("clean 1 at 0", FALLEN, "over 1 at 30", claim="4.004")
    assert Ruling.model_validate_json(made.model_dump_json()) == made


def test_one_frame_with_two_time_stamps_rules_the_same_in_any_order() -> None:
    entries = entries_of("clean 1 at 0")
    stamp = spot(130).model_copy(update={"pts": spot(400).pts})
    late = Sighted(run=1, moment="stop", after=spot(129), by=stamp)
    orders = [*entries, late], [late, *entries]
    first, second = (rule(session_from(header(), [], *said)) for said in orders)
    assert first.runs[0].by_picture == second.runs[0].by_picture


OVERLAPPING = {
    "one lies in the other": (["clean 1 at 0", "clean 2 at 90"], True),
    "both begin in one frame": (["open 1 attempt at 0", "close 1 at 9", "clean 2 at 0"], True),
    "one ends where the next begins": (
        ["open 1 warm-up at 0", "close 1 at 10", "open 2 warm-up at 10", "close 2 at 20"],
        True,
    ),
    "the first is still open": (["open 1 warm-up at 0", "clean 2 at 200"], True),
    "one after the other": (["clean 1 at 0", "clean 2 at 200"], False),
    "the last is still open": (["clean 1 at 0", "open 2 warm-up at 200"], False),
}


@pytest.mark.parametrize("case", OVERLAPPING)
def test_runs_that_overlap_are_a_problem_of_the_ruling(case: str) -> None:
    tags, overlap = OVERLAPPING[case]
    made = ruling(*tags)
    assert bool(made.problems) == overlap
    if overlap:
        assert made.problems == ("runs 1 and 2 overlap",)
        assert not made.made


def test_one_frame_with_two_time_stamps_is_a_conflict_of_the_record() -> None:
    stamp = spot(130).model_copy(update={"pts": spot(400).pts})
    late = Sighted(run=1, moment="stop", after=spot(129), by=stamp)
    (run,) = rule(session_from(header(), [], *entries_of("clean 1 at 0"), late)).runs
    (finding,) = [f for f in run.findings if f.rule == "record.complete"]
    assert finding.reason.endswith("frame 130 is written with different time stamps")
    assert run.standing is Standing.OPEN
    assert run.by_picture is None


@pytest.mark.parametrize("moment", ["start", "stop"])
def test_the_clock_needs_both_its_ends_sighted_not_only_looked_past(moment: str) -> None:
    # whatever was looked at beside it brackets the moment from both sides
    looks = {
        "start": ["look 1 start.grip proven 40", "look 1 start.flat unproven 30 31"],
        "stop": ["look 1 stop.free proven 130", "look 1 exact proven 131"],
    }
    (run,) = ruling("clean 1 at 0", *looks[moment], f"drop 1 {moment}").runs
    (clock,) = [f for f in run.findings if f.rule == "clock.picture"]
    assert clock.outcome is Outcome.UNLOOKED
    hands = {"start": "hands off", "stop": "hands on"}[moment]
    assert clock.reason == f"not checked yet: tag {hands} first"
    assert run.standing is Standing.OPEN


def test_a_session_of_the_greatest_numbers_that_a_file_can_hold_is_ruled() -> None:
    facts = footage().model_copy(
        update={"frames": MOST_FRAMES, "time_base": f"{'9' * 19}e99", "first_pts": -(2**63)}
    )
    head = header("3-3-3").model_copy(update={"footage": facts})
    ends = (Spot(frame=0, pts=-(2**63)), Spot(frame=MOST_FRAMES - 1, pts=2**63 - 1))
    marks = [Sighted(run=1, moment=m, after=ends[0], by=ends[1]) for m in ("start", "stop")]
    shown = Shown(ranges=((1, MOST_FRAMES - 1),))
    found = rule(session_of(head, [RunBegun(run=1, begins=ends[0]), *marks, shown]))
    assert (found.frames_seen, found.frames_unseen) == (MOST_FRAMES - 1, 1)
    assert found.runs[0].uncertainty is not None


def on_other_footage(*tags: str, **changed: object) -> Ruling:
    """The ruling where the footage's facts are changed."""
    head = header("3-3-3")
    facts = FootageFacts.model_validate(head.footage.model_dump() | changed)
    head = head.model_copy(update={"footage": facts})
    return rule(session_from(head, tags, *cups_and_frames(head)))


@pytest.mark.parametrize("joint", [11, 60, 130])
def test_no_run_is_timed_across_a_joint(joint: int) -> None:
    made = on_other_footage("clean 1 at 0", joints=[joint])
    assert not made.made
    (run,) = made.runs
    assert run.standing is Standing.OPEN
    assert run.by_picture is None
    (clock,) = run.with_outcome(Outcome.CONFLICT)
    assert f"frame {joint} begins another recording" in clock.reason


def test_a_joint_outside_the_time_from_start_to_stop_hinders_nothing() -> None:
    assert on_other_footage("clean 1 at 0", joints=[500]).made


def test_no_run_is_timed_on_footage_whose_times_are_in_doubt() -> None:
    made = on_other_footage("clean 1 at 0", time_doubt="12 pictures are lost")
    assert not made.made
    (clock,) = made.runs[0].with_outcome(Outcome.CONFLICT)
    assert "the footage tells no time: 12 pictures are lost" in clock.reason
