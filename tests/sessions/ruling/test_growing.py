"""A session that grows by a few lines at a time says, and is ruled, as if it were read whole."""

from collections.abc import Sequence

from hypothesis import HealthCheck, given
from hypothesis import strategies as st

from sessions.record.entries import Finished, Line, Look, Note, Reopened, Retracted
from sessions.record.session import Session, dead_lines, fold, grow, living
from sessions.ruling.checker import CheckedRuns, check_run
from sessions.ruling.judge import JudgedRuns, rule
from tests.proofs import examples
from tests.sessions.samples import WHEN, as_lines, header, session_of, spot, standing_session
from tests.sessions.strategies import Drawn, drawn_sessions

GROWING = examples(few=20, many=100, suppress_health_check=list(HealthCheck))


def line(seq: int, entry: object, replaces: int | None = None) -> Line:
    fields = {"seq": seq, "at": WHEN, "prev": "0" * 64, "entry": entry, "replaces": replaces}
    return Line.model_validate(fields)


@st.composite
def journals(draw: st.DrawFn) -> tuple[Drawn, tuple[Line, ...]]:
    """The lines of a random session in any order, some taken back, amended, or brought back."""
    drawn = draw(drawn_sessions())
    entries = draw(st.permutations(drawn.entries))
    lines: list[Line] = []
    for entry in entries:
        what = draw(st.sampled_from(["plain"] * 5 + ["amend", "retract", "finish", "reopen"]))
        seq = len(lines) + 1
        if what == "retract" and lines:
            lines.append(line(seq, Retracted(seq=draw(st.integers(1, len(lines))))))
        elif what == "finish":
            lines.append(line(seq, Finished(blind=True)))
        elif what == "reopen":
            lines.append(line(seq, Reopened(reason="a finger was missed")))
        earlier = draw(st.integers(1, len(lines))) if what == "amend" and lines else None
        lines.append(line(len(lines) + 1, entry, earlier))
    return drawn, tuple(lines)


def pieces(lines: Sequence[Line], cuts: Sequence[int]) -> list[Sequence[Line]]:
    ends = sorted({cut for cut in cuts if cut < len(lines)} | {len(lines)})
    return [lines[first:last] for first, last in zip([0, *ends], ends, strict=False)]


@GROWING
@given(journals(), st.lists(st.integers(1, 60), max_size=8))
def test_a_session_that_grows_is_the_session_read_whole(
    journal: tuple[Drawn, tuple[Line, ...]], cuts: list[int]
) -> None:
    drawn, lines = journal
    session, judged = Session(drawn.header), JudgedRuns()
    for piece in pieces(lines, cuts):
        before = {run.id: run for run in session.runs}
        session = grow(session, piece)
        whole = fold(drawn.header, session.lines)
        assert session == whole
        assert session.dead == dead_lines(session.lines)
        assert session.live == living(session.lines)
        assert judged.rule(session) == rule(whole)
        for run in session.runs:
            assert judged.check(session, run) == check_run(whole, run)
            spoken_of = {getattr(one.entry, "run", None) for one in piece}
            takes_back = any(isinstance(o.entry, Retracted) or o.replaces for o in piece)
            if run == before.get(run.id) and run.id not in spoken_of and not takes_back:
                assert run is before[run.id]


def test_a_run_that_no_new_line_speaks_of_is_left_as_it_is_and_judged_once() -> None:
    head = header("3-3-3")
    session = session_of(head, standing_session(head, runs=3))
    checked = CheckedRuns()
    findings = [checked.check(session, run) for run in session.runs]
    look = Look(run=2, checkpoint="exact", saw="refuted", by=spot(420))
    last = len(session.lines)
    grown = grow(session, [line(last + 1, look), line(last + 2, Note(text="a", at=spot(1)))])
    assert [run is old for run, old in zip(grown.runs, session.runs, strict=True)] == [
        True, False, True,
    ]  # fmt: skip
    again = [checked.check(grown, run) for run in grown.runs]
    assert [new is old for new, old in zip(again, findings, strict=True)] == [True, False, True]


def test_taking_a_tag_back_judges_the_run_that_it_was_of_anew_and_no_other() -> None:
    head = header("3-3-3")
    entries = standing_session(head, runs=2)
    session = session_of(head, entries)
    tag = next(one for one in as_lines(entries) if isinstance(one.entry, Look))
    grown = grow(session, [line(len(entries) + 1, Retracted(seq=tag.seq))])
    assert grown.runs[0] is not session.runs[0]
    assert grown.runs[1] is session.runs[1]
    assert len(grown.runs[0].marks) == len(session.runs[0].marks) - 1


def test_a_run_begun_behind_another_bounds_where_that_ones_display_is_read() -> None:
    head = header("3-3-3")
    session = session_of(head, standing_session(head, runs=2))
    assert [run.next_begins for run in session.runs] == [300, None]
    begun = next(one for one in session.lines if getattr(one.entry, "run", None) == 2)
    without = grow(session, [line(len(session.lines) + 1, Retracted(seq=begun.seq))])
    assert [run.next_begins for run in without.runs] == [None]
    assert without.orphans
