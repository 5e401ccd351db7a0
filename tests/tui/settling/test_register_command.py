"""``framecall register`` and ``framecall season``: every ruling, and what went wrong most."""

import csv
import io
import json
from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sessions.docket.claim_state import ClaimState
from sessions.docket.docket import DocketFolder
from sessions.docket.register import Register
from sessions.record.header import Claim
from sessions.ruling.ruling import Standing
from tests.sessions.docket.docket_samples import claim, ruled, run, scratched
from tests.tui.cli.conftest import Call
from tests.tui.documents.papers import STANDS, document, session
from tests.tui.settling.settlers import docket_of, one_fault, right_entries
from tui.cli.register import EIGHTHS, bar, register_text, season_text
from tui.documents.issuing import document_set


@pytest.fixture
def scratch(tmp_path: Path) -> DocketFolder:
    """One claim, whose run both reviewers found at fault."""
    return docket_of(tmp_path, one_fault(), one_fault())


@pytest.mark.parametrize("command", ["register", "season"])
def test_no_docket_is_refused(framecall: Call, tmp_path: Path, command: str) -> None:
    assert "claims.csv cannot be read" in framecall(command, tmp_path).sentence()


@pytest.mark.parametrize("command", ["register", "season"])
def test_nothing_ruled_is_said(framecall: Call, tmp_path: Path, command: str) -> None:
    folder = docket_of(tmp_path, right_entries())
    assert framecall(command, folder.path).out.startswith("No claim is ruled yet")


def test_the_register_is_a_table_for_people(framecall: Call, scratch: DocketFolder) -> None:
    head, row, *cautions = framecall("register", scratch.path).out.splitlines()
    assert "aid to the officer" in " ".join(cautions)
    assert head.split()[:3] == ["claim", "event", "division"]
    assert row.split() == [
        "C-1", "3-3-3", "U10", "1.715", "scratch", "1.883", "-", "build.let-go", "R1", "R2", "-",
    ]  # fmt: skip


def test_doubts_are_told_apart_from_faults() -> None:
    state = ruled(claim(), run("6.000", doubtful=["start.still"]))
    assert "doubt: start.still" in register_text(_register(state))
    assert register_text(Register(rulings=())) == "No claim is ruled yet.\n"


def _register(*states: ClaimState) -> Register:
    from sessions.docket.register import register

    return register(states)


def test_csv_and_json_hold_the_same_rulings(framecall: Call, scratch: DocketFolder) -> None:
    rows = list(csv.DictReader(io.StringIO(framecall("register", scratch.path, "--csv").out)))
    told = json.loads(framecall("register", scratch.path, "--json").out)
    assert [row["claim"] for row in rows] == [r["claim"] for r in told["rulings"]] == ["C-1"]
    assert rows[0]["competitor"] == told["rulings"][0]["competitor"] == "LQ-003"


@pytest.mark.parametrize("form", ["--csv", "--json"])
def test_competitors_are_left_out_on_request(
    framecall: Call, scratch: DocketFolder, form: str
) -> None:
    assert "LQ-003" in framecall("register", scratch.path, form).out
    assert "LQ-003" not in framecall("register", scratch.path, form, "--anonymous").out


@pytest.mark.parametrize(
    ("name", "reader"),
    [
        ("r.json", lambda text: json.loads(text)["rulings"]),
        ("r.CSV", lambda text: list(csv.DictReader(io.StringIO(text.removeprefix("\ufeff"))))),
    ],
)
def test_a_file_is_written_as_its_ending_says(
    framecall: Call, scratch: DocketFolder, tmp_path: Path, name: str,
    reader: Callable[[str], list[dict[str, object]]],
) -> None:  # fmt: skip
    path = tmp_path / name
    told = framecall("register", scratch.path, "--out", path)
    assert told.out == f"1 ruling in {path}\n"
    assert [row["claim"] for row in reader(path.read_text())] == ["C-1"]


@pytest.mark.parametrize(
    ("options", "words"),
    [(["r.txt"], "ends in .csv or .json"), (["r.csv", "--json"], "ends in .json")],
)
def test_an_ending_that_says_otherwise_is_refused(
    framecall: Call, scratch: DocketFolder, options: list[str], words: str
) -> None:
    assert words in framecall("register", scratch.path, "--out", *options).sentence()


def test_a_place_that_takes_no_file_is_refused(framecall: Call, scratch: DocketFolder) -> None:
    said = framecall("register", scratch.path, "--out", scratch.path / "no" / "r.csv").sentence()
    assert "cannot be written" in said


# -- the season


def two_events() -> list[ClaimState]:
    """Two of four attempts at the 3-3-3 at fault in one rule, one of three cycles in another."""
    rule = "down.two-hands"
    runs = [scratched("6.000", 1, rule), scratched("6.100", 2, rule), run("6.2", number=3)]
    other = [run("6.000"), run("6.3", Standing.SCRATCH, ["stop.free"], number=2)]
    return [
        ruled(claim("C-1"), *runs, run("6.4", number=4), footage_sha256="a" * 64),
        ruled(claim("C-2", event="cycle"), *other, run("7", number=3), footage_sha256="b" * 64),
    ]


def test_faults_are_counted_by_rule_and_event() -> None:
    text = season_text(two_events(), 80)
    head, table, *_ = text.split("\n\n")
    assert head == "2 claims ruled; attempts on their footage: 3-3-3 4, cycle 3"
    rows = [line.split() for line in table.splitlines()]
    assert rows[0] == ["rule", "broken", "3-3-3", "cycle", "all"]
    assert rows[1] == ["down.two-hands", "2", "-", "2"]
    assert rows[2] == ["stop.free", "-", "1", "1"]


def test_bars_of_all_events_have_one_scale() -> None:
    lines = season_text(two_events(), 80).splitlines()
    longest = next(line for line in lines if line.startswith("down.two-hands   50 %"))
    other = next(line for line in lines if line.startswith("stop.free        33 %"))
    assert longest.count("█") == 40
    # a third is two thirds of a half: 26 and 5.33 eighths of a cell
    assert other.split("% ")[1] == "█" * 26 + "▋"


def test_the_rule_is_told_in_words() -> None:
    assert "down.two-hands  Two hands begin the take-down\n" in season_text(two_events(), 80)


def test_without_blocks_the_bars_are_plain() -> None:
    text = season_text(two_events(), 80, None)
    assert text.isascii()
    assert "#" * 40 in text


@pytest.mark.parametrize("width", [80, 40, 10])
def test_bars_fit_the_terminal_as_far_as_it_has_room(width: int) -> None:
    bars = [line for line in season_text(two_events(), width).splitlines() if "█" in line]
    assert len(bars) == 2
    assert max(map(len, bars)) <= max(width, 26)


def test_an_event_without_a_fault_says_so() -> None:
    clean = ruled(claim("C-3", event="3-6-3"), run("6.000"), footage_sha256="c" * 64)
    text = season_text([*two_events(), clean], 80)
    assert "3-6-3: no attempt broke a rule\n" in text
    alone = season_text([clean], 80)
    assert "\nNo attempt was a scratch or void.\n\nThis ruling is an aid" in alone
    assert alone.startswith("1 claim ruled; ")


def test_the_terminal_without_utf_8_gets_ascii(
    framecall: Call, scratch: DocketFolder, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert "█" in framecall("season", scratch.path).out
    monkeypatch.setattr("tui.cli.register.takes_blocks", lambda: False)
    assert "#" in framecall("season", scratch.path).out


@given(st.floats(0.1, 60))
def test_a_bar_is_as_long_as_it_says_to_an_eighth(cells: float) -> None:
    drawn = bar(cells)
    eighths = sum(EIGHTHS.index(block) for block in drawn)
    assert eighths == max(1, round(cells * 8))
    assert len(drawn) == -(-eighths // 8)


def test_a_ruling_issued_from_a_session_that_was_changed_since_says_so(
    framecall: Call, scratch: DocketFolder
) -> None:
    made = document(session(*STANDS, claim=Claim(id="C-1", time="1.715")))  # of another session
    document_set(*made, scratch.rulings, "C-1.ruling-1")
    assert "ruling 1, 2031-06-01; a session was changed since" in (
        framecall("register", scratch.path).out
    )
    (row,) = json.loads(framecall("register", scratch.path, "--json").out)["rulings"]
    assert row["changed_since"] is True
