"""The register of rulings, and a season's faults."""

import csv
import io
import json
from dataclasses import replace
from pathlib import Path

import pytest

from sessions.docket.claim_state import ClaimState, State, state_of
from sessions.docket.claims import ListedClaim
from sessions.docket.records import Held, records
from sessions.docket.register import (
    Register,
    RegisterError,
    register,
    register_csv,
    register_json,
    season,
    write_register,
)
from sessions.rules.rulebook import PICTURE
from sessions.ruling.ruling import Standing
from tests.sessions.docket.docket_samples import claim, review, ruled, run, scratched

FALLEN = ruled(
    claim("C-1", "6.1"),
    run("6.1", Standing.SCRATCH, ["start.still", "stop.free"], ["build.let-go"]),
    run("6.4", number=2),
)
OPEN = state_of(claim("C-2"), [])
HOSTILE = "=HYPERLINK(0)\u202e<b>[red]"


def table(listed: Register) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(register_csv(listed), newline="")))


def test_a_ruled_claim_is_a_row_that_says_all_of_it() -> None:
    (row,) = table(register([FALLEN]))
    assert row == {
        "claim": "C-1",
        "event": "3-3-3",
        "division": "U10",
        "competitor": "S-C-1",
        "claimed_time": "6.1",
        "record": "7.000",
        "standing": "scratch",
        "ruled_time": "6.4",
        "rules_broken": "start.still; stop.free",
        "doubts": "build.let-go",
        "reviewers": "one; two",
        "footage_sha256": "f" * 64,
        "session_sha256": "hash of C-1 by one; hash of C-1 by two",
        "made_at": "2031-05-04T09:30:03Z",
        "settled_by": "",
        "issued": "0",
        "issued_on": "",
        "changed_since": "no",
        "record_by_it": "",
    }


def test_a_claim_that_is_not_ruled_has_no_row() -> None:
    assert register([OPEN]) == Register(rulings=())
    assert [row.claim for row in register([OPEN, FALLEN]).rulings] == ["C-1"]


def test_a_settled_claim_names_both_reviewers_and_who_settled() -> None:
    one, two = review(run("6.000")), review(scratched("6.000"), reviewer="two")
    hashes = (one.sha256, two.sha256)
    umpire = review(scratched("6.000"), reviewer="umpire", settles=hashes)
    settled = state_of(claim(), [one, two, umpire])
    assert settled.state is State.SETTLED
    (row,) = register([settled]).rulings
    assert row.standing == "scratch"
    assert row.reviewers == ("one", "two", "umpire")
    assert row.session_sha256 == (*hashes, umpire.sha256)
    assert row.made_at == umpire.last_at


def test_where_nothing_stands_the_ruled_time_is_empty() -> None:
    listed = register([ruled(claim("C-1", "6.1"), scratched("6.1"))])
    assert table(listed)[0]["ruled_time"] == ""
    assert json.loads(register_json(listed))["rulings"][0]["ruled_time"] is None


def test_competitors_are_left_out_where_that_is_asked_for() -> None:
    listed = register([FALLEN], with_competitors=False)
    assert "competitor" not in table(listed)[0]
    assert "competitor" not in json.loads(register_json(listed))["rulings"][0]
    assert "S-C-1" not in register_csv(listed) + register_json(listed)


def test_hostile_text_is_shown_as_text_in_csv_and_kept_in_json() -> None:
    listed = register([ruled(claim("C-1", "6.1", division=HOSTILE), run("6.1"))])
    assert table(listed)[0]["division"] == "'=HYPERLINK(0)<U+202E><b>[red]"
    assert json.loads(register_json(listed))["rulings"][0]["division"] == HOSTILE


def test_the_json_register_is_read_back_by_its_model() -> None:
    listed = register([FALLEN])
    assert Register.model_validate_json(register_json(listed)) == listed


def test_an_empty_register_still_names_its_columns() -> None:
    assert register_csv(register([])).startswith("claim,event,division,claimed_time,record,")


@pytest.mark.parametrize("name", ["register.csv", "register.txt", "register.JSON"])
def test_the_name_of_the_file_chooses_csv_or_json(tmp_path: Path, name: str) -> None:
    listed = register([FALLEN])
    write_register(tmp_path / name, listed)
    is_json = name.endswith("JSON")
    text = register_json(listed) if is_json else "\ufeff" + register_csv(listed)
    assert (tmp_path / name).read_bytes() == text.encode()


def test_a_register_that_cannot_be_written_is_said_so(tmp_path: Path) -> None:
    with pytest.raises(RegisterError, match=r"cannot be written \(No such file or directory\)"):
        write_register(tmp_path / "none" / "register.csv", register([]))


def at(event: str, claim_id: str) -> ListedClaim:
    return claim(claim_id, "6.1", event=event)


SEASON = [
    OPEN,
    ruled(
        at("3-3-3", "a"), scratched("6.1"), scratched("6.2", 2), run("6.4", number=3),
        footage_sha256="a" * 64,
    ),
    ruled(
        at("3-3-3", "b"), run("6.1", Standing.SCRATCH, ["stop.free", PICTURE, "start.still"]),
        footage_sha256="b" * 64,
    ),
    ruled(
        at("cycle", "c"), run("6.1", Standing.VOID, ["cup.mark"]), footage_sha256="c" * 64
    ),
    ruled(at("cycle", "d"), run("6.1", broken=[PICTURE]), footage_sha256="d" * 64),
]  # fmt: skip


def test_a_season_counts_runs_by_the_rule_they_broke_and_the_event() -> None:
    found = season(SEASON)
    assert found.events == ("3-3-3", "cycle")
    assert found.rules_broken == ("start.still", "stop.free", "cup.mark")
    counts = [[found.count(rule, event) for event in found.events] for rule in found.rules_broken]
    assert counts == [[3, 0], [1, 0], [0, 1]]
    assert [found.total(rule) for rule in found.rules_broken] == [3, 1, 1]
    assert found.runs == {"3-3-3": 4, "cycle": 2}


def test_that_display_and_picture_part_is_no_fault_of_a_competitor() -> None:
    assert season(SEASON).total(PICTURE) == 0
    (row,) = register([SEASON[-1]]).rulings
    assert (row.standing, row.rules_broken, row.doubts) == ("in doubt", (), (PICTURE,))


def test_footage_that_two_claims_share_counts_once() -> None:
    states: list[ClaimState] = [
        ruled(claim(name, "6.1"), scratched("6.1"), run("6.4", number=2)) for name in ("a", "b")
    ]
    assert season(states).total("start.still") == 1


def test_a_season_without_rulings_is_empty() -> None:
    found = season([OPEN])
    assert (found.events, found.rules_broken) == ((), ())


def test_the_row_of_a_ruling_that_made_a_record_says_so() -> None:
    beaten = Held("3-3-3", "U10", "7.000", "S-1", "2024-01-01")
    made = Held("3-3-3", "U10", "6.4", "S-C-1", "2024-03-01", "C-1, ruling 1", "C-1")
    later = Held("3-3-3", "U10", "6.2", "S-9", "2024-04-01", "C-9, ruling 1", "C-9")

    def cell(*held: Held) -> str:
        listed = register([FALLEN], made=records(held, [], both_hold=True))
        return listed.rulings[0].record_by_it

    assert cell(beaten, made) == "6.4, before 7.000"
    assert cell(made) == "6.4, the first"
    assert cell(replace(beaten, time="6.400"), made) == "6.4, equals 6.400"
    assert cell(beaten, made, later) == "6.4, before 7.000, beaten since"
    assert cell(beaten) == ""
