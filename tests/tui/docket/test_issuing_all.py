"""All rulings of a docket issued at once, from the shell and from the docket."""

from dataclasses import replace
from pathlib import Path

import pytest

from keymaps.keymap import Keymap
from sessions.docket.docket import DocketFolder
from sessions.errors import DocumentError
from tests.tui.cli.conftest import Call
from tests.tui.docket.docketing import (
    FITTING,
    Place,
    begun_entries,
    finished_entries,
    listed,
    on_docket,
    place,
    write_review,
)
from tests.tui.docket.test_issue_from_docket import document, folder, read
from tui.docket.opening import Cases
from tui.docket.rows import Sight
from tui.documents.docketed import issue_each, outstanding
from tui.documents.issuing import IssueWish
from tui.picture.choice import choose
from tui.picture.terminal import Terminal

__all__ = ["folder"]

RULED = ["C-01", "C-03", "C-09", "C-14"]
"""The claims of the demo's docket that two reviewers ruled alike."""


def pages(folder: DocketFolder) -> list[str]:
    if not folder.rulings.exists():
        return []
    return sorted(path.name for path in folder.rulings.iterdir() if path.suffix == ".html")


def test_every_ruled_claim_is_issued_and_none_twice(framecall: Call, folder: DocketFolder) -> None:
    framecall("issue", folder.path, "C-03")
    result = framecall("issue", folder.path, "--ruled")
    assert result.code == 0
    assert [line[:5] for line in result.out.splitlines()[:-1]] == ["C-01:", "C-09:", "C-14:"]
    assert result.out.endswith("3 rulings issued now, 1 before; 10 claims are not ruled.\n")
    assert pages(folder) == [f"{claim}.ruling-1.html" for claim in RULED]
    again = framecall("issue", folder.path, "--ruled")
    assert again.out == "0 rulings issued now, 4 before; 10 claims are not ruled.\n"
    assert pages(folder) == [f"{claim}.ruling-1.html" for claim in RULED]


def test_what_cannot_be_issued_is_told_and_the_others_are_issued(
    framecall: Call, folder: DocketFolder
) -> None:
    states = {placed.state.claim.claim: placed.state.claim for placed in read(folder).placed}
    folder.footage(states["C-01"]).unlink()
    sharing = [name for name in RULED if states[name].footage == states["C-01"].footage]
    result = framecall("issue", folder.path, "--ruled")
    assert result.code == 2
    assert [line.split()[2] for line in result.err.splitlines()] == sharing
    assert all("is left out: " in line for line in result.err.splitlines())
    assert pages(folder) == [f"{name}.ruling-1.html" for name in RULED if name not in sharing]


@pytest.mark.parametrize(
    ("more", "named"),
    [
        (("C-01",), "the claim"),
        (("--footage", "x.mp4"), "--footage"),
        (("--out", "x"), "--out"),
        (("--reason", "Late."), "--reason"),
        (("--draft",), "--draft"),
    ],
)
def test_what_cannot_be_said_of_many_rulings_is_refused(
    framecall: Call, folder: DocketFolder, more: tuple[str, ...], named: str
) -> None:
    said = framecall("issue", folder.path, *more, "--ruled").sentence()
    assert f"leave {named} out, or leave --ruled out" in said
    assert pages(folder) == []


def test_with_a_broken_league_file_nothing_is_issued(framecall: Call, folder: DocketFolder) -> None:
    folder.league_file.write_text("name =", encoding="utf-8")
    assert "is not TOML" in framecall("issue", folder.path, "--ruled").sentence()
    assert pages(folder) == []
    with pytest.raises(DocumentError, match="is not TOML"):
        list(issue_each(read(folder), (), IssueWish()))


def test_a_ruling_that_contradicts_another_is_not_issued_among_many(
    folder: DocketFolder,
) -> None:
    docket = read(folder)
    first, *others = outstanding(placed.state for placed in docket.placed)
    odd = replace(first, at_odds=("C-77",))
    told = {
        state.claim.claim: made for state, made in issue_each(docket, [odd, *others], IssueWish())
    }
    words = told.pop(first.claim.claim)
    assert isinstance(words, str)
    assert "contradicts that on another claim on the same footage" in words
    assert "C-77" not in words
    assert pages(folder) == [f"{claim}.ruling-1.html" for claim in told]


def test_the_docket_issues_many_and_says_what_it_left_out(
    folder: DocketFolder, keymap: Keymap
) -> None:
    docket = read(folder)
    states = outstanding(placed.state for placed in docket.placed)
    cases = Cases(docket, Sight("R1", folder), keymap, choose(Terminal()))
    told: list[str] = []
    odd = replace(states[0], at_odds=("C-77",))
    said = cases.issue_all([odd, *states[1:]], told.append)
    assert said.startswith("Issued 3 rulings. Not C-01: its ruling contradicts that on another")
    assert "Issuing 4 rulings: stills, 100 %" in told


def test_a_ruling_whose_findings_need_no_loop_says_so(folder: DocketFolder, keymap: Keymap) -> None:
    docket = read(folder)
    cases = Cases(docket, Sight("R1", folder), keymap, choose(Terminal()))
    found = docket.find("C-01")
    assert found is not None
    said = cases.issue(found.state, None, True, lambda _: None)
    assert document(folder, "C-01.ruling-1").clips == ()
    assert said == "Issued rulings/C-01.ruling-1: .html, .txt, .json, no finding needs a loop"


def test_the_docket_issues_loops_of_the_evidence(folder: DocketFolder, keymap: Keymap) -> None:
    docket = read(folder)
    cases = Cases(docket, Sight("R1", folder), keymap, choose(Terminal()))
    found = docket.find("C-03")
    assert found is not None
    said = cases.issue(found.state, None, True, lambda _: None)
    clips = document(folder, "C-03.ruling-1").clips
    assert clips
    assert said == (
        f"Issued rulings/C-03.ruling-1: .html, .txt, .json, and {len(clips)} files of loops"
    )
    assert all((folder.rulings / clip.file).exists() for clip in clips)


def test_the_register_counts_what_it_does_not_list(framecall: Call, folder: DocketFolder) -> None:
    placed = read(folder).placed
    waiting = sum(one.place is not None for one in placed)
    aside = sum(bool(one.set_aside) for one in placed)
    assert waiting + aside + len(RULED) == len(placed)
    assert framecall("register", folder.path).out.splitlines()[-1] == (
        f"Not listed: {waiting} claims still to be ruled, {aside} claims set aside, too slow for "
        "the time to beat."
    )


# -- by keys on the docket


FIRST, SECOND = listed("C-1", FITTING), listed("C-2", FITTING, division="U9")


@pytest.fixture
def two(tmp_path: Path, keymap: Keymap) -> Place:
    """Two claims, both ruled by R2 and R3; R1 has finished the first only."""

    def prepare(folder: DocketFolder) -> None:
        for reviewer in ("R1", "R2", "R3"):
            write_review(folder, FIRST, reviewer, finished_entries())
        for reviewer in ("R2", "R3"):
            write_review(folder, SECOND, reviewer, finished_entries())
        write_review(folder, SECOND, "R1", begun_entries())

    return place(tmp_path, [FIRST, SECOND], keymap, prepare=prepare)


async def test_all_documents_are_issued_after_their_list_was_read(two: Place) -> None:
    async with on_docket(two) as docket:
        await docket.press("alt+a")
        assert "Issue 1 ruling?" in docket.text
        assert f"C-1  3-3-3 U10, {FITTING} s: stands" in docket.text
        await docket.press("escape")
        assert two.cases.issued == []
        await docket.press("alt+a", "enter")
        await docket.until(lambda: docket.line("message") == "Issued 1.")
        assert two.cases.issued == [("C-1", None)]


async def test_a_ruling_that_is_still_hidden_is_not_among_all_documents(two: Place) -> None:
    async with on_docket(two) as docket:
        await docket.press("alt+a")
        assert "C-2" not in docket.text.partition("Issue 1 ruling?")[2].partition("Esc")[0]


async def test_where_all_is_issued_there_is_nothing_to_issue(two: Place) -> None:
    two.folder.rulings.mkdir()
    (two.folder.rulings / "C-1.ruling-1.json").write_text("{}")
    two.docket.refresh()
    async with on_docket(two) as docket:
        await docket.press("alt+a")
        assert "There is nothing to issue" in docket.line("message")


async def test_documents_with_clips_are_asked_for_by_a_key_of_their_own(two: Place) -> None:
    async with on_docket(two) as docket:
        await docket.press(*"C-1", "alt+c")
        assert "Issue the ruling on C-1, with loops of the evidence?" in docket.text
        await docket.press("enter")
        await docket.until(lambda: docket.line("message") == "Issued C-1.")
        assert two.cases.with_clips == ["C-1"]
