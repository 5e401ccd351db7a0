"""Every key of every keymap reaches its command on the bench."""

import pytest

from keymaps.commands import Where, commands_on
from keymaps.keymap import keymap_names, load_keymap
from tests.proofs import mostly_proofs
from tests.tui.benching import make_app, on_bench
from tests.tui.conftest import PlainSource
from tui.app import FramecallApp
from tui.bench.review import Review
from tui.bench.screen import BenchScreen

BENCH = [command.id for command in commands_on(Where.BENCH)]


@pytest.mark.parametrize("name", mostly_proofs(keymap_names(), ["left"]))
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
        for command in BENCH:
            for key in keymap.keys_for(command):
                bench.hold(key, 1)
                wanted.append(command)
        await bench.until(lambda: len(done) >= len(wanted))
    # the application itself takes some keys first, so these may overtake the others
    early = ("quit", "palette")
    assert [c for c in done if c not in early] == [c for c in wanted if c not in early]
    assert sorted(c for c in done if c in early) == sorted(c for c in wanted if c in early)
