"""The claims file: what it may hold, what it refuses, and what a spreadsheet makes of it."""

from collections.abc import Sequence
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sessions.csv_safe import csv_text, guarded, unguarded
from sessions.docket.claims import (
    COLUMNS,
    ClaimsError,
    ListedClaim,
    claims_csv,
    parse_claims,
    read_claims,
    write_claims,
)
from sessions.exact import micros
from sessions.rules.events import event_names

FILE = Path("claims.csv")
NAMES = "claim,event,division,competitor,time,record,footage"
ROW = "C-1,cycle,U10,S-204,6.482,6.510,footage/a.mp4"
LISTED = ListedClaim("C-1", "cycle", "U10", "S-204", "6.482", "6.510", "footage/a.mp4")


def parsed(text: str) -> tuple[ListedClaim, ...]:
    return parse_claims(text.encode(), FILE)


def refusal(text: str | bytes) -> str:
    data = text.encode() if isinstance(text, str) else text
    with pytest.raises(ClaimsError) as caught:
        parse_claims(data, FILE)
    return str(caught.value)


@pytest.mark.parametrize(
    "text",
    [
        f"{NAMES}\n{ROW}\n",
        f"\ufeff{NAMES}\r\n{ROW}\r\n",
        f"{NAMES}\r{ROW}\r",
        f"\n{NAMES}\n\n,,,,,,\n{ROW}",
        f"{NAMES},,\n{ROW},, \n",
        f"{NAMES.replace(',', ';')}\n{ROW.replace(',', ';').replace('.482', ',482')}\n",
        f"{NAMES.upper()}\n{ROW}\n",
        '"claim", event ,division,competitor,time,record,footage\n' + ROW.replace(",", " , "),
        'claim;"event";division;competitor;time;record;footage\n' + ROW.replace(",", ";"),
    ],
)
def test_one_claim_is_read_however_it_is_written(text: str) -> None:
    assert parsed(text) == (LISTED,)


def test_columns_come_in_any_order_and_further_ones_are_left_aside() -> None:
    read = parsed(
        "Club,footage,record,time,competitor,division,event,claim\n"
        "Reds,footage/a.mp4,6.510,6.482,S-204,U10,cycle,C-1\n"
    )
    assert read == (LISTED,)


def test_a_claim_without_a_standing_record_has_none() -> None:
    (listed,) = parsed(f"{NAMES}\nC-1,cycle,U10,S-204,6.482,,a.mp4\n")
    assert (listed.record, listed.record_micros) == ("", None)


def test_times_are_whole_microseconds() -> None:
    assert (LISTED.time_micros, LISTED.record_micros) == (6_482_000, 6_510_000)
    assert [micros(t) for t in ("6", "6.4", "6.482001")] == [6_000_000, 6_400_000, 6_482_001]


def test_the_day_of_the_performance_may_be_told() -> None:
    (listed,) = parsed(f"{NAMES},date\n{ROW},2024-02-29\n")
    assert listed.date == "2024-02-29"
    assert parsed(f"{NAMES},date\n{ROW},\n") == (LISTED,)


@pytest.mark.parametrize("day", ["2023-02-29", "1.3.2024", "20240301", "2024-3-1"])
def test_a_day_that_is_none_is_refused(day: str) -> None:
    said = f'line 2, column date: "{day}" is no day, write it like 2024-03-01'
    assert said in refusal(f"{NAMES},date\n{ROW},{day}\n")


def test_a_row_that_ends_early_lacks_its_last_cells() -> None:
    assert refusal(f"{NAMES}\nC-1,cycle,U10,S-204,6.482\n") == (
        "The claims file claims.csv does not hold: "
        "line 2, column footage: it is empty, fill it in; mend and read it again."
    )


@pytest.mark.parametrize(
    ("row", "said"),
    [
        (ROW.replace("C-1", ""), "line 2, column claim: it is empty, fill it in"),
        (ROW.replace("6.482", "6:48"), 'column time: "6:48" is not a time in seconds, write it'),
        (ROW.replace("6.482", "-6.48"), 'column time: "-6.48" is not a time in seconds'),
        (ROW.replace("6.482", "0.000"), 'column time: "0.000" is no time, write seconds above 0'),
        (ROW.replace("6.482", "6.4820001"), 'column time: "6.4820001" is not a time'),
        (ROW.replace("6.482", "٦"), 'column time: "٦" is not a time'),
        (
            ROW.replace("cycle", "cyle"),
            'line 2, column event: "cyle" is no event, take one of 3-3-3, 3-6-3, cycle, '
            "or the path of a .toml file",
        ),
        (
            ROW.replace("cycle", "own.toml"),
            'line 2, column event: "own.toml" is not there, put that file into the docket',
        ),
        (
            ROW.replace("cycle", "../own.toml"),
            'line 2, column event: "../own.toml" leads out of the docket',
        ),
        (ROW.replace("6.510", "none"), 'column record: "none" is not a time'),
        (ROW.replace("footage/", "/"), 'column footage: "/a.mp4" leads out of the docket'),
        (ROW.replace("footage", ".."), 'column footage: "../a.mp4" leads out of the docket'),
        (ROW.replace("a.mp4", "a\0"), 'column footage: "footage/a<U+0000>" holds a character'),
        (ROW.replace("U10", "d" * 81), "is longer than 80 characters, shorten it"),
        (ROW.replace("C-1", "c" * 81), "is longer than 80 characters, shorten it"),
        (ROW.replace("C-1", "é" * 20), "is too long for a file name once encoded"),
        (ROW.replace("6.482", "6,482"), "line 2, column 8: the first line names no such column"),
        (f"{ROW}\n\n{ROW}", 'line 4, column claim: "C-1" is on line 2 already, give it its own'),
        (f"{ROW}\n{ROW.lower()}", 'line 3, column claim: "c-1" is on line 2 already'),
        (f'{ROW}\nC-2,cycle,"U\n10",S,x,,a', "line 3, column time"),
        (ROW.replace("6.482", "\u202e6"), 'column time: "<U+202E>6" is not a time'),
    ],
)
def test_a_bad_cell_is_named_by_line_column_and_remedy(row: str, said: str) -> None:
    message = refusal(f"{NAMES}\n{row}\n")
    assert said in message
    assert message.startswith("The claims file claims.csv does not hold: ")


def test_an_event_file_that_is_in_the_docket_is_taken(tmp_path: Path) -> None:
    (tmp_path / "own.toml").touch()
    path = tmp_path / "claims.csv"
    path.write_text(f"{NAMES}\n{ROW.replace('cycle', 'own.toml')}\n", encoding="utf-8")
    assert [claim.event for claim in read_claims(path)] == ["own.toml"]


def test_the_first_twenty_bad_cells_are_named_and_the_rest_counted() -> None:
    rows = "\n".join(f"C-{n},cycle,U10,S,x,,a" for n in range(23))
    data = f"{NAMES}\n{rows}\n".encode()
    with pytest.raises(ClaimsError) as caught:
        parse_claims(data, FILE)
    message = str(caught.value)
    assert "does not hold in 23 lines: line 2," in message
    assert "line 21, " in message
    assert "line 22, " not in message
    assert message.endswith("; and 3 more; mend and read it again.")
    assert [problem.line for problem in caught.value.problems] == list(range(2, 25))


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "lacks the columns claim, event, division, competitor, time, record and footage"),
        ("time;record", "lacks the columns claim, event, division, competitor and footage"),
        (NAMES.replace("record", "recrod"), "lacks the column record in its first line"),
        (f"{NAMES},time", "has the column time twice in its first line"),
        (f'{NAMES}\n{ROW}\nC-2,"cycle', "is not CSV at line 3 (unexpected end of data)"),
        (f'{NAMES}\nC-2,"{"x" * 200_000}"', "is not CSV at line 2 (field larger than"),
        (f"{NAMES}\n{ROW}\n".encode("utf-16"), "is not UTF-8 text at line 1"),
        (f"{NAMES}\nÄ{ROW}\n".encode("latin-1"), "is not UTF-8 text at line 2"),
        (b"\xef\xbb\xbf" + f"{NAMES}\n".encode() + b"\xff", "is not UTF-8 text at line 2"),
        (f'"{"x" * 200_000}', "is not CSV at line 1"),
    ],
)
def test_a_file_that_is_no_claims_file_is_refused(text: str | bytes, said: str) -> None:
    assert said in refusal(text)


def test_a_missing_file_is_said_to_be_missing(tmp_path: Path) -> None:
    with pytest.raises(ClaimsError, match=r"none\.csv cannot be read \(No such file"):
        read_claims(tmp_path / "none.csv")


def test_a_written_file_is_read_back(tmp_path: Path) -> None:
    write_claims(tmp_path / "claims.csv", [LISTED])
    assert read_claims(tmp_path / "claims.csv") == (LISTED,)
    assert [entry.name for entry in tmp_path.iterdir()] == ["claims.csv"]


def test_a_file_that_cannot_be_written_is_said_so_and_leaves_nothing(tmp_path: Path) -> None:
    (tmp_path / "claims.csv").mkdir()
    with pytest.raises(ClaimsError, match=r"claims\.csv cannot be written \(Is a directory"):
        write_claims(tmp_path / "claims.csv", [LISTED])
    assert [entry.name for entry in tmp_path.iterdir()] == ["claims.csv"]


@pytest.mark.parametrize("text", ["=1+1", "+1", "-1", "@x", "\tx", "\rx", "'=x", "''@x"])
def test_no_cell_is_written_so_that_a_spreadsheet_runs_it(text: str) -> None:
    assert guarded(text) == f"'{text}"
    assert unguarded(guarded(text)) == text


@pytest.mark.parametrize("text", ["", "x=1", "'x", "6.482", "''"])
def test_harmless_cells_are_written_as_they_are(text: str) -> None:
    assert guarded(text) == text == unguarded(text)


@given(st.text(alphabet="'=+-@\t\rab"))
def test_guarding_loses_no_text(text: str) -> None:
    assert unguarded(guarded(text)) == text
    assert not guarded(text).startswith(("=", "+", "-", "@", "\t", "\r"))


def texts(longest: int) -> st.SearchStrategy[str]:
    """Hostile text: formulas, quotes, line breaks, delimiters, markup, direction marks."""
    hostile = "'\"=+-@\t\r\n,; <[\u202eé\0a1"
    texts = st.text(st.sampled_from(hostile), min_size=1, max_size=longest)
    return texts.map(lambda text: text.strip(" ")).filter(str.strip)


@st.composite
def listed_claims(draw: st.DrawFn) -> list[ListedClaim]:
    ids = draw(st.lists(texts(15), max_size=4, unique_by=str.casefold))
    times = st.sampled_from(["6.482", "12", "0.000001", "9999.999999"])
    return [
        ListedClaim(
            name,
            draw(st.sampled_from(event_names())),
            draw(texts(20)),
            draw(texts(20)),
            draw(times),
            draw(times | st.just("")),
            draw(st.sampled_from(["footage/a.mp4", "=b.mp4", "-c d.mp4", "\t.mp4"])),
        )
        for name in ids
    ]


@given(listed_claims())
def test_hostile_text_comes_back_as_it_was(claims: Sequence[ListedClaim]) -> None:
    assert parsed(claims_csv(claims)) == tuple(claims)


def test_csv_is_written_as_rfc_4180_says() -> None:
    # RFC 4180, 2: CRLF ends a record; a cell with comma, quote or line break is in quotes, and a
    # quote in it is doubled
    assert csv_text([["a,b", 'c"d', "e\nf", "g"]]) == '"a,b","c""d","e\nf",g\r\n'


def test_every_column_is_documented_with_an_example_that_holds() -> None:
    assert [column.name for column in COLUMNS] == [*NAMES.split(","), "date"]
    for column in COLUMNS:
        assert column.meaning
        assert column.problem(column.example) == ""
