"""Every command of the bench is handled, and every key of every keymap reaches its command."""

import pytest

from keymaps.command import Where
from keymaps.commands import commands_on
from keymaps.keymap import keymap_names, load_keymap
from tests.tui.benching import make_app, on_bench
from tests.tui.conftest import PlainSource
from tui.app import FramecallApp
from tui.bench.commands import DEEDS, UNSEEING
from tui.bench.lens_commands import LENS_DEEDS
from tui.bench.requests import REQUESTS
from tui.bench.review import Review
from tui.bench.screen import BenchScreen

COMMANDS = [command.id for command in commands_on(Where.BENCH)]

OWN = {name.removeprefix("_do_") for name in dir(BenchScreen) if name.startswith("_do_")}
"""The commands that the screen itself does, dots written as underscores."""


def test_every_command_is_handled_in_exactly_one_place() -> None:
    handled = [*DEEDS, *LENS_DEEDS, *REQUESTS, *(c for c in COMMANDS if c.replace(".", "_") in OWN)]
    assert sorted(handled) == sorted(COMMANDS)


def test_everything_that_is_handled_is_a_command() -> None:
    assert set(DEEDS) <= set(COMMANDS)
    assert set(REQUESTS) <= set(COMMANDS)
    assert {c.replace(".", "_") for c in COMMANDS} >= OWN


def test_what_rests_on_the_picture_is_never_free_of_it() -> None:
    assert set(COMMANDS) >= UNSEEING
    witnessed = {c for c in DEEDS if c.split(".")[0] in ("in_order", "fault", "cannot_tell", "due")}
    witnessed |= {"run.begin", "run.end", "run.restart", "cup.seen", "cup.all_seen", "not_yet"}
    witnessed |= {"fumble.up", "fumble.down", "reading", "note"}
    assert not witnessed & UNSEEING


@pytest.mark.parametrize("name", keymap_names())
async def test_every_key_of_a_keymap_reaches_its_command(
    review: Review, source: PlainSource, name: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    keymap = load_keymap(name, user_file=None)
    done: list[str] = []
    monkeypatch.setattr(BenchScreen, "action_do", lambda _, command: done.append(command))
    monkeypatch.setattr(FramecallApp, "action_quit", lambda _: done.append("quit"))
    monkeypatch.setattr(FramecallApp, "action_command_palette", lambda _: done.append("palette"))
    wanted = []
    async with on_bench(make_app(review, source, keymap)) as bench:
        for command in COMMANDS:
            for key in keymap.keys_for(command):
                bench.hold(key, 1)
                wanted.append(command)
        await bench.until(lambda: len(done) >= len(wanted))
    # the application itself takes some keys first, so these may overtake the others
    early = ("quit", "palette")
    assert [c for c in done if c not in early] == [c for c in wanted if c not in early]
    assert sorted(c for c in done if c in early) == sorted(c for c in wanted if c in early)
