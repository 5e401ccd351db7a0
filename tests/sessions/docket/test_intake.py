"""Taking in a results list: mapping, a spreadsheet's damage, pairing, and lines that are added."""

from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sessions.csv_safe import csv_text
from sessions.docket.claims import ListedClaim, claims_csv, parse_claims
from sessions.docket.intake import (
    UNNAMED,
    Origin,
    Results,
    ResultsError,
    Taken,
    appended,
    guess,
    lacking,
    numbered,
    pair,
    read_results,
    sort,
    take,
)

PATH = Path("results.csv")
COLUMNS = {
    "event": Origin(column="Discipline"),
    "division": Origin(always="U10"),
    "competitor": Origin(column="Stacker"),
    "time": Origin(column="Best"),
}
HEAD = "Discipline;Stacker;Best\n"


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "results.csv"


def results(path: Path, text: str | bytes) -> Results:
    path.write_bytes(text.encode() if isinstance(text, str) else text)
    return read_results(path)


def one(event: str = "cycle", stacker: str = "S-1", best: str = "7.1", **more: str) -> Taken:
    """The claim of a list of one line."""
    cells = {"Discipline": event, "Stacker": stacker, "Best": best, **more}
    columns = COLUMNS | {name: Origin(column=name) for name in more}
    (taken,) = take(Results(tuple(cells), ((2, cells),)), columns, PATH)
    return taken


def refusal(**cells: str) -> str:
    with pytest.raises(ResultsError) as caught:
        one(**cells)
    return str(caught.value)


@pytest.mark.parametrize("mark", [",", ";", "\t"])
@pytest.mark.parametrize("before", ["", "\ufeff", "\r\n\r\n"])
def test_any_mark_between_cells_is_found(path: Path, mark: str, before: str) -> None:
    text = f"{before}Discipline;Stacker;Best\r\ncycle;S-1;7.1\r\n".replace(";", mark)
    read = results(path, text)
    assert read.names == ("Discipline", "Stacker", "Best")
    assert [cells for _, cells in read.rows] == [
        {"Discipline": "cycle", "Stacker": "S-1", "Best": "7.1"}
    ]
    assert (read.example("Best"), read.example("Stacker")) == ("7.1", "S-1")


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "is empty"),
        ("A;B;A\n1;2;3\n", 'names the column "A" twice'),
        ("A;B\n\xff".encode("latin-1"), "is not UTF-8 text"),
        ('A;B\n"x', "is not CSV at line 2"),
    ],
)
def test_a_list_that_cannot_be_read_says_why(path: Path, text: str | bytes, said: str) -> None:
    with pytest.raises(ResultsError, match=said):
        results(path, text)


def test_a_missing_list_is_said_to_be_missing(path: Path) -> None:
    with pytest.raises(ResultsError, match="cannot be read"):
        read_results(path)


def test_columns_of_the_very_name_need_no_mapping(path: Path) -> None:
    read = results(path, "Event;TIME;Best\ncycle;7.1;x\n")
    assert guess(read) == {"event": Origin(column="Event"), "time": Origin(column="TIME")}
    assert lacking(guess(read)) == ("division",)
    assert lacking(COLUMNS) == ()


def test_a_column_that_the_list_has_not_is_named(path: Path) -> None:
    read = results(path, "Event;Best\ncycle;7.1\n")
    with pytest.raises(ResultsError, match='has no column "Discipline"; it has Event, Best'):
        take(read, COLUMNS, path)


def test_a_line_is_a_claim() -> None:
    assert one() == Taken(2, ListedClaim("", "cycle", "U10", "S-1", "7.1", "", ""))
    assert one(stacker="").claim.competitor == UNNAMED


# -- what a spreadsheet made of it

DAYS = {
    "3-3-3": ["03.03.2003", "3/3/03", "2003-03-03", "03-Mar-03", "3. mar 2003", "37683"],
    "3-6-3": ["03.06.2003", "6/3/2003", "2003-06-03", "3-Jun-03", "37775", "37686"],
}
"""What spreadsheets of several countries show for an event; the numbers were taken from one."""


@pytest.mark.parametrize(("event", "cell"), [(e, c) for e, cells in DAYS.items() for c in cells])
def test_an_event_that_was_made_a_day_is_recognised_and_named(event: str, cell: str) -> None:
    taken = one(event=cell)
    assert taken.claim.event == event
    assert taken.mended == (f'event "{cell}" is read as {event}',)


@pytest.mark.parametrize("cell", ["04.06.2003", "2003-13-45", "Tuesday", "99999", "31-Feb-03"])
def test_another_day_is_no_event(cell: str) -> None:
    assert f'line 2, column event: "{cell}" is no event' in refusal(event=cell)


@pytest.mark.parametrize("cell", ["CYCLE", "Cycle", "3 - 6 - 3", "3\u20136\u20133"])
def test_an_event_is_known_in_any_case_and_with_any_dash(cell: str) -> None:
    assert one(event=cell).claim.event in ("cycle", "3-6-3")


@pytest.mark.parametrize(
    ("cell", "time"),
    [
        ("7.065", "7.065"), ("7,065", "7.065"), ("7,065 s", "7.065"), ("7 sec", "7"),
        ("0:07.065", "7.065"), ("00:00:07,065", "7.065"), ("1:02.5", "62.5"), ("0:07", "7"),
    ],
)  # fmt: skip
def test_times_are_seconds_however_they_are_written(cell: str, time: str) -> None:
    assert one(best=cell).claim.time == time


def test_only_a_time_of_minutes_and_seconds_is_told_as_read_otherwise() -> None:
    assert one(best="7,065").mended == ()
    assert one(best="0:07.065").mended == ('time "0:07.065" is read as 7.065',)


@pytest.mark.parametrize(
    ("cell", "said"),
    [
        ("7065", "is more than ten minutes, most likely it lost its decimal mark"),
        ("fast", "is not a time in seconds"),
        ("", "it is empty, fill it in"),
        ("1:75.0", "is not a time in seconds"),
    ],
)
def test_a_time_that_cannot_be_meant_is_named(cell: str, said: str) -> None:
    told = refusal(best=cell)
    assert "line 2, column time: " in told
    assert said in told


@pytest.mark.parametrize(
    ("cell", "day"), [("2024-03-01", "2024-03-01"), ("1.3.2024", "2024-03-01"), ("", "")]
)
def test_a_day_may_be_written_in_the_order_of_the_country(cell: str, day: str) -> None:
    assert one(date=cell).claim.date == day


def test_every_bad_cell_is_named_up_to_twenty() -> None:
    cells = {"Discipline": "cycle", "Stacker": "S", "Best": "x"}
    rows = tuple((line, cells) for line in range(2, 25))
    with pytest.raises(ResultsError) as caught:
        take(Results(tuple(cells), rows), COLUMNS, PATH)
    assert "line 21, column time" in str(caught.value)
    assert "line 22, column time" not in str(caught.value)
    assert "; and 3 more; mend it" in str(caught.value)
    assert len(caught.value.problems) == 23


# -- footage


def taken(line: int, competitor: str, event: str = "cycle", time: str = "7.1", claim: str = "",
          footage: str = "") -> Taken:  # fmt: skip
    return Taken(line, ListedClaim(claim, event, "U10", competitor, time, "", footage))


def test_footage_is_paired_by_the_claim_s_id_or_the_competitor_s_code() -> None:
    files = ["footage/C-7.mp4", "footage/s-1 cycle.mp4", "footage/other.mp4"]
    lines = [taken(2, "S-9", claim="C-7"), taken(3, "S-1"), taken(4, "S-5")]
    assert pair(lines, files) == {2: "footage/C-7.mp4", 3: "footage/s-1 cycle.mp4"}


def test_a_code_within_another_word_is_not_it() -> None:
    assert pair([taken(2, "S-1")], ["S-10.mp4", "XS-1.mp4", "S-1a.mp4"]) == {}


def test_of_several_files_the_one_with_the_event_or_time_is_taken() -> None:
    files = ["S-1 3-3-3.mp4", "S-1 cycle.mp4", "S-1 2.4.mp4"]
    lines = [taken(2, "S-1"), taken(3, "S-1", "3-6-3", "2.4"), taken(4, "S-1", "3-6-3", "9.9")]
    assert pair(lines, files) == {2: "S-1 cycle.mp4", 3: "S-1 2.4.mp4"}


def test_a_line_that_names_its_footage_or_no_competitor_is_left_alone() -> None:
    files = [f"{UNNAMED}.mp4", "S-1.mp4"]
    assert pair([taken(2, "S-1", footage="a.mp4"), taken(3, UNNAMED)], files) == {}


# -- what is added


def listed(claim: str, competitor: str, time: str = "7.1") -> ListedClaim:
    return ListedClaim(claim, "cycle", "U10", competitor, time, "7.5", "footage/a.mp4")


def test_lines_are_new_or_known_or_say_otherwise_or_lack_footage() -> None:
    claims = [listed("C-1", "S-1"), listed("C-2", "S-2")]
    lines = [
        taken(2, "S-1"),  # the same claim without its id
        taken(3, "S-2", claim="c-2"),
        taken(4, "S-2", claim="C-2", time="6.9"),
        taken(5, "S-3", footage="b.mp4"),
        taken(6, "S-4"),
    ]
    found = sort(lines, claims)
    assert [[one.line for one in part] for part in (found.known, found.other)] == [[2, 3], [4]]
    assert [[one.line for one in part] for part in (found.new, found.without)] == [[5], [6]]


def test_claims_without_an_id_get_one_that_is_free() -> None:
    lines = numbered([taken(2, "A"), taken(3, "B", claim="c-002"), taken(4, "C")], ["C-001"])
    assert [one.claim.claim for one in lines] == ["C-003", "c-002", "C-004"]


@pytest.mark.parametrize("end", ["", "\n", "\r\n"])
def test_what_is_listed_already_stays_to_the_byte(end: str) -> None:
    old = (
        "Note;claim;Time;event;division;competitor;record;footage\n"
        f"first;C-1;7,1;cycle;U10;S-1;;a.mp4{end}"
    ).encode()
    new = replace(listed("C-2", "=S"), time="6.9")
    text = appended(old, [new])
    assert text.startswith(old)
    claims = parse_claims(text, Path("claims.csv"))
    assert [(c.claim, c.time, c.competitor) for c in claims] == [
        ("C-1", "7.1", "S-1"), ("C-2", "6.9", "=S"),
    ]  # fmt: skip


codes = st.text(alphabet="ab;,\"'=é ", min_size=1, max_size=5).filter(str.strip).map(str.strip)


@given(st.lists(codes, min_size=1, max_size=3), st.booleans())
def test_lines_of_any_text_come_back_as_they_were(names: list[str], semicolons: bool) -> None:
    first = claims_csv([listed("first", "S")])
    if semicolons:
        first = csv_text([line.split(",") for line in first.splitlines()], ";")
    claims = [listed(f"C-{n}", name) for n, name in enumerate(names)]
    read = parse_claims(appended(first.encode(), claims), Path("claims.csv"))
    assert list(read[1:]) == claims
