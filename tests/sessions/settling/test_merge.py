"""What a settling session takes over: all that is agreed, and of a dispute one side, coherently."""

from collections.abc import Sequence

import pytest
from hypothesis import assume, given

from sessions.record.entries import Entry, Look, Shown, Sighted
from sessions.record.session import Session, fold
from sessions.ruling.brackets import Outcome
from sessions.ruling.judge import rule
from sessions.ruling.ruling import Standing
from sessions.settling.differences import Differences, Matter, differences
from sessions.settling.merge import agreed_entries
from sessions.settling.taking import take_side
from tests.proofs import examples
from tests.sessions.samples import (
    as_lines,
    faultless_run,
    header,
    session_of,
    standing_session,
)
from tests.sessions.strategies import Drawn, drawn_sessions
from tests.sessions.tags import session_from

HEAD = header("3-3-3")
CLEAN = standing_session(HEAD)


def of_tags(*tags: str) -> Session:
    return session_from(HEAD, tags, *CLEAN)


def agreed(found: Differences) -> Session:
    return session_of(found.sessions[0].header, agreed_entries(found))


def taken(found: Differences, key: str, side: int, session: Session) -> Session:
    """The settling session once it has taken a side."""
    (dispute,) = [d for d in found.disputes if d.key == key]
    taking = take_side(found, dispute, side, session)
    gone = {line.seq for line in taking.retract}
    kept = [line.entry for line in session.live if line.seq not in gone]
    return session_of(session.header, [*kept, *taking.write])


def says(session: Session) -> dict[object, object]:
    """What a session rules, run by run and cup by cup."""
    ruling = rule(session)
    of_runs: dict[object, object] = {
        (n, f.checkpoint): f.outcome for n, run in enumerate(ruling.runs, 1) for f in run.findings
    }
    numbers: dict[object, object] = {
        n: (run.number, run.standing, run.time) for n, run in enumerate(ruling.runs, 1)
    }
    return {**of_runs, **numbers, **{("cup", c.cup): c.outcome for c in ruling.cups}}


@examples(few=15, many=100)
@given(drawn_sessions(orphans=False))
def test_two_equal_reviews_are_taken_over_whole(drawn: Drawn) -> None:
    session = drawn.session
    assume(not rule(session).problems)
    # what is agreed draws the bounds of a run anew, so that a run ended twice ends once
    assume(all(len(set(run.ended)) <= 1 for run in session.runs))
    # a review whose tags cannot be true together rules nothing, and is not settled
    assume("order" not in {f.checkpoint for run in rule(session).runs for f in run.findings})
    found = differences([session, session])
    assert says(agreed(found)) == says(session)


DISPUTES: Sequence[tuple[str, tuple[str, ...]]] = [
    ("1.f1.s1.let-go", ("look 1 f1.s1.let-go refuted 60",)),
    ("1.start.still", ("look 1 start.still refuted 9",)),
    ("1.start.still", ("drop 1 start", "sighted 1 start 6 7", "look 1 start.still refuted 6")),
    ("1.started-over", ("over 1 at 50",)),
    ("1.fumbles", ("fumble 1 x1 f1.s1 down at 50", "look 1 x1.closed proven 60")),
    ("2.run", ("clean 2 at 400",)),
    ("2.run", ("clean 2 at 400 as warm-up", "open 2 attempt at 400")),
]


@pytest.mark.parametrize("side", [0, 1])
@pytest.mark.parametrize(("key", "tags"), DISPUTES)
def test_taking_a_side_says_what_that_side_said(key: str, tags: tuple[str, ...], side: int) -> None:
    found = differences([of_tags(), of_tags(*tags)])
    session = agreed(found)
    for dispute in found.disputes:
        session = taken(found, dispute.key, side, session)
    assert key in {d.key for d in found.disputes}
    assert says(session) == says(found.sessions[side])


def test_a_side_may_be_taken_after_the_other() -> None:
    found = differences([of_tags(), of_tags("look 1 start.still refuted 9")])
    session = taken(found, "1.start.still", 1, agreed(found))
    assert rule(session).runs[0].standing is Standing.SCRATCH
    session = taken(found, "1.start.still", 0, session)
    assert says(session) == says(found.sessions[0])


def test_what_is_disputed_is_open_until_a_side_is_taken() -> None:
    found = differences([of_tags(), of_tags("look 1 f1.s1.let-go refuted 60")])
    (run,) = rule(agreed(found)).runs
    assert run.standing is Standing.OPEN
    assert [f.checkpoint for f in run.findings if f.outcome.is_open] == ["f1.s1.let-go"]


def test_the_bracket_of_an_instant_is_never_mixed_from_two_reviews() -> None:
    later: tuple[str, ...] = ("drop 1 start", "sighted 1 start 7 8", "look 1 start.still refuted 7")
    later += tuple(f"look 1 start.{part} proven 8" for part in ("flat", "grip"))
    found = differences([of_tags(), of_tags(*later)])
    session = taken(found, "1.start.still", 1, agreed(found))
    marks = [m for m in session.runs[0].marks if isinstance(m, Sighted) and m.moment == "start"]
    assert [(m.after.frame if m.after else None, m.by.frame) for m in marks] == [(7, 8)]
    looks = {m.checkpoint: m.by.frame for m in session.runs[0].marks if isinstance(m, Look)}
    assert (looks["start.flat"], looks["start.grip"]) == (8, 8)


@pytest.mark.parametrize("side", [0, 1])
def test_a_reading_is_taken_with_the_clock_behind_it(side: int) -> None:
    wrong: list[Entry] = [
        e.model_copy(update={"display": "9.999"}) if e.kind == "reading" else e for e in CLEAN
    ]
    settled = session_from(HEAD, ["settled 1 the display was hit"], *wrong)
    found = differences([of_tags(), settled])
    assert [d.matter for d in found.disputes] == [Matter.READING]
    session = agreed(found)
    assert not session.runs[0].readings
    session = taken(found, "1.reading", side, session)
    assert says(session) == says(found.sessions[side])


def shifted(frames: int) -> list[Entry]:
    """The clean run seen so many frames later."""
    outside = [e for e in CLEAN if getattr(e, "run", None) is None]
    return [*outside, *faultless_run(HEAD.event, 1, frames)]


def brackets_of(session: Session) -> dict[str, tuple[int, int]]:
    """Where a session sighted the instants of its first run."""
    sighted = (m for m in session.runs[0].marks if isinstance(m, Sighted))
    return {m.moment: (m.bracket.after or 0, m.bracket.by or 0) for m in sighted}


def test_a_clock_sighted_apart_is_open_until_a_side_is_taken() -> None:
    found = differences([of_tags(), session_of(HEAD, shifted(30))])
    session = agreed(found)
    (run,) = rule(session).runs
    assert {"start", "stop"}.isdisjoint(brackets_of(session))
    assert (run.time, run.standing) == ("4.004", Standing.OPEN)


@pytest.mark.parametrize("sides", [(0, 0), (1, 1), (0, 1), (1, 0)])
def test_start_and_stop_are_taken_each_from_the_side_chosen(sides: tuple[int, int]) -> None:
    found = differences([of_tags(), session_of(HEAD, shifted(30))])
    session = agreed(found)
    for key, side in zip(("1.start", "1.stop"), sides, strict=True):
        session = taken(found, key, side, session)
    start, stop = [(9, 10), (39, 40)], [(129, 130), (159, 160)]
    assert brackets_of(session) == {"start": start[sides[0]], "stop": stop[sides[1]]}
    if sides[0] == sides[1]:
        assert says(session) == says(found.sessions[sides[0]])


def test_an_early_start_and_a_late_stop_are_in_order_but_for_the_clock() -> None:
    found = differences([of_tags(), session_of(HEAD, shifted(30))])
    session = taken(found, "1.stop", 1, taken(found, "1.start", 0, agreed(found)))
    (run,) = rule(session).runs
    assert {f.checkpoint for f in run.findings if f.outcome is not Outcome.PROVEN} == {"clock"}


def test_a_side_on_a_checkpoint_leaves_the_start_that_was_taken_from_the_other() -> None:
    """Cups were still where they were seen moving 3 frames later: the sides do not exclude it."""
    later = ("sighted 1 start 6 7", "look 1 start.flat proven 7", "look 1 start.grip proven 7")
    found = differences([of_tags(), of_tags(*later, "look 1 start.still refuted 6")])
    assert [d.key for d in found.disputes] == ["1.start.still", "1.start"]
    session = taken(found, "1.start", 1, agreed(found))
    session = taken(found, "1.start.still", 0, session)
    assert brackets_of(session)["start"] == (6, 7)


@pytest.mark.parametrize("side", [0, 1])
def test_the_reason_for_the_clock_comes_with_the_start_it_was_given_for(side: int) -> None:
    late = [f"look 1 start.{part} proven 40" for part in ("flat", "grip", "still")]
    late += ["sighted 1 start 39 40", "settled 1 the display was hit"]
    found = differences([of_tags(), of_tags(*late)])
    session = taken(found, "1.start", side, agreed(found))
    assert len(session.runs[0].accepted) == side
    assert says(session) == says(found.sessions[side])


def test_a_reading_leaves_the_start_that_was_taken_from_the_other() -> None:
    other = [
        e.model_copy(update={"display": "4.005"}) if e.kind == "reading" else e
        for e in shifted(30)
    ]  # fmt: skip
    found = differences([of_tags(), session_of(HEAD, other)])
    assert [d.key for d in found.disputes] == ["1.start", "1.stop", "1.reading"]
    session = agreed(found)
    for key, side in (("1.start", 0), ("1.stop", 0), ("1.reading", 1)):
        session = taken(found, key, side, session)
    assert brackets_of(session) == {"start": (9, 10), "stop": (129, 130)}
    assert [run.time for run in rule(session).runs] == ["4.005"]


def test_a_reading_by_whoever_sighted_no_start_leaves_the_start_that_another_sighted() -> None:
    other = [e.model_copy(update={"display": "4.005"}) if e.kind == "reading" else e for e in CLEAN]
    found = differences([of_tags(), session_from(HEAD, ["drop 1 start"], *other)])
    session = taken(found, "1.reading", 1, agreed(found))
    assert brackets_of(session)["start"] == (9, 10)
    assert [run.time for run in rule(session).runs] == ["4.005"]


@pytest.mark.parametrize("side", [0, 1])
def test_a_cup_is_taken_alone(side: int) -> None:
    fewer: list[Entry] = [
        e.model_copy(update={"cups": tuple(range(2, 10))}) if e.kind == "cups" else e for e in CLEAN
    ]
    found = differences([of_tags(), session_from(HEAD, ["cups 1 unproven at 3"], *fewer)])
    session = taken(found, "cup.mark.1", side, agreed(found))
    assert says(session) == says(found.sessions[side])


def test_what_only_one_looked_at_is_taken_over() -> None:
    found = differences([of_tags("drop 1 f1.s1.let-go", "drop 1 start.grip"), of_tags()])
    assert says(agreed(found)) == says(of_tags())


@pytest.mark.parametrize("moment", ["start", "stop"])
@pytest.mark.parametrize("swapped", [False, True])
def test_a_sighting_that_only_one_made_is_taken_over(moment: str, swapped: bool) -> None:
    reviews = [of_tags(f"drop 1 {moment}", "look 1 f1.s1.let-go refuted 45"), of_tags()]
    found = differences(reviews[::-1] if swapped else reviews)
    session = taken(found, "1.f1.s1.let-go", 0 if swapped else 1, agreed(found))
    assert says(session) == says(of_tags())


@pytest.mark.parametrize("swapped", [False, True])
def test_what_both_say_is_taken_from_the_review_whose_clock_it_has_to_fit(swapped: bool) -> None:
    reviews = [of_tags("drop 1 start", "look 1 start.flat proven 7"), of_tags()]
    found = differences(reviews[::-1] if swapped else reviews)
    assert says(agreed(found)) == says(of_tags())


def test_what_only_one_looked_at_stays_open_where_it_contradicts_the_clock_of_the_other() -> None:
    earlier = of_tags("drop 1 start", "drop 1 start.flat", "look 1 start.grip proven 7")
    found = differences([earlier, of_tags("drop 1 start.grip")])
    (run,) = rule(agreed(found)).runs
    assert {f.checkpoint: f.outcome for f in run.findings if f.outcome.is_open} == {
        "start.grip": Outcome.UNLOOKED
    }


def test_a_reading_that_the_side_did_not_make_stays_though_its_start_is_taken() -> None:
    unread: list[Entry] = [e for e in CLEAN if e.kind != "reading"]
    later = of_tags("drop 1 start", "sighted 1 start 19 20")
    found = differences([session_from(HEAD, [], *unread), later, of_tags()])
    assert [d.key for d in found.disputes] == ["1.start"]
    session = taken(found, "1.start", 0, agreed(found))
    assert [run.time for run in rule(session).runs] == ["4.004"]


def test_a_reading_that_only_one_made_is_taken_over_though_the_clock_is_open() -> None:
    unread: list[Entry] = [e for e in CLEAN if e.kind != "reading"]
    found = differences([session_from(HEAD, ["drop 1 stop"], *unread), of_tags("drop 1 stop")])
    assert [run.time for run in rule(agreed(found)).runs] == ["4.004"]


def test_a_checkpoint_that_the_side_did_not_look_at_stays_as_it_is() -> None:
    one = of_tags("drop 1 start.grip", "look 1 start.still refuted 9")
    found = differences([one, of_tags()])
    session = taken(found, "1.start.still", 0, agreed(found))
    grip = next(f for f in rule(session).runs[0].findings if f.checkpoint == "start.grip")
    assert not grip.outcome.is_open


YIELDING = [
    ("1.f1.s3.let-go", ("drop 1 f1.d1.two-hands", "look 1 f1.s3.let-go refuted 13")),
    (
        "1.start.still",
        ("drop 1 start", "drop 1 start.flat", "drop 1 start.grip", "look 1 start.still refuted 35"),
    ),
]


@pytest.mark.parametrize(("key", "tags"), YIELDING)
def test_what_only_the_other_looked_at_yields_where_it_contradicts_the_side(
    key: str, tags: tuple[str, ...]
) -> None:
    found = differences([of_tags(*tags), of_tags()])
    session = taken(found, key, 0, agreed(found))
    (run,) = rule(session).runs
    assert run.standing is Standing.SCRATCH
    assert {f"1.{f.checkpoint}" for f in run.findings if f.outcome is Outcome.REFUTED} == {key}
    assert run.time == "4.004"
    assert not any(f.outcome is Outcome.CONFLICT for f in run.findings)
    assert says(taken(found, key, 1, session)) == says(found.sessions[1])


def test_a_stop_that_only_the_other_sighted_yields_where_it_contradicts_a_fumble() -> None:
    unsaid = [f"drop 1 {place}" for place in ("start", "stop", "stop.free", "f1.completed")]
    fallen = ("fumble 1 x1 f1.s1 down at 104", "look 1 x1.closed refuted 107")
    found = differences([of_tags(), of_tags(*unsaid, *fallen)])
    session = taken(found, "1.fumbles", 1, agreed(found))
    (run,) = rule(session).runs
    assert not any(f.outcome is Outcome.CONFLICT for f in run.findings)
    assert "stop" not in brackets_of(session)
    assert brackets_of(session)["start"] == (9, 10)
    assert [f.fumble for f in session.runs[0].fumbles] == ["x1"]


def test_frames_count_as_shown_that_any_reviewer_saw() -> None:
    half = [Shown(ranges=((0, 10),)) if e.kind == "shown" else e for e in CLEAN]
    found = differences([session_of(HEAD, half), session_of(HEAD, half), of_tags()])
    assert agreed(found).all_seen


def test_nothing_shown_and_nothing_tagged_gives_nothing() -> None:
    empty = fold(HEAD, as_lines([]))
    assert list(agreed_entries(differences([empty, empty]))) == []
