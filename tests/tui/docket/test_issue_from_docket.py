"""Ruling documents of a docket's claims: what they say of the claim, the reviews and settling."""

import csv
import json
import shutil
from hashlib import sha256
from pathlib import Path

import pytest

from keymaps.keymap import load_keymap
from sessions.docket.docket import Docket, DocketFolder
from sessions.record.entries import Look, Note, Reading, Reopened
from sessions.record.journal import Journal
from sessions.record.recording import read_session
from tests.tui.cli.conftest import Call
from tui.bench.review import Review
from tui.cli.docket import placed_claim
from tui.docket.claim_page import claim_page
from tui.docket.opening import Cases
from tui.docket.rows import Sight
from tui.documents.docketed import issue_claim, last_issued
from tui.documents.issuing import IssueWish
from tui.documents.pages import RulingDocument
from tui.footage.footage import Footage
from tui.picture.choice import choose
from tui.picture.terminal import Terminal
from tui.settling.case import find_case, open_journal
from tui.settling.settlement import Settlement


@pytest.fixture
def folder(demo_docket: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> DocketFolder:
    """The demo's docket, to be changed."""
    monkeypatch.setenv("FRAMECALL_CACHE", str(tmp_path / "cache"))
    return DocketFolder(shutil.copytree(demo_docket, tmp_path / "season"))


def read(folder: DocketFolder) -> Docket:
    docket = Docket(folder.path, folder.path.parent / "index")
    docket.refresh()
    return docket


def settle(folder: DocketFolder, claim: str, reason: str) -> None:
    """R3 takes what the second review found, wherever the reviews of a claim differ."""
    state = placed_claim(read(folder), claim).state
    case = find_case(folder, state, reviews_due=2)
    path = folder.session(claim, "R3", settling=True)
    footage = Footage.open(folder.footage(state.claim))
    with open_journal(path, case, "R3") as journal:
        review = Review(journal, footage.pts, lambda _: 0)
        settlement = Settlement(review, case.found)
        while settlement.left:
            settlement.take(0, reason)
        settlement.finish()


def document(folder: DocketFolder, name: str) -> RulingDocument:
    return RulingDocument.model_validate_json((folder.rulings / f"{name}.json").read_bytes())


def text(folder: DocketFolder, name: str) -> str:
    return " ".join((folder.rulings / f"{name}.txt").read_text(encoding="utf-8").split())


def listed(folder: DocketFolder, claim: str) -> dict[str, str]:
    with folder.claims_file.open(encoding="utf-8-sig", newline="") as file:
        return next(row for row in csv.DictReader(file) if row["claim"] == claim)


def test_a_claim_that_two_reviewers_ruled_alike_is_issued_into_the_docket(
    framecall: Call, folder: DocketFolder
) -> None:
    out = framecall("issue", folder.path, "C-01").out
    assert f"{folder.rulings / 'C-01.ruling-1.html'}" in out
    claim, made = listed(folder, "C-01"), document(folder, "C-01.ruling-1")
    assert made.ruling.claim.model_dump() == {
        "id": "C-01", "competitor": claim["competitor"], "time": claim["time"],
    }  # fmt: skip
    assert made.docket is not None
    assert (made.docket.division, made.docket.record) == (claim["division"], claim["record"])
    assert made.docket.claims_sha256 == sha256(folder.claims_file.read_bytes()).hexdigest()
    assert [(r.reviewer, r.blind) for r in made.docket.reviews] == [("R1", True), ("R2", True)]
    files = [folder.session("C-01", reviewer).read_bytes() for reviewer in ("R1", "R2")]
    assert [r.sha256 for r in made.docket.reviews] == [sha256(f).hexdigest() for f in files]


def test_the_document_tells_a_claimant_who_looked(framecall: Call, folder: DocketFolder) -> None:
    framecall("issue", folder.path, "C-01")
    told = text(folder, "C-01.ruling-1")
    assert f"The claimed time of {listed(folder, 'C-01')['time']} seconds".upper() in told
    assert (
        "R1 and R2 each looked at the footage on their own, before any of them knew the claimed "
        "time or what another had found. They came to the same ruling."
    ) in told
    assert f"Record before: {listed(folder, 'C-01')['record']} seconds" in told


def test_the_document_of_a_settled_claim_tells_every_point(
    framecall: Call, folder: DocketFolder
) -> None:
    settle(folder, "C-05", "The blur spans <both> frames.")
    framecall("issue", folder.path, "C-05")
    made, told = document(folder, "C-05.ruling-1"), text(folder, "C-05.ruling-1")
    assert (
        made.session.sha256
        == sha256(folder.session("C-05", "R3", settling=True).read_bytes()).hexdigest()
    )
    assert made.settled
    assert all(point.taken in ("R1", "R2") for point in made.settled)
    count = "one point" if len(made.settled) == 1 else f"{len(made.settled)} points"
    assert f"They saw {count} differently, which R3 settled afterwards:" in told
    for point in made.settled:
        assert f"{point.title}: settled as {point.taken} found it" in told
    page = (folder.rulings / "C-05.ruling-1.html").read_text(encoding="utf-8")
    assert "The blur spans &lt;both&gt; frames." in page


def test_a_ruling_is_superseded_only_with_a_reason(framecall: Call, folder: DocketFolder) -> None:
    framecall("issue", folder.path, "C-01")
    assert "give the reason with --reason" in framecall("issue", folder.path, "C-01").sentence()
    framecall("issue", folder.path, "C-01", "--reason", "The record was listed wrong.")
    made = document(folder, "C-01.ruling-2")
    assert made.supersedes is not None
    assert made.supersedes.reason == "The record was listed wrong."


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("C-02",), "Claim C-02 is not ruled yet (it is untouched)"),
        (("C-05",), "Claim C-05 is not ruled yet (it is differing)"),
        (("C-99",), 'There is no claim "C-99" in'),
        ((), "name a session file, or after the folder of a docket also the claim to issue"),
        (("C-01", "--footage", "x.mp4"), "A docket knows the footage of its claims"),
    ],
)
def test_what_cannot_be_issued_is_refused_in_one_sentence(
    framecall: Call, folder: DocketFolder, arguments: tuple[str, ...], said: str
) -> None:
    result = framecall("issue", folder.path, *arguments)
    assert said in result.sentence()
    assert not folder.rulings.exists() or not any(folder.rulings.iterdir())


def test_the_leagues_words_come_from_the_docket(framecall: Call, folder: DocketFolder) -> None:
    words = 'format = "framecall-league"\nversion = 1\nname = "Invented Quay"\nappeal = "Write."\n'
    folder.league_file.write_text(words, encoding="utf-8")
    framecall("issue", folder.path, "C-01")
    assert "Invented Quay" in text(folder, "C-01.ruling-1")


def test_a_copy_without_the_competitors_code_holds_it_nowhere(
    framecall: Call, folder: DocketFolder
) -> None:
    framecall("issue", folder.path, "C-01", "--anonymous")
    competitor = listed(folder, "C-01")["competitor"]
    for path in folder.rulings.iterdir():
        assert competitor not in path.read_text(encoding="utf-8")


def test_a_code_in_a_reason_of_settling_keeps_a_copy_from_being_anonymous(
    framecall: Call, folder: DocketFolder
) -> None:
    settle(folder, "C-05", f"{listed(folder, 'C-05')['competitor']} moved.")
    said = framecall("issue", folder.path, "C-05", "--anonymous").sentence()
    assert "the code stands in the reason for settling" in said


def test_the_docket_tells_whether_what_was_issued_still_holds(
    framecall: Call, folder: DocketFolder
) -> None:
    state = placed_claim(read(folder), "C-01").state
    assert last_issued(folder, state) is None
    framecall("issue", folder.path, "C-01")
    last = last_issued(folder, state)
    assert last is not None
    assert (last.number, last.holds) == (1, True)
    assert "from the sessions that rule the claim now" in claim_page(folder, state, "R1")
    path = folder.session("C-01", state.deciding[1].reviewer)
    with Journal.reopen(path) as journal:
        journal.append(read_session(path).lines[-1].entry)
    changed = placed_claim(read(folder), "C-01").state
    last = last_issued(folder, changed)
    assert last is not None
    assert not last.holds
    assert "so issue it anew" in claim_page(folder, changed, "R1")


def test_the_docket_issues_what_the_command_issues(folder: DocketFolder) -> None:
    docket = read(folder)
    cases = Cases(docket, Sight("R1", folder), load_keymap("qwerty"), choose(Terminal()))
    told: list[str] = []
    said = cases.issue(placed_claim(docket, "C-01").state, None, False, told.append)
    assert said == "Issued rulings/C-01.ruling-1: .html, .txt, .json"
    assert "Issuing C-01: fingerprint, 100 %" in told
    assert next(words for words in told if "stills" in words) == "Issuing C-01: stills, 0 %"
    assert told[-1] == "Issuing C-01: stills, 100 %"
    assert document(folder, "C-01.ruling-1").number == 1


def test_the_docket_and_the_register_follow_what_is_issued(
    framecall: Call, folder: DocketFolder
) -> None:
    docket = read(folder)
    issue_claim(docket, placed_claim(docket, "C-01").state, IssueWish())
    assert docket.refresh()
    assert placed_claim(docket, "C-01").state.issued == 1
    assert not docket.refresh()
    rows = json.loads(framecall("register", folder.path, "--json").out)["rulings"]
    assert {row["claim"]: row["issued"] for row in rows}["C-01"] == 1
    assert "ruling 1" in framecall("register", folder.path).out
    shutil.rmtree(folder.rulings)
    assert docket.refresh()
    assert placed_claim(docket, "C-01").state.issued == 0


def test_an_issued_ruling_never_leaves_the_register(framecall: Call, folder: DocketFolder) -> None:
    framecall("issue", folder.path, "C-01")
    with Journal.reopen(folder.session("C-01", "R2")) as journal:
        look = next(
            line.entry
            for line in journal.recording.lines
            if isinstance(line.entry, Look) and line.entry.checkpoint == "stop.free"
        )
        journal.append(Reopened(reason="A finger was missed."))
        journal.append(look.model_copy(update={"saw": "unproven"}))
    rows = json.loads(framecall("register", folder.path, "--json").out)["rulings"]
    (row,) = [row for row in rows if row["claim"] == "C-01"]
    assert (row["standing"], row["issued"], row["reviewers"]) == ("to be ruled anew", 1, [])
    assert row["issued_on"] == document(folder, "C-01.ruling-1").issued[:10]
    assert "to be ruled anew" in framecall("register", folder.path).out


def test_the_register_says_who_settled_and_when_a_ruling_was_issued(
    framecall: Call, folder: DocketFolder
) -> None:
    settle(folder, "C-05", "Seen so.")
    framecall("issue", folder.path, "C-05")
    out = framecall("register", folder.path).out
    day = document(folder, "C-05.ruling-1").issued[:10]
    (line,) = [line for line in out.splitlines() if line.startswith("C-05")]
    assert "R1 R2, settled by R3" in line
    assert line.endswith(f"ruling 1, {day}")


def test_the_document_tells_that_a_finished_review_was_changed(
    framecall: Call, folder: DocketFolder
) -> None:
    with Journal.reopen(folder.session("C-01", "R2")) as journal:
        spot = next(
            e.at for line in journal.recording.lines if isinstance(e := line.entry, Reading)
        )
        journal.append(Reopened(reason="A remark was left out."))
        journal.append(Note(text="the tape is blurred", at=spot))
    framecall("issue", folder.path, "C-01")
    assert (
        "R2 changed the review after it was finished, when the claim may have been known; the "
        "reason given: A remark was left out."
    ) in text(folder, "C-01.ruling-1")
