"""The records: the league's list, what issued rulings made of it, and what a later one takes back.

The order of days and the sharing of equal times are settings of the league, from memory.
"""

from dataclasses import replace
from itertools import permutations
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sessions.docket.records import (
    COLUMNS,
    Held,
    Records,
    RecordsError,
    by_claims,
    read_records,
    records,
    with_records,
)
from sessions.exact import micros
from tests.sessions.docket.docket_samples import claim

U10 = ("cycle", "U10")
LISTED = Held(*U10, "7.600", "S-204", "2023-05-14")


def ruled(time: str, day: str, claim_id: str = "C-1") -> Held:
    by = f"{claim_id}, ruling 1"
    return Held(*U10, time, f"S-{claim_id}", day, ruling=by, claim=claim_id)


def stands(*times: Held, both_hold: bool = True) -> list[str]:
    found = records([LISTED], times, both_hold=both_hold)
    return [f"{held.time} {held.holder}" for held in found.standing(U10)]


def test_the_league_s_record_stands_until_a_ruling_beats_it() -> None:
    assert stands() == ["7.600 S-204"]
    assert stands(ruled("7.601", "2024-03-01")) == ["7.600 S-204"]
    assert stands(ruled("7.486", "2024-03-01")) == ["7.486 S-C-1"]


def test_the_step_says_what_stood_before() -> None:
    found = records([LISTED], [ruled("7.486", "2024-03-01")], both_hold=True)
    step = found.by_claim("C-1")
    assert step is not None
    assert (step.held.time, step.before, step.stands, step.equals) == (
        "7.486", (LISTED,), True, False,
    )  # fmt: skip
    assert found.by_claim("C-2") is None


def test_a_record_that_was_beaten_later_is_told_as_one_that_stood() -> None:
    found = records(
        [LISTED],
        [ruled("7.486", "2024-03-01"), ruled("7.100", "2024-04-01", "C-2")],
        both_hold=True,
    )
    assert [(one.held.time, one.stands) for one in found.progress[U10]] == [
        ("7.600", False), ("7.486", False), ("7.100", True),
    ]  # fmt: skip


def test_where_a_later_ruling_takes_a_time_back_the_record_before_stands_again() -> None:
    with_it = [ruled("7.486", "2024-03-01"), ruled("7.100", "2024-04-01", "C-2")]
    assert stands(*with_it) == ["7.100 S-C-2"]
    assert stands(*with_it[:1]) == ["7.486 S-C-1"]  # C-2 is a scratch by appeal
    assert stands() == ["7.600 S-204"]


def test_a_performance_of_an_earlier_day_was_the_record_though_it_was_ruled_on_later() -> None:
    found = records(
        [LISTED],
        [ruled("7.100", "2024-04-01", "C-2"), ruled("7.486", "2024-03-01")],
        both_hold=True,
    )
    assert [one.held.claim for one in found.progress[U10]] == ["", "C-1", "C-2"]


def test_of_one_day_only_the_fastest_was_a_record() -> None:
    same_day = [ruled("7.500", "2024-03-01"), ruled("7.486", "2024-03-01", "C-2")]
    found = records([LISTED], same_day, both_hold=True)
    assert [one.held.time for one in found.progress[U10]] == ["7.600", "7.486"]


@pytest.mark.parametrize(
    ("both_hold", "holders"),
    [(True, ["7.600 S-204", "7.60 S-C-1"]), (False, ["7.600 S-204"])],
)
def test_an_equal_time_shares_the_record_where_the_league_has_it_so(
    both_hold: bool, holders: list[str]
) -> None:
    assert stands(ruled("7.60", "2024-03-01"), both_hold=both_hold) == holders


def test_two_who_shared_a_record_lose_it_together() -> None:
    equal, faster = ruled("7.6", "2024-03-01"), ruled("7.5", "2024-04-01", "C-2")
    found = records([LISTED], [equal, faster], both_hold=True)
    (last,) = (one for one in found.progress[U10] if one.held == faster)
    assert last.before == (LISTED, equal)
    assert found.progress[U10][1].equals


def test_events_and_divisions_have_records_of_their_own() -> None:
    other = replace(ruled("5.000", "2024-03-01"), division="U12")
    found = records([LISTED], [other], both_hold=True)
    assert [h.time for h in found.standing(U10)] == ["7.600"]
    assert [h.time for h in found.standing(("cycle", "U12"))] == ["5.000"]
    assert found.standing(("3-3-3", "U10")) == ()


times = st.sampled_from(["6.0", "6.000", "6.5", "7.0"])
days = st.sampled_from(["", "2024-03-01", "2024-03-02"])


@given(st.lists(st.tuples(times, days), max_size=5), st.booleans())
def test_what_stands_is_the_fastest_time_in_whatever_order_it_is_told(
    told: list[tuple[str, str]], both_hold: bool
) -> None:
    held = [ruled(time, day, f"C-{n}") for n, (time, day) in enumerate(told)]
    found = [records([], order, both_hold=both_hold) for order in list(permutations(held))[:24]]
    assert all(one == found[0] for one in found)
    standing = found[0].standing(U10)
    if not held:
        assert standing == ()
        return
    best = min(micros(one.time) for one in held)
    equal = [one for one in held if micros(one.time) == best]
    if both_hold:
        assert {one.claim for one in standing} == {one.claim for one in equal}
    else:
        assert [one.day for one in standing] == [min(one.day for one in equal)]
    beaten = [micros(one.held.time) for one in found[0].progress[U10]]
    assert beaten == sorted(beaten, reverse=True)


# -- the list in the docket

HEAD = "event,division,time,holder,date,ruling"


def test_the_list_is_read_with_all_that_it_tells(tmp_path: Path) -> None:
    path = tmp_path / "records.csv"
    path.write_text(f'{HEAD}\ncycle,U10,"7,600",S-204,2023-05-14,old 7\n', encoding="utf-8")
    assert read_records(path) == (replace(LISTED, ruling="old 7"),)


def test_holder_day_and_ruling_may_be_unknown(tmp_path: Path) -> None:
    path = tmp_path / "records.csv"
    path.write_text("time;event;division;holder\n7,6;cycle;U10;\n", encoding="utf-8")
    assert read_records(path) == (Held(*U10, "7.6", "", ""),)
    assert read_records(tmp_path / "none.csv") == ()


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("event,time,holder", "lacks the column division in its first line"),
        (f"{HEAD}\ncycle,U10,fast,S-1,,", 'line 2, column time: "fast" is not a time in seconds'),
        (f"{HEAD}\ncircle,U10,7.6,S-1,,", 'line 2, column event: "circle" is no event'),
        (f"{HEAD}\ncycle,U10,7.6,S-1,yesterday,", 'column date: "yesterday" is no day'),
    ],
)
def test_a_list_that_does_not_hold_names_file_line_and_column(
    tmp_path: Path, text: str, said: str
) -> None:
    path = tmp_path / "records.csv"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(RecordsError) as caught:
        read_records(path)
    assert str(caught.value).startswith(f"The list of records {path} ")
    assert said in str(caught.value)


def test_every_column_is_documented_with_an_example_that_holds() -> None:
    for column in COLUMNS:
        assert column.meaning
        assert column.problem(column.example) == ""


def test_where_the_list_has_none_the_slowest_record_of_the_claims_was_the_first() -> None:
    claims = [
        claim("C-1", record="7.000"),
        claim("C-2", record="6.500"),
        claim("C-3", record="", division="U12"),
        claim("C-4", record="9.000", event="cycle"),
    ]
    assert by_claims(claims, [LISTED]) == (Held("3-3-3", "U10", "7.000", "", ""),)


def test_a_claim_that_names_no_record_takes_the_fastest_of_the_list() -> None:
    listed = [LISTED, replace(LISTED, time="7.500")]
    silent = claim("C-1", record="", event="cycle")
    named = claim("C-2", record="7.55", event="cycle")
    elsewhere = claim("C-3", record="")
    told = with_records([silent, named, elsewhere], listed)
    assert [one.record for one in told] == ["7.500", "7.55", ""]


def test_no_records_are_no_records() -> None:
    assert Records({}).standing(U10) == ()
