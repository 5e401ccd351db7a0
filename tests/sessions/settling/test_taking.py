"""What comes along with one side of a difference, yields to it, and comes back with the other."""

import pytest

from sessions.record.entries import Entry, Look
from sessions.record.session import Session
from sessions.ruling.judge import rule
from sessions.settling.differences import Differences, differences
from sessions.settling.merge import agreed_entries
from sessions.settling.taking import Taking, take_side
from tests.sessions.samples import faultless_run, header, session_of, standing_session
from tests.sessions.tags import session_from

HEAD = header("3-3-3")
CLEAN = standing_session(HEAD)
LATER: list[Entry] = [
    *(e for e in CLEAN if getattr(e, "run", None) is None),
    *faultless_run(HEAD.event, 1, 30),
]
"""The clean run with all that is said of it 30 frames later."""


def review(*tags: str, before: list[Entry] = CLEAN) -> Session:
    return session_from(HEAD, tags, *before)


def agreed(found: Differences) -> Session:
    return session_of(HEAD, agreed_entries(found))


def taking(found: Differences, key: str, side: int, session: Session) -> Taking:
    (dispute,) = [d for d in found.disputes if d.key == key]
    return take_side(found, dispute, side, session)


def taken(found: Differences, key: str, side: int, session: Session) -> Session:
    """The settling session once it has taken a side."""
    took = taking(found, key, side, session)
    kept = [line.entry for line in session.live if line not in took.retract]
    return session_of(HEAD, [*kept, *took.write])


def looks(session: Session) -> dict[str, int]:
    return {m.checkpoint: m.by.frame for m in session.runs[0].marks if isinstance(m, Look)}


def open_in(session: Session) -> set[str]:
    return {f.checkpoint for f in rule(session).runs[0].findings if f.outcome.is_open}


def test_what_all_agree_on_comes_along_where_another_review_s_frames_cannot_be_true() -> None:
    """A stop at 160 and hands flat by 140 cannot both be: flat is taken from the same review."""
    found = differences([review(), review(before=LATER)])
    took = taking(found, "1.stop", 1, agreed(found))
    assert took.along == ("Hands flat at stop",)
    session = taken(found, "1.stop", 1, agreed(found))
    assert (looks(session)["stop.flat"], looks(session)["f1.completed"]) == (170, 140)
    assert open_in(session) == {"clock"}


def test_a_reading_comes_along_where_the_clock_had_not_stopped_in_its_frame() -> None:
    """Who sighted no start has nothing to say of the clock, and yet read the display."""
    late = review("drop 1 start", before=[*LATER[:2], *shifted(60)])
    found = differences([review(), late])
    assert [d.key for d in found.disputes] == ["1.stop"]
    session = taken(found, "1.stop", 1, agreed(found))
    assert [reading.at.frame for reading in session.runs[0].readings] == [220]
    assert "record" not in open_in(session)


def test_a_reading_of_others_alone_yields_where_the_clock_had_not_stopped_in_its_frame() -> None:
    unread: list[Entry] = [e for e in shifted(60) if e.kind != "reading"]
    found = differences([review(), review(before=[*LATER[:2], *unread])])
    session = taken(found, "1.stop", 1, agreed(found))
    assert not session.runs[0].readings
    assert "record" not in open_in(session)
    session = taken(found, "1.stop", 0, session)
    assert [reading.at.frame for reading in session.runs[0].readings] == [160]


def test_a_reading_that_was_settled_does_not_yield() -> None:
    other: list[Entry] = [
        e.model_copy(update={"display": "4.005"}) if e.kind == "reading" else e for e in shifted(60)
    ]
    found = differences([review(), review(before=[*LATER[:2], *other])])
    session = taken(found, "1.reading", 0, agreed(found))
    session = taken(found, "1.stop", 1, session)
    assert [reading.display for reading in session.runs[0].readings] == ["4.004"]


def test_what_others_alone_looked_at_yields_by_the_order_of_the_run_and_comes_back() -> None:
    """Hands flat by 140, of the first alone, cannot be beside a stop at 150 of the second."""
    late = review("drop 1 stop.flat", "look 1 exact proven 155", "sighted 1 stop 149 150")
    found = differences([review(), late])
    assert [d.key for d in found.disputes] == ["1.stop"]
    session = taken(found, "1.stop", 1, agreed(found))
    assert "stop.flat" not in looks(session)
    assert open_in(session) == {"stop.flat"}
    assert looks(taken(found, "1.stop", 0, session))["stop.flat"] == 140


def shifted(frames: int) -> list[Entry]:
    return list(faultless_run(HEAD.event, 1, frames))


def test_a_fall_that_both_saw_is_taken_from_the_review_whose_repair_it_comes_before() -> None:
    fallen = [f"fumble 1 x1 f1.s1 up at {frame}" for frame in (50, 90)]
    found = differences(
        [review(fallen[1], "look 1 x1.repaired proven 100"),
         review(fallen[0], "look 1 x1.repaired unproven 59 60")]
    )  # fmt: skip
    assert [d.key for d in found.disputes] == ["1.x1.repaired"]
    took = taking(found, "1.x1.repaired", 1, agreed(found))
    assert took.along == ("Fumbles",)
    session = taken(found, "1.x1.repaired", 1, agreed(found))
    assert [fumble.at.frame for fumble in session.runs[0].fumbles] == [50]


@pytest.mark.parametrize("side", [0, 1])
def test_a_side_whose_tags_all_fit_brings_nothing_along(side: int) -> None:
    found = differences([review(), review("look 1 f1.s1.let-go refuted 60")])
    assert taking(found, "1.f1.s1.let-go", side, agreed(found)).along == ()


def test_a_tag_that_is_looked_at_anew_neither_comes_along_nor_yields() -> None:
    found = differences([review(), review(before=LATER)])
    session = session_from(HEAD, ["look 1 stop.flat proven 145"], *entries(agreed(found)))
    took = taking(found, "1.stop", 1, session)
    assert took.along == ()
    assert looks(taken(found, "1.stop", 1, session))["stop.flat"] == 145


def entries(session: Session) -> list[Entry]:
    return [line.entry for line in session.live]
