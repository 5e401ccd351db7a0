"""``framecall docket``: the list as text, refusals, and claims opened from it."""

import os
import shutil
from contextlib import nullcontext
from pathlib import Path

import pytest
from textual._styles_cache import StylesCache

from keymaps.keymap import load_keymap
from sessions.docket.claims import ListedClaim, write_claims
from sessions.docket.docket import Docket, DocketError, DocketFolder
from sessions.errors import FootageError, FramecallError, SessionError
from sessions.record.header import Claim
from sessions.record.journal import Journal
from sessions.record.recording import read_session
from tests.tui.cli.conftest import Call
from tests.tui.docket.docketing import finished_entries, write_review
from tui.app import FramecallApp
from tui.bench.screen import BenchScreen
from tui.docket.opening import Cases, OpenCase
from tui.docket.rows import HIDDEN, Sight
from tui.docket.screen import DocketScreen, forget_screens_left
from tui.picture.choice import choose
from tui.picture.terminal import Terminal

LISTED = ListedClaim("C-1", "3-3-3", "U10", "S-204", "2.000", "3.000", "footage/a.mp4")


@pytest.fixture
def docket(tmp_path: Path, clip: Path, monkeypatch: pytest.MonkeyPatch) -> DocketFolder:
    """A docket with one claim on footage that can be decoded."""
    monkeypatch.setenv("FRAMECALL_CACHE", str(tmp_path / "cache"))
    folder = DocketFolder(tmp_path / "season")
    (folder.path / "footage").mkdir(parents=True)
    shutil.copy(clip, folder.path / LISTED.footage)
    write_claims(folder.claims_file, [LISTED])
    return folder


def cases(folder: DocketFolder, *, shown: bool = False) -> Cases:
    keymap = load_keymap("qwerty", user_file=None)
    docket = Docket(folder.path, folder.path / "index")
    return Cases(docket, Sight("R1", folder, shown), keymap, choose(Terminal()))


def opened(folder: DocketFolder, claim: ListedClaim = LISTED, *, shown: bool = False) -> str:
    """Open a claim and close it again; what was told meanwhile, and at last."""
    told: list[str] = []
    case = cases(folder, shown=shown).review(claim, told.append)
    assert isinstance(case, OpenCase)
    told.append(case.close())
    return "\n".join(told)


def test_the_list_is_printed_with_what_it_hides(framecall: Call, docket: DocketFolder) -> None:
    result = framecall("docket", docket.path, "--list")
    assert (result.code, result.err) == (0, "")
    heading, claim, hint = result.out.splitlines()
    assert heading.split() == [
        "claim", "event", "division", "time", "record", "competitor", "state", "reviewers",
    ]  # fmt: skip
    assert claim.split() == ["1", "C-1", "3-3-3", "U10", HIDDEN, HIDDEN, HIDDEN, "untouched"]
    assert hint.startswith(f"{HIDDEN} hidden from R1 until their review is finished")


def test_without_a_terminal_the_list_is_printed(framecall: Call, docket: DocketFolder) -> None:
    assert framecall("docket", docket.path).out == framecall("docket", docket.path, "--list").out


def test_the_list_is_that_of_the_reviewer(framecall: Call, docket: DocketFolder) -> None:
    docket.sessions.mkdir()
    write_review(docket, LISTED, "R2", finished_entries())
    assert "awaiting second review  R2✓" in framecall("docket", docket.path, "--list").out
    assert "2.000" not in framecall("docket", docket.path, "--list").out
    out = framecall("docket", docket.path, "--list", "--reviewer", "R2").out
    assert "2.000  3.000   S-204       awaiting second review  R2✓" in out
    assert HIDDEN not in out
    assert "2.000" in framecall("docket", docket.path, "--list", "--shown").out


def test_sessions_of_no_listed_claim_are_named(framecall: Call, docket: DocketFolder) -> None:
    docket.sessions.mkdir()
    stray = ListedClaim("C-9", "3-3-3", "U", "S", "2.000", "", "a.mp4")
    write_review(docket, stray, "R2", finished_entries())
    assert "Sessions of C-9 are not of any claim" in framecall("docket", docket.path, "--list").out


def test_a_folder_without_claims_is_refused(framecall: Call, tmp_path: Path) -> None:
    assert "cannot be read" in framecall("docket", tmp_path / "none", "--list").sentence()


def test_a_reviewer_that_names_no_file_is_refused(framecall: Call, docket: DocketFolder) -> None:
    sentence = framecall("docket", docket.path, "--reviewer", "x" * 200).sentence()
    assert "cannot name a session file" in sentence


def test_a_terminal_that_is_too_small_is_refused(
    framecall: Call, docket: DocketFolder, monkeypatch: pytest.MonkeyPatch
) -> None:
    for stream in ("stdin", "stdout"):
        monkeypatch.setattr(f"sys.{stream}.isatty", lambda: True)
    monkeypatch.setattr("shutil.get_terminal_size", lambda: os.terminal_size((60, 20)))
    assert "the bench needs 80 by 24" in framecall("docket", docket.path).sentence()


def test_the_docket_is_shown_in_a_terminal(
    framecall: Call, docket: DocketFolder, monkeypatch: pytest.MonkeyPatch
) -> None:
    screens = []
    for stream in ("stdin", "stdout"):
        monkeypatch.setattr(f"sys.{stream}.isatty", lambda: True)
    monkeypatch.setattr("tui.cli.start.check_terminal", lambda: None)
    monkeypatch.setattr("tui.picture.terminal.probe", lambda: nullcontext(Terminal))
    monkeypatch.setattr(FramecallApp, "run", lambda app: screens.append(app._first_screen()))
    assert framecall("docket", docket.path, "--keymap", "azerty").code == 0
    (screen,) = screens
    assert isinstance(screen, DocketScreen)
    assert screen.keymap.name == "azerty"


def test_opening_begins_a_session_that_holds_the_claims_id_alone(docket: DocketFolder) -> None:
    told = opened(docket)
    assert "Reading the footage: fingerprint, 100 %" in told
    assert told.endswith("Saved C-1: Open: no timed run has been begun yet.")
    header = read_session(docket.session("C-1", "R1")).header
    assert header.claim == Claim(id="C-1")
    assert (header.reviewer, header.event.name, header.footage.name) == ("R1", "3-3-3", "a.mp4")
    opened(docket)


def test_opening_with_claims_shown_begins_a_session_with_all_of_it(docket: DocketFolder) -> None:
    opened(docket, shown=True)
    header = read_session(docket.session("C-1", "R1")).header
    assert header.claim == Claim(id="C-1", competitor="S-204", time="2.000")
    opened(docket, shown=True)
    opened(docket)


def test_a_review_begun_blind_is_not_opened_with_claims_shown(docket: DocketFolder) -> None:
    opened(docket)
    with pytest.raises(DocketError, match="was begun blind; finish it first"):
        opened(docket, shown=True)


def test_an_event_file_lies_in_the_docket(docket: DocketFolder) -> None:
    source = Path("sessions/rules/events/3-3-3.toml").read_text()
    (docket.path / "ours.toml").write_text(source.replace('name = "3-3-3"', 'name = "ours"'))
    claim = ListedClaim("C-2", "ours.toml", "U", "S", "2.000", "", LISTED.footage)
    opened(docket, claim)
    assert read_session(docket.session("C-2", "R1")).header.event.name == "ours"


def test_missing_footage_is_refused_and_nothing_is_begun(docket: DocketFolder) -> None:
    (docket.path / LISTED.footage).unlink()
    with pytest.raises(FootageError):
        opened(docket)
    assert not docket.sessions.exists()


def test_other_footage_than_the_sessions_is_refused(docket: DocketFolder) -> None:
    docket.sessions.mkdir()
    write_review(docket, LISTED, "R1", [])
    before = docket.session("C-1", "R1").read_bytes()
    with pytest.raises(DocketError, match=r"not the footage that .* put that one back"):
        opened(docket)
    assert docket.session("C-1", "R1").read_bytes() == before


def test_a_session_that_is_open_elsewhere_is_refused(docket: DocketFolder) -> None:
    opened(docket)
    with (
        Journal.reopen(docket.session("C-1", "R1")),
        pytest.raises(SessionError, match="elsewhere"),
    ):
        opened(docket)


def test_a_docket_that_takes_no_sessions_is_refused(docket: DocketFolder) -> None:
    docket.sessions.write_text("not a folder")
    with pytest.raises(FramecallError):
        opened(docket)


def test_opening_can_be_given_up(docket: DocketFolder) -> None:
    class GivenUpError(FramecallError):
        pass

    def give_up(_: str) -> None:
        raise GivenUpError("enough")

    with pytest.raises(GivenUpError):
        cases(docket).review(LISTED, give_up)
    assert not docket.sessions.exists()


def test_the_bench_of_a_case_knows_the_listed_claim(docket: DocketFolder) -> None:
    case = cases(docket).review(LISTED, lambda _: None)
    assert isinstance(case, OpenCase)
    bench = case.screen()
    assert isinstance(bench, BenchScreen)
    assert bench.listed == LISTED
    case.close()


def test_the_demo_builds_and_lists_a_docket(framecall: Call, demo_docket: Path) -> None:
    result = framecall("demo", demo_docket, "--docket")
    assert (result.code, result.err) == (0, "")
    assert "C-05" in result.out


def test_the_terminal_library_still_keeps_screens_where_they_are_dropped() -> None:
    StylesCache.get_inner_outer.cache_info()  # private: an error here asks to look anew
    forget_screens_left()
    assert StylesCache.get_inner_outer.cache_info().currsize == 0
