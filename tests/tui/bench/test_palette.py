"""The palette finds every command of the registry by name."""

import pytest
from textual.command import CommandPalette, DiscoveryHit, Hit
from textual.screen import Screen

from keymaps.commands import COMMANDS, Where, commands_on
from keymaps.keymap import Keymap
from tests.proofs import mostly_proofs
from tests.tui.benching import LARGE, SMALL, make_app, on_bench
from tests.tui.conftest import Clock, PlainSource
from tests.tui.reviewing import written
from tui.app import CommandSearch, FramecallApp
from tui.bench.review import Review
from tui.widgets.dialogs import PageScreen


async def test_all_commands_are_listed_before_anything_is_typed(app: FramecallApp) -> None:
    async with on_bench(app) as bench:
        hits = [hit async for hit in CommandSearch(bench.screen).discover()]
    assert [hit.help for hit in hits] == [command.help for command in commands_on(Where.BENCH)]
    assert all(isinstance(hit, DiscoveryHit) for hit in hits)


async def test_a_command_is_found_by_a_part_of_its_label(app: FramecallApp) -> None:
    async with on_bench(app) as bench:
        hits = [hit async for hit in CommandSearch(bench.screen).search("last frame")]
    assert all(isinstance(hit, Hit) for hit in hits)
    assert COMMANDS["footage.last"].help in [hit.help for hit in hits]
    assert COMMANDS["footage.first"].help not in [hit.help for hit in hits]


async def test_away_from_the_bench_there_are_no_commands(app: FramecallApp) -> None:
    async with on_bench(app) as bench:
        await bench.do("help")
        assert isinstance(app.screen, PageScreen)
        assert [hit async for hit in CommandSearch(app.screen).discover()] == []


async def test_the_library_adds_no_commands_of_its_own(app: FramecallApp) -> None:
    async with on_bench(app):
        assert list(app.get_system_commands(Screen())) == []


@pytest.mark.parametrize("size", mostly_proofs([SMALL, LARGE], [SMALL]))
async def test_a_command_is_done_from_the_palette(
    app: FramecallApp, review: Review, size: tuple[int, int]
) -> None:
    async with on_bench(app, size) as bench:
        await bench.press("ctrl+p")
        assert isinstance(app.screen, CommandPalette)
        await bench.press(*"last frame")
        await bench.until(lambda: "Last frame" in bench.text)
        await bench.press("enter")
        await bench.press("enter")
        await bench.until(lambda: review.frame == review.frames - 1)


async def test_quitting_from_the_palette_writes_down_what_was_shown(
    app: FramecallApp, review: Review
) -> None:
    async with on_bench(app) as bench:
        await bench.press("right")
        bench.screen.action_do("palette")
        await bench.settle()
        assert isinstance(app.screen, CommandPalette)
        await bench.press("escape")
        bench.screen.action_do("quit")
        await bench.settle()
    assert review.session.shown.ranges == ((0, 1),)


async def test_keys_with_a_meaning_in_markup_are_listed_as_they_are(app: FramecallApp) -> None:
    async with on_bench(app, LARGE) as bench:
        await bench.press("ctrl+p")
        await bench.press(*"previous tag")
        await bench.until(lambda: "Previous tag" in bench.text)
        assert "Previous tag  [" in bench.text


async def test_a_tag_from_the_palette_rests_on_the_picture_too(
    app: FramecallApp, review: Review, source: PlainSource
) -> None:
    source.absent = {0}
    async with on_bench(app, LARGE) as bench:
        bench.screen.action_do("run.begin")
        await bench.settle()
        assert "not on the screen yet" in bench.message
    assert written(review) == []


@pytest.mark.parametrize("command", ["play", "flip.run"])
async def test_the_frame_stands_while_a_command_is_searched_for(
    review: Review, source: PlainSource, keymap: Keymap, clock: Clock, command: str
) -> None:
    """A tag from the palette is one of the frame that was on the screen when it was opened."""
    review.go(100)
    async with on_bench(make_app(review, source, keymap, clock)) as bench:
        await bench.do(command)
        await bench.press("ctrl+p")
        assert not bench.is_clear
        frame = review.frame
        clock.now += 2
        await bench.pilot.pause(0.6)  # longer than a flip takes
        assert review.frame == frame
