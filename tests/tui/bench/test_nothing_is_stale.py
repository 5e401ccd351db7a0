"""Whatever happens on the bench, the terminal shows what the bench means, cell by cell."""

import asyncio
import random
from collections.abc import Awaitable, Callable

import pytest

from keymaps.keymap import Keymap
from tests.tui.bench.foreign import ForeignDriver, meant, on_glass, picture_of
from tests.tui.benching import Bench, make_app
from tests.tui.conftest import PlainSource
from tests.tui.picture.emulator import error_shown
from tests.tui.reviewing import do
from tui.bench.review import Review
from tui.bench.screen import BenchScreen
from tui.picture.choice import Wish, choose
from tui.picture.terminal import Terminal
from tui.widgets.frameview import FrameView
from tui.widgets.pictures import DeltaPictures

VIEWS = ("#frame", "#strip")
KEYS = ("step.forward", "step.back", "leap.forward", "second.forward", "flip", "lens",
        "lens.enlarge", "lens.left", "light.up", "pair.side", "strip.step", "due.in_order",
        "run.begin", "undo", "redraw", "play", "flip.run")  # fmt: skip
DIALOGS = ("help", "ruling", "go_to", "note", "ladder.list", "finish", "reading")
SIZES = ((80, 24), (97, 31), (120, 40), (79, 24), (30, 10))
THEMES = ("nord", "gruvbox", "textual-light", "textual-dark")


STALE = 1000.0
"""The mean squared error of a cell, in levels, from which on it shows something else: a bar that
comes to a cell or goes changes it by 4000 and more, what is left as it is for noise by 200."""


class Terminals:
    """The bench in pyte, and what may happen to it."""

    def __init__(self, bench: Bench, rng: random.Random) -> None:
        self.bench, self.rng = bench, rng

    @property
    def driver(self) -> ForeignDriver:
        assert isinstance(self.bench.app._driver, ForeignDriver)
        return self.bench.app._driver

    async def keys(self) -> None:
        for _ in range(self.rng.randint(1, 4)):
            self.bench.hold(self.bench.screen.keymap.keys_for(self.rng.choice(KEYS))[0], 1)
            await asyncio.sleep(self.rng.choice([0, 0.01, 0.03]))

    async def dialog(self) -> None:
        self.bench.hold(self.bench.screen.keymap.keys_for(self.rng.choice(DIALOGS))[0], 1)
        await self.stand_still()
        if self.bench.app.size.width >= 80:
            self.check_all("under a dialog")
        if self.rng.random() < 0.7:
            await self.leave()

    async def toast(self) -> None:
        self.bench.app.notify("note " * self.rng.randint(1, 12), timeout=0.1)

    async def resize(self) -> None:
        self.driver.resize(*self.rng.choice(SIZES))

    async def theme(self) -> None:
        self.bench.app.theme = self.rng.choice(THEMES)

    async def leave(self) -> None:
        """Leave all dialogs."""
        while not self.bench.is_clear:
            self.bench.app.pop_screen()
            await self.bench.pilot.pause()

    async def rest(self) -> None:
        """Nothing happens any more, and both views have come to rest."""
        await self.leave()
        if self.bench.app.size.width < 80:
            self.driver.resize(80, 24)  # in less, views lie under each other
        self.bench.app.clear_notifications()
        await self.stand_still()
        for _ in range(100):
            await self.bench.pilot.pause(0.05)
            if not any(view.is_refining for view in self.views):
                break
        await self.stand_still()

    async def stand_still(self) -> None:
        """Nothing goes on by itself, and what was asked for has been written."""
        self.bench.screen.player.pause()
        if self.bench.screen.is_flipping:
            self.bench.screen.action_do("flip.run")
        await self.bench.pilot.pause(0.05)
        await self.bench.settle()

    @property
    def views(self) -> list[FrameView]:
        found = [self.bench.screen.query_one(name, FrameView) for name in VIEWS]
        return [view for view in found if view.size.area]

    def check_pictures(self, done: object) -> None:
        for view in self.views:
            solved = view._solved
            if solved is not None and solved.size == view.size:
                shown = picture_of(self.driver.screen, view.region)
                assert error_shown(shown, solved) <= STALE, (view.id, done)

    def check_all(self, done: object) -> None:
        """Every cell is as the library means it; of pictures on the bench itself only the place."""
        pictures = [view.region for view in self.views] if self.bench.is_clear else []
        stale = [
            (row, column, on_glass(self.driver.screen, row, column), cell)
            for row, cells in enumerate(meant(self.bench.app))
            for column, cell in enumerate(cells)
            if not any(place.contains(column, row) for place in pictures)
            and not same(on_glass(self.driver.screen, row, column), cell)
        ]
        assert stale == [], done


def same(shown: tuple[str, str, str], wanted: tuple[str, str, str]) -> bool:
    """Whether two cells look alike: the colour of a glyph that is not there does not count."""
    if shown[0] == wanted[0] == " ":
        return shown[2] == wanted[2]
    return shown == wanted


@pytest.mark.proof
@pytest.mark.parametrize("wish", ["blocks", "octants", "halves"])
@pytest.mark.parametrize("seed", range(2))
async def test_no_cell_of_the_bench_is_ever_stale(
    review: Review,
    source: PlainSource,
    keymap: Keymap,
    seed: int,
    wish: Wish,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setenv("COLORTERM", "truecolor")
    do(review, "run.begin", at=0)
    rng = random.Random(f"{seed} {wish}")
    # pyte does not know REP, and the probe finds that out; see the tests of the probe
    terminal = Terminal(answers=True, reports_cursor=True, utf8=True, colours=1 << 24, octants=True)
    app = make_app(review, source, keymap, pictures=DeltaPictures(choose(terminal, wish)))
    app.driver_class = ForeignDriver
    async with app.run_test(headless=False, size=(80, 24)) as pilot:
        await pilot.pause()
        assert isinstance(app.screen, BenchScreen)
        there = Terminals(Bench(app, pilot, app.screen), rng)
        happenings: list[Callable[[], Awaitable[None]]] = [
            there.keys, there.keys, there.dialog, there.toast, there.resize, there.theme,
        ]  # fmt: skip
        for _ in range(4):
            done = [rng.choice(happenings) for _ in range(rng.randint(2, 6))]
            for happening in done:
                await happening()
                await asyncio.sleep(rng.choice([0, 0, 0.01, 0.03]))
            await there.rest()
            names = [happening.__name__ for happening in done]
            there.check_pictures(names)
            there.check_all(names)
