"""The docket driven by keys: choosing, searching, opening, coming back, following others."""

import threading
from pathlib import Path

import pytest

from keymaps.keymap import Keymap
from sessions.docket.claims import write_claims
from sessions.docket.docket import DocketFolder
from sessions.errors import EntryRefused
from tests.proofs import mostly_proofs
from tests.tui.benching import LARGE, SMALL
from tests.tui.docket.docketing import (
    SECRET,
    Place,
    all_seen,
    begun_entries,
    finished_entries,
    listed,
    on_docket,
    place,
    write_review,
)
from tui.app import REPEATED
from tui.bench.screen import BenchScreen
from tui.docket.opening import OpenCase, Tell
from tui.docket.panels import DocketList
from tui.widgets.dialogs import PageScreen

CLAIMS = [
    listed("C-1", "2.000"),
    listed("C-2", "2.500"),
    listed("C-3", "1.000", "cycle", "U12"),
    listed("C-4", "9.500", "cycle", "U12"),
]


@pytest.fixture
def made(tmp_path: Path, keymap: Keymap) -> Place:
    return place(tmp_path, CLAIMS, keymap)


async def test_the_next_claim_stands_on_top_and_is_chosen(tmp_path: Path, keymap: Keymap) -> None:
    def done(folder: DocketFolder) -> None:
        write_review(folder, CLAIMS[0], "R1", finished_entries())

    async with on_docket(place(tmp_path, CLAIMS, keymap, prepare=done)) as docket:
        assert docket.line("where") == "Docket season │ reviewer R1 │ 4 claims, 3 to be ruled"
        assert docket.line("next") == "Next: C-3, place 1 in cycle U12, untouched"
        assert docket.screen.view.chosen is not None
        assert docket.screen.view.chosen.claim.claim == "C-3"
        assert docket.claims == ["C-1", "C-2", "C-3", "C-4"]


async def test_every_key_typed_narrows_the_list(made: Place) -> None:
    async with on_docket(made) as docket:
        await docket.press("u", "1", "2", "space", "4")
        assert docket.line("filter") == "Search: u12 4▏ 1 of 4"
        assert docket.claims == ["C-4"]
        await docket.press("backspace")
        assert docket.claims == ["C-3", "C-4"]
        await docket.press("x")
        assert docket.line("message") == "No claim holds these words."
        await docket.press("enter")
        assert docket.line("message") == "No claim holds these words."
        await docket.press("escape")
        assert docket.claims == ["C-1", "C-2", "C-3", "C-4"]


async def test_what_is_pasted_is_searched_for(made: Place) -> None:
    from textual.events import Paste

    async with on_docket(made) as docket:
        docket.app.post_message(Paste("C-3\nand more"))
        await docket.settle()
        assert docket.claims == ["C-3"]


async def test_arrows_pages_and_tab_choose(made: Place) -> None:
    async with on_docket(made) as docket:
        view = docket.screen.view
        await docket.press("down", "down")
        assert view.at == 2
        await docket.press("up")
        assert view.at == 1
        await docket.press("end")
        assert view.at == 3
        await docket.press("home")
        assert view.at == 0
        await docket.press("pagedown")
        assert view.at == 3
        await docket.press("pageup")
        assert view.at == 0
        await docket.press("end", "c", "tab")
        assert (view.at, view.typed) == (0, "")


async def test_enter_opens_the_bench_and_quitting_it_comes_back(made: Place) -> None:
    async with on_docket(made) as docket:
        bench = await docket.open()
        assert made.cases.opened == ["C-1"]
        assert "claim C-1" in bench.line("where")
        await bench.press("left_parenthesis")
        await docket.back()
        assert made.cases.closed == ["C-1"]
        await docket.until(lambda: "R1…" in docket.text)
        await docket.press("enter")
        await docket.until(lambda: made.cases.opened == ["C-1", "C-1"])


async def test_a_second_enter_waits_for_the_first(made: Place) -> None:
    going_on = threading.Event()

    def wait(tell: Tell) -> None:
        tell("Reading the footage: fingerprint, 50 %")
        assert going_on.wait(10)

    made.cases.while_opening = wait
    async with on_docket(made) as docket:
        await docket.press("enter")
        await docket.until(lambda: "50 %" in docket.line("message"))
        await docket.press("down", "enter")
        assert docket.screen.view.at == 1
        going_on.set()
        await docket.until(lambda: not docket.screen.is_active)
        assert made.cases.opened == ["C-1"]


async def test_an_enter_pressed_again_as_the_bench_opens_tags_nothing(
    tmp_path: Path, keymap: Keymap, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("tui.widgets.keygate.REPEAT_SECONDS", 60.0)  # however slow the machine
    claim = listed("C-1")
    made = place(
        tmp_path, [claim], keymap, prepare=lambda f: write_review(f, claim, "R1", begun_entries())
    )
    async with on_docket(made) as docket:
        bench = await docket.open()
        await bench.until(lambda: bench.screen.showing.shows(0))
        bench.hold("enter", 1)
        await bench.settle()
        assert bench.message == REPEATED
        before = len(bench.screen.review.lines)
        monkeypatch.setattr(
            "tui.widgets.keygate.REPEAT_SECONDS", 0.0
        )  # it is looked at long enough
        await bench.press("enter")
        assert len(bench.screen.review.lines) > before


async def test_what_was_opened_waits_for_a_dialog_that_is_in_front(made: Place) -> None:
    going_on = threading.Event()

    def wait(tell: Tell) -> None:
        assert going_on.wait(10)

    made.cases.while_opening = wait
    async with on_docket(made) as docket:
        await docket.press("enter", "f1")
        page = docket.app.screen
        assert isinstance(page, PageScreen)
        going_on.set()
        await docket.until(lambda: docket.screen._held is not None)
        assert docket.app.screen is page
        await docket.press("escape")
        await docket.until(lambda: isinstance(docket.app.screen, BenchScreen))


async def test_footage_that_is_missing_is_one_sentence_and_nothing_is_lost(made: Place) -> None:
    made.cases.missing.add("C-1")
    async with on_docket(made) as docket:
        await docket.press("enter")
        await docket.until(lambda: "is not there" in docket.line("message"))
        assert docket.line("message") == "The footage footage/a.mp4 is not there; put it back."
        assert not list(made.folder.sessions.iterdir())
        await docket.press("down")
        assert "is not there" not in docket.text
        await docket.open()
        assert made.cases.opened == ["C-2"]


async def test_a_session_that_cannot_be_closed_says_so(made: Place) -> None:
    async with on_docket(made) as docket:
        await docket.open()
        await docket.pilot.press("ctrl+q")
        await docket.until(lambda: bool(made.cases.closed))
        case = made.cases.review(CLAIMS[1], lambda words: None)
        assert isinstance(case, OpenCase)

        def refuse() -> str:
            case.close()
            raise EntryRefused("The disk took nothing.")

        docket.screen._run(lambda _: refuse())
        await docket.until(lambda: docket.line("message") == "The disk took nothing.")


async def test_what_others_change_shows_by_itself(made: Place) -> None:
    async with on_docket(made) as docket:
        write_review(made.folder, CLAIMS[0], "R2", finished_entries())
        docket.screen.poll()
        await docket.until(lambda: "R2✓" in docket.text)
        assert "awaiting second review" in docket.text
        write_claims(made.folder.claims_file, [*CLAIMS, SECRET])
        docket.screen.poll()
        await docket.until(lambda: "C-7" in docket.text)


async def test_a_claims_file_that_becomes_bad_is_said_and_the_list_stays(made: Place) -> None:
    async with on_docket(made) as docket:
        made.folder.claims_file.write_text("nothing\n")
        docket.screen.poll()
        await docket.until(lambda: docket.line("message").startswith("The claims file"))
        assert docket.claims == ["C-1", "C-2", "C-3", "C-4"]


async def test_the_docket_is_not_read_while_the_bench_is_in_front(made: Place) -> None:
    async with on_docket(made) as docket:
        await docket.open()
        docket.screen.poll()
        assert not docket.screen._is_reading


async def test_help_redraw_and_quit(made: Place) -> None:
    async with on_docket(made) as docket:
        await docket.press("f1")
        assert "First look unbiased" in docket.text or "Home, End" in docket.text
        await docket.press("escape", "ctrl+l")
        assert docket.claims == ["C-1", "C-2", "C-3", "C-4"]
        await docket.pilot.press("ctrl+q")
        await docket.pilot.pause()
    assert made.app._exit


async def test_nothing_is_left_to_look_at(tmp_path: Path, keymap: Keymap) -> None:
    async with on_docket(place(tmp_path, [], keymap)) as docket:
        assert docket.line("next") == "Next: nothing is left for you to look at."
        await docket.press("tab", "enter", "down", "pagedown")
        assert docket.line("where").endswith("0 claims, 0 to be ruled")


async def test_sessions_of_unlisted_claims_are_counted(tmp_path: Path, keymap: Keymap) -> None:
    def stray(folder: DocketFolder) -> None:
        write_review(folder, SECRET, "R2", all_seen())

    async with on_docket(place(tmp_path, CLAIMS, keymap, prepare=stray), LARGE) as docket:
        assert "1 not in the claims file" in docket.line("where")


@pytest.mark.parametrize("size", mostly_proofs([SMALL, LARGE], [LARGE]))
async def test_of_ten_thousand_claims_only_those_in_sight_are_drawn(
    tmp_path: Path, keymap: Keymap, size: tuple[int, int], monkeypatch: pytest.MonkeyPatch
) -> None:
    claims = [listed(f"C-{n:05}", f"{1 + n // 1000}.{n % 1000:03}") for n in range(10_000)]
    drawn: list[str] = []
    row_strip = DocketList.row_strip

    def counted(self: DocketList, row: object, width: int) -> object:
        drawn.append(row.claim.claim)  # type: ignore[attr-defined]
        return row_strip(self, row, width)  # type: ignore[arg-type]

    monkeypatch.setattr(DocketList, "row_strip", counted)
    async with on_docket(place(tmp_path, claims, keymap), size) as docket:
        height = docket.screen.query_one(DocketList).height
        assert set(drawn) == {f"C-{n:05}" for n in range(height)}
        drawn.clear()
        await docket.press("end")
        assert set(drawn) <= {f"C-{n:05}" for n in range(10_000 - height, 10_000)}
        drawn.clear()
        await docket.press("0", "7", "7", "7")
        assert docket.line("filter").endswith(" 11 of 10000")
        assert len(drawn) <= 4 * height * 2
        assert len(docket.screen.query("*")) < 20
