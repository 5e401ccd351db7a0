"""``framecall records``: what stands by the list and the issued rulings, in every form."""

import csv
import io
import json
from datetime import UTC, datetime
from pathlib import Path

import html5lib
import pytest

from sessions.docket.claims import ListedClaim, write_claims
from sessions.docket.docket import Docket, DocketFolder
from sessions.docket.records import Held, records
from sessions.record.header import Claim
from tests.tui.cli.conftest import Call
from tests.tui.documents.papers import SCRATCH, STANDS, claimed, document, session
from tui.documents.issued_files import issued_rulings
from tui.documents.issuing import document_set
from tui.documents.pages import DocketFacts, NewRecord, RecordHeld, Superseded
from tui.documents.records import chart, record_with
from tui.documents.words import record_words

LEAGUE = "event,division,time,holder,date\n3-3-3,U10,4.500,S-117,2023-05-14\ncycle,U12,7.600,,\n"
HIDDEN = "S-\u202e<b>9"


def issue(folder: DocketFolder, number: int, *tags: str) -> str:
    """Issue ruling ``number`` on claim C-17, superseding any before; gives the claimed time."""
    before = issued_rulings(folder.rulings, "C-17")
    told = [Superseded(number=b.number, sha256=b.sha256, reason="An appeal.") for b in before]
    time = claimed(*STANDS).header.claim.time
    claim = Claim(id="C-17", competitor="LQ-500", time=time)
    made = document(
        session(*tags, claim=claim), number=number, supersedes=told[-1] if told else None
    )
    document_set(*made, folder.rulings, f"C-17.ruling-{number}")
    return time or ""


@pytest.fixture
def docket(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> DocketFolder:
    """A docket with the league's list and one claim, on which a ruling is issued that stands."""
    monkeypatch.setenv("FRAMECALL_CACHE", str(tmp_path / "cache"))
    folder = DocketFolder(tmp_path / "season")
    folder.path.mkdir()
    folder.records_file.write_text(LEAGUE, encoding="utf-8")
    time = issue(folder, 1, *STANDS)
    claim = ListedClaim("C-17", "3-3-3", "U10", HIDDEN, time, "", "footage/a.mp4", "2024-03-01")
    write_claims(folder.claims_file, [claim])
    return folder


def rows(framecall: Call, folder: DocketFolder) -> list[dict[str, str]]:
    result = framecall("records", folder.path, "--csv")
    assert (result.code, result.err) == (0, "")
    return list(csv.DictReader(io.StringIO(result.out, newline="")))


def test_a_ruling_that_stands_makes_a_record_and_says_what_stood_before(
    framecall: Call, docket: DocketFolder
) -> None:
    listed, made, other = rows(framecall, docket)
    assert (listed["time"], listed["holder"], listed["stands"]) == ("4.500", "S-117", "no")
    assert made == {
        "event": "3-3-3",
        "division": "U10",
        "time": "4.004",
        "holder": "S-<U+202E><b>9",
        "day": "2024-03-01",
        "ruling": "C-17, ruling 1",
        "before": "4.500",
        "stands": "yes",
    }
    assert (other["event"], other["stands"]) == ("cycle", "yes")


def test_a_scratch_by_appeal_gives_the_record_back(framecall: Call, docket: DocketFolder) -> None:
    issue(docket, 2, *SCRATCH)
    listed, other = rows(framecall, docket)
    assert (listed["time"], listed["stands"]) == ("4.500", "yes")
    assert other["event"] == "cycle"


def test_people_read_what_stands_and_how_it_came_about(
    framecall: Call, docket: DocketFolder
) -> None:
    result = framecall("records", docket.path)
    standing, progress = result.out.split("\n\n")[:2]
    assert "4.004  S-<U+202E><b>9" in standing
    assert "4.500" not in standing
    assert progress.splitlines()[0] == "3-3-3, U10: how the record came about"
    assert "was beaten" in progress
    assert "⠤" in progress  # the drawn line
    assert "appeal procedure prevail" in result.out
    nobody = framecall("records", docket.path, "--anonymous").out
    assert "S-" not in nobody


def test_the_data_says_the_day_at_which_it_was_made(framecall: Call, docket: DocketFolder) -> None:
    data = json.loads(framecall("records", docket.path, "--json").out)
    assert (data["format"], data["version"]) == ("framecall-records", 1)
    assert data["as_of"] == f"{datetime.now(UTC):%Y-%m-%d}"
    assert [record["stands"] for record in data["records"]] == [False, True, True]
    hidden = json.loads(framecall("records", docket.path, "--json", "--anonymous").out)
    assert all("holder" not in record for record in hidden["records"])


def test_the_page_is_sound_and_tells_nothing_that_a_browser_would_run(
    framecall: Call, docket: DocketFolder, tmp_path: Path
) -> None:
    page = tmp_path / "records.html"
    result = framecall("records", docket.path, "--out", page)
    assert (result.code, result.err) == (0, "")
    text = page.read_text(encoding="utf-8")
    html5lib.HTMLParser(strict=True).parse(text)
    assert "S-&lt;U+202E&gt;&lt;b&gt;9" in text
    assert "<polyline" in text
    assert "appeal procedure prevail" in text
    framecall("records", docket.path, "--out", page, "--anonymous")
    assert "S-" not in page.read_text(encoding="utf-8").split("</style>")[1]


@pytest.mark.parametrize(("name", "form"), [("records.pdf", []), ("records.csv", ["--json"])])
def test_a_file_of_another_ending_is_refused(
    framecall: Call, docket: DocketFolder, name: str, form: list[str]
) -> None:
    result = framecall("records", docket.path, "--out", name, *form)
    assert result.code == 2
    assert result.err.startswith(
        f"framecall: The records cannot be {name}; name a file that ends in ."
    )


def test_a_list_of_records_that_does_not_hold_is_named(
    framecall: Call, docket: DocketFolder
) -> None:
    docket.records_file.write_text("event,division,time,holder\n3-3-3,U10,fast,S\n")
    result = framecall("records", docket.path)
    assert result.code == 2
    assert 'line 2, column time: "fast" is not a time in seconds' in result.err


def test_a_docket_without_records_says_so(framecall: Call, docket: DocketFolder) -> None:
    docket.records_file.unlink()
    issue(docket, 2, *SCRATCH)
    result = framecall("records", docket.path)
    assert result.out == "No record is listed, and no issued ruling has made one.\n"


def test_a_ruling_yet_to_be_issued_makes_the_record_that_it_would(docket: DocketFolder) -> None:
    read = Docket(docket.path, docket.path / "index")
    read.refresh()
    (placed,) = read.placed
    assert record_with(read, placed.state, "2024-04-01") is None  # nothing stands by its sessions


# -- the words of a document


@pytest.mark.parametrize(
    ("before", "words"),
    [
        ((), "The first record of this event and division: 4.004 seconds."),
        (
            (RecordHeld(time="4.500", holder="S-117"),),
            "A new record: 4.004 seconds, before 4.500 seconds by S-117.",
        ),
        ((RecordHeld(time="4.500"),), "A new record: 4.004 seconds, before 4.500 seconds."),
        (
            (RecordHeld(time="4.004", holder="S-1"), RecordHeld(time="4.004", holder="S-2")),
            "This equals the record of 4.004 seconds by S-1 and S-2, and shares it.",
        ),
    ],
)
def test_a_document_says_which_record_it_makes(before: tuple[RecordHeld, ...], words: str) -> None:
    facts = DocketFacts(
        division="U10",
        record="4.500",
        claims_sha256="0" * 64,
        reviews=(),
        new_record=NewRecord(time="4.004", before=before),
    )
    made, _ = document(claimed(*STANDS), docket=facts)
    assert record_words(made) == words


def test_a_document_of_no_record_says_nothing_of_one() -> None:
    assert record_words(document(claimed(*STANDS))[0]) == ""


def test_the_chart_falls_in_steps_and_ends_after_the_last() -> None:
    held = [
        Held("cycle", "U10", "8.0", "", "2024-01-01"),
        Held("cycle", "U10", "7.0", "", "2024-01-11"),
        Held("cycle", "U10", "6.0", "", "2024-01-21"),
    ]
    steps = records(held, [], both_hold=True).progress["cycle", "U10"]
    drawn = chart(steps, "2024-01-21")
    assert drawn is not None
    points = [tuple(map(float, point.split(","))) for point in drawn.points.split()]
    assert [y for _, y in points] == [8, 8, 80, 80, 152, 152]
    assert [x for x, _ in points] == sorted(x for x, _ in points)
    assert points[-1][0] == 632
    assert points[-2][0] < 632
    assert chart(steps[:1], "2024-01-21") is None
