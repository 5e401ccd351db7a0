"""The fold: what of a journal still holds, and what it says."""

from hypothesis import given
from hypothesis import strategies as st

from sessions.record.entries import Entry, Line, Note, Retracted, Shown
from sessions.record.session import Session, dead_lines, fold, grow, living
from tests.sessions.samples import WHEN, as_lines, header, spot
from tests.sessions.tags import session_from

HEADER = header(frames=100)


def line(seq: int, entry: Entry | None = None, replaces: int | None = None) -> Line:
    said = entry or Note(text=f"line {seq}", at=spot(seq))
    return Line(seq=seq, at=WHEN, prev="0" * 64, entry=said, replaces=replaces)


@st.composite
def journals(draw: st.DrawFn) -> tuple[Line, ...]:
    """Notes, amendments and retractions of any earlier lines."""
    lines = [line(1)]
    for seq in range(2, draw(st.integers(1, 12)) + 1):
        earlier = draw(st.integers(1, seq - 1))
        sort = draw(st.sampled_from(["note", "retraction", "amendment"]))
        entry = Retracted(seq=earlier) if sort == "retraction" else None
        lines.append(line(seq, entry, earlier if sort == "amendment" else None))
    return tuple(lines)


def amended(one: Line, lines: tuple[Line, ...]) -> set[int]:
    """The line that this one amends, the line that that one amended, and so on."""
    if one.replaces is None:
        return set()
    return {one.replaces} | amended(lines[one.replaces - 1], lines)


def is_alive(one: Line, lines: tuple[Line, ...]) -> bool:
    """By definition: no living later line takes it back or has amended it in the end."""

    def ends(later: Line) -> bool:
        retracted = {later.entry.seq} if isinstance(later.entry, Retracted) else set()
        return one.seq in retracted | amended(later, lines)

    return not any(ends(later) and is_alive(later, lines) for later in lines)


def texts(lines: tuple[Line, ...]) -> list[str]:
    return [one.entry.text for one in living(lines) if isinstance(one.entry, Note)]


@given(journals())
def test_what_lives_is_what_no_living_line_takes_back(lines: tuple[Line, ...]) -> None:
    alive = [one for one in lines if is_alive(one, lines)]
    assert dead_lines(lines) == {one.seq for one in lines} - {one.seq for one in alive}
    assert living(lines) == tuple(o for o in alive if not isinstance(o.entry, Retracted))


@given(journals(), st.data())
def test_undoing_an_undo_changes_nothing(lines: tuple[Line, ...], data: st.DataObject) -> None:
    undone = data.draw(st.integers(1, len(lines)))
    undo = line(len(lines) + 1, Retracted(seq=undone))
    redo = line(len(lines) + 2, Retracted(seq=undo.seq))
    assert living((*lines, undo, redo)) == living(lines)


@given(journals())
def test_undoing_the_last_line_gives_the_session_before_it(lines: tuple[Line, ...]) -> None:
    undo = line(len(lines) + 1, Retracted(seq=len(lines)))
    assert living((*lines, undo)) == living(lines[:-1])


@given(journals(), st.data())
def test_undoing_twice_is_undoing_once(lines: tuple[Line, ...], data: st.DataObject) -> None:
    undone = Retracted(seq=data.draw(st.integers(1, len(lines))))
    once = (*lines, line(len(lines) + 1, undone))
    assert living((*once, line(len(once) + 1, undone))) == living(once)


def test_what_was_amended_twice_stays_amended() -> None:
    amended_twice = (line(1), line(2, replaces=1), line(3, replaces=2))
    assert texts(amended_twice) == ["line 3"]
    assert texts((*amended_twice, line(4, Retracted(seq=3)))) == ["line 2"]


def test_an_amendment_taken_back_brings_the_amended_line_to_life() -> None:
    two = (line(1), line(2, replaces=1))
    assert texts(two) == ["line 2"]
    assert texts((*two, line(3, Retracted(seq=2)))) == ["line 1"]


def test_a_session_keeps_notes_cups_and_frames_shown() -> None:
    session = session_from(HEADER, ["cups 1 2 proven at 5", "shown 0 40", "shown 30 98"])
    assert [entry.cups for entry in session.cups] == [(1, 2)]
    assert session.shown.ranges == ((0, 98),)
    assert session.unseen.ranges == ((99, 99),)
    assert not session.all_seen
    whole = fold(HEADER, (*session.lines, line(4, Shown(ranges=((99, 99),)))))
    assert whole.all_seen
    noted = fold(HEADER, as_lines([Note(text="cups set back", at=spot(3))]))
    assert [note.text for note in noted.notes] == ["cups set back"]


def test_runs_are_listed_in_the_order_of_the_footage() -> None:
    tags = ["open 2 attempt at 60", "open 1 attempt at 40", "open 3 warm-up at 10"]
    session = session_from(HEADER, tags)
    assert [run.id for run in session.runs] == [3, 1, 2]
    assert [run.counts for run in session.runs] == [False, True, True]


def test_a_run_is_found_by_its_id() -> None:
    session = session_from(HEADER, ["open 2 attempt at 60"])
    run = session.run(2)
    assert run is not None
    assert run.begins == spot(60)
    assert run.ends is None
    assert session.run(1) is None


def run_ids_at(session: Session, *frames: int) -> list[int | None]:
    found = [session.run_at(frame) for frame in frames]
    return [None if run is None else run.id for run in found]


def test_a_frame_belongs_to_the_last_run_begun_and_not_yet_ended() -> None:
    tags = ["open 1 attempt at 10", "close 1 at 20", "open 2 attempt at 40"]
    session = session_from(HEADER, tags)
    assert run_ids_at(session, 9, 10, 20, 21, 39, 40, 99) == [None, 1, 1, None, None, 2, 2]


def test_lines_about_a_run_that_was_never_begun_are_orphans_but_for_notes() -> None:
    session = session_from(HEADER, ["look 1 exact proven 5"])
    assert [o.seq for o in session.orphans] == [1]
    note = fold(HEADER, as_lines([Note(run=1, text="a remark", at=spot(2))]))
    assert note.orphans == ()
    assert note.runs == ()


def test_a_run_names_every_frame_of_its_marks() -> None:
    tags = ["open 1 attempt at 0", "sighted 1 start 3 4", "look 1 exact proven 9"]
    run = session_from(HEADER, tags).runs[0]
    assert {place.frame for place in run.spots} == {3, 4, 9}


def test_a_run_of_two_minds_about_its_sort_counts() -> None:
    run = session_from(HEADER, ["open 1 warm-up at 0", "open 1 rearranging at 0"]).runs[0]
    assert run.sort == "attempt"
    assert run.counts


def test_an_amended_retraction_brings_back_what_it_took_also_where_the_session_grew() -> None:
    head = header()
    entries: list[Entry] = [
        Shown(ranges=((0, 1),)), Retracted(seq=1), Shown(ranges=((2, 3),)),
    ]  # fmt: skip
    lines = as_lines(entries)
    amending = lines[2].model_copy(update={"replaces": 2})
    whole = (*lines[:2], amending)
    assert grow(fold(head, lines[:2]), [amending]) == fold(head, whole)
    assert len(fold(head, lines[:2]).shown) == 0
    assert fold(head, whole).shown.ranges == ((0, 3),)
