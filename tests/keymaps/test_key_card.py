import re

import pytest

from keymaps.card import key_card, key_table, screen_card, sections
from keymaps.commands import COMMANDS, Group, Where, commands_on
from keymaps.keymap import Keymap, keymap_names, load_keymap
from keymaps.keys import display_key


@pytest.fixture(params=keymap_names())
def keymap(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> Keymap:
    monkeypatch.setattr("keymaps.keymap.user_keys_file", lambda: None)
    return load_keymap(request.param)


def shown_keys(keymap: Keymap) -> list[str]:
    return sorted(display_key(key) for keys in keymap.keys.values() for key in keys)


def test_the_rows_hold_every_key_of_every_command_once(keymap: Keymap) -> None:
    rows = [row for section in sections(keymap) for row in section.rows]
    assert sorted(key for row in rows for keys in row.keys for key in keys) == shown_keys(keymap)


def test_every_row_has_a_cell_for_each_column(keymap: Keymap) -> None:
    for section in sections(keymap):
        assert {len(row.keys) for row in section.rows} == {len(section.columns)}


@pytest.mark.parametrize("width", [48, 60, 80, 132])
def test_the_card_fits_its_width_and_loses_nothing(keymap: Keymap, width: int) -> None:
    card = key_card(keymap, width)
    assert max(map(len, card.splitlines())) <= width
    assert all(line == line.rstrip() for line in card.splitlines())
    words = sorted(word for line in card.splitlines()[1:] for word in line.split())
    for key in set(shown_keys(keymap)):
        assert key in words


def test_the_card_says_each_thing_once(keymap: Keymap) -> None:
    card = key_card(keymap)
    plain = [c.label for c in COMMANDS.values() if c.group is not Group.KINDS]
    for label in plain:
        assert len(re.findall(rf"(?<=  ){re.escape(label)}(?=  )", card)) == 1


@pytest.mark.parametrize(
    ("screen", "first"),
    [
        (Where.BENCH, Group.MOVE),
        (Where.SETTLING, Group.SETTLE),
        (Where.DOCKET, Group.DOCKET),
    ],
)
def test_the_card_of_a_screen_has_its_commands_only_its_own_group_first(
    keymap: Keymap, screen: Where, first: Group
) -> None:
    card = screen_card(keymap, screen, 80)
    assert card.startswith(f"{first}\n")
    labels = {row.label for section in sections(keymap, screen) for row in section.rows}
    known = [c for c in commands_on(screen) if c.group is not Group.KINDS]
    assert {command.label for command in known} <= labels
    others = [c for c in COMMANDS.values() if screen not in c.screens]
    assert not labels & {c.label for c in others if c.group is not Group.KINDS}


def test_the_card_fits_one_printed_page(keymap: Keymap) -> None:
    assert key_card(keymap).count("\n") <= 88  # lines on a page of 11 inches at 8 lines an inch


def test_the_kinds_stand_in_three_columns(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("keymaps.keymap.user_keys_file", lambda: None)
    lines = key_card(load_keymap("qwerty")).splitlines()
    [head] = [line for line in lines if line.split() == ["in", "order", "fault", "cannot", "tell"]]
    [row] = [line for line in lines if line.split() == ["Let", "go", "l", "L", "Alt+l"]]
    columns = [head.index(title) for title in ("in order", "fault", "cannot tell")]
    assert [row[at:].split(" ")[0] for at in columns] == ["l", "L", "Alt+l"]


def test_more_keys_than_fit_go_on_in_the_next_line() -> None:
    keys = dict.fromkeys(COMMANDS, ("space",))
    keymap = Keymap(name="many", title="Many", keys=keys | {"note": ("space",) * 20})
    card = key_card(keymap)
    assert max(map(len, card.splitlines())) <= 80
    assert card.count("Space") == len(COMMANDS) + 19


def test_the_markdown_tables_are_whole(keymap: Keymap) -> None:
    lines = [*key_table(keymap).splitlines(), ""]
    heads = [i for i, line in enumerate(lines) if line.startswith("| ---")]
    assert len(heads) == len(Group)
    for line in lines:
        assert line == "" or line.startswith(("**", "| "))
    for at in heads:
        table = lines[at - 1 : lines.index("", at)]
        assert len({len(re.findall(r"(?<!\\)\|", line)) for line in table}) == 1


def test_signs_of_markdown_are_escaped_in_the_table() -> None:
    keys = dict.fromkeys(COMMANDS, ("grave_accent", "vertical_line"))
    table = key_table(Keymap(name="signs", title="Signs", keys=keys))
    assert r"| Note | `` ` `` `\|` | Write a note at this frame. |" in table
