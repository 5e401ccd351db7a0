"""The words around the list of claims: what is missing, what is left to issue, and the keys."""

from pathlib import Path

import pytest

from keymaps.keymap import Keymap, keymap_names, load_keymap
from sessions.docket.docket import DocketFolder
from tests.tui.benching import LARGE, SMALL
from tests.tui.docket.docketing import FITTING, finished_entries, listed, on_docket, place
from tests.tui.docket.docketing import write_review as write
from tui.docket.words import SHOWN
from tui.widgets.panels import KeysLine

CLAIM = listed("C-1", FITTING)


def reviewed(folder: DocketFolder) -> None:
    write(folder, CLAIM, "R1", finished_entries())
    write(folder, CLAIM, "R2", finished_entries())


async def test_the_note_says_that_the_footage_is_missing(tmp_path: Path, keymap: Keymap) -> None:
    made = place(tmp_path, [CLAIM], keymap)
    async with on_docket(made) as docket:
        assert "is not there" not in docket.text
        made.folder.footage(CLAIM).unlink()
        await docket.press("ctrl+l")
        said = "Its footage footage/a.mp4 is not there: put it into the docket."
        assert docket.line("message").startswith(said)


async def test_the_status_line_counts_what_is_to_issue(tmp_path: Path, keymap: Keymap) -> None:
    async with on_docket(place(tmp_path, [CLAIM], keymap, prepare=reviewed)) as docket:
        where = docket.line("where")
        assert where == "Docket season │ reviewer R1 │ 1 claim, 0 to be ruled │ 1 to issue"


def keys_line(keymap: Keymap, width: int) -> str:
    return KeysLine.keys(keymap, SHOWN, width, ("Tab", "next")).plain


@pytest.mark.parametrize("name", keymap_names())
def test_the_line_of_keys_has_help_and_quit_and_cuts_none(name: str) -> None:
    keymap = load_keymap(name, user_file=None)
    line = keys_line(keymap, SMALL[0])
    assert len(line) <= SMALL[0]
    assert "help" in line
    assert "quit" in line
    assert "issue" in line
    assert keys_line(keymap, LARGE[0]).endswith("Tab next")
    assert keys_line(keymap, 20).split()[1::2] == ["help", "quit"]
