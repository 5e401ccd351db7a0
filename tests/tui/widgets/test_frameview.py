import asyncio
import random
from collections.abc import Callable
from functools import partial

import numpy as np
import pytest
from textual.app import ComposeResult
from textual.events import CursorPosition
from textual.pilot import Pilot
from textual.screen import Screen
from textual.widgets import Static

from keymaps.keymap import Keymap
from tests.proofs import mostly_proofs
from tests.tui.picture.emulator import Shown, error_shown, pixels_shown
from tests.tui.widgets.captured import (
    PIXEL_PAINTER,
    SIXEL_PAINTER,
    SIZE,
    Cover,
    Dialog,
    Pictured,
    pixel_view,
    plain_view,
)
from tui.app import FramecallApp
from tui.picture.delta import MOVING, ROUGH, STILL, DeltaEncoder, Fineness
from tui.picture.glyphs import BLOCKS
from tui.picture.pacing import Pacer
from tui.picture.palette import TRUECOLOUR
from tui.widgets.frameview import FrameView


def error(app: Pictured, fineness: Fineness = STILL) -> float:
    """By how much the worst cell of the view is worse than a fineness lets it be for its colours.

    See ``error_shown``."""
    assert app.shown is not None
    assert app.shown.size == app.view.size
    place = app.view.region
    return error_shown(app.terminal, app.shown, at=(place.y, place.x), fineness=fineness)


def pixel_error(app: Pictured) -> float:
    """By how much the worst cell of the view is off, its pixels taken together."""
    assert app.pixels is not None
    width, height = PIXEL_PAINTER.sub_cells
    place = app.view.region
    shown = pixels_shown(app.terminal, (width, height), (place.y, place.x), app.view.size)
    off = (shown.astype(float) - app.pixels) ** 2
    columns, rows = app.view.size
    return float(off.reshape(rows, height, columns, width, 3).mean(axis=(1, 3, 4)).max())


FEW_COLOURS = 55.0
"""How far off a cell of many colours may be when it is drawn in 64 that it shares with others; a
cell that shows another of these pictures is off by about 100."""


def check(app: Pictured, fineness: Fineness, done: object) -> None:
    if app.painter is SIXEL_PAINTER:
        assert pixel_error(app) <= FEW_COLOURS**2, done
        return
    worst = pixel_error(app) if app.painter is PIXEL_PAINTER else error(app, fineness)
    assert worst <= fineness.floor**2 + 0.1, done


async def rest(app: Pictured, pilot: Pilot[None]) -> None:
    """Wait until the view has come to rest."""
    for _ in range(60):
        await pilot.pause(0.05)
        if not app.view.is_refining:
            break


async def refined(app: Pictured, pilot: Pilot[None]) -> float:
    """The error after the view has come to rest."""
    await rest(app, pilot)
    return error(app)


ACTIONS: dict[str, Callable[[Pictured, random.Random], object]] = {
    "step": lambda app, rng: app.step(rng.randrange(10**6)),
    "step again": lambda app, rng: app.step(rng.randrange(10**6)),
    "jump": lambda app, rng: app.jump(rng.randrange(10**6)),
    "left": lambda app, rng: text(app, "#left", rng),
    "right": lambda app, rng: text(app, "#right", rng),
    "head": lambda app, rng: text(app, "#head", rng),
    "foot": lambda app, rng: text(app, "#foot", rng),
    "toast": lambda app, rng: app.notify("note " * rng.randint(1, 12), timeout=0.1),
    "dialog": lambda app, rng: app.push_screen(Dialog()),
    "cover": lambda app, rng: app.push_screen(Cover()),
    "back": lambda app, rng: app.pop_screen() if len(app.screen_stack) > 2 else None,
    "over": lambda app, rng: over(app, True, rng),
    "over away": lambda app, rng: over(app, False, rng),
    "theme": lambda app, rng: setattr(app, "theme", rng.choice(["nord", "gruvbox"])),
    "resize": lambda app, rng: app.resize(rng.randint(45, 70), rng.randint(12, 24)),
    "resize to the same": lambda app, rng: app.resize(*app.size),
    "refresh": lambda app, rng: rng.choice([app.view, app.screen]).refresh(),
    "redraw": lambda app, rng: redraw(app),
}


def text(app: Pictured, name: str, rng: random.Random) -> None:
    app.main.query_one(name, Static).update(f"{rng.random()} " * rng.randint(1, 9))


def over(app: Pictured, shown: bool, rng: random.Random) -> None:
    widget = app.main.query_one("#over")
    widget.styles.offset = (rng.randint(0, 50), rng.randint(0, 15))
    widget.display = shown


def redraw(app: Pictured) -> None:
    app.scramble()
    app.view.invalidate()
    app.screen.refresh(layout=True)


async def stepped(app: Pictured, pilot: Pilot[None], rng: random.Random) -> None:
    """Step until a picture of the view's size is shown: a resize may be late."""
    app.step(rng.randrange(10**6))
    await pilot.pause(0.03)
    while app.shown is None or app.shown.size != app.view.size:
        app.step(rng.randrange(10**6))
        await pilot.pause(0.03)


KINDS = {
    "cells": lambda: Pictured(),
    "pixels": lambda: Pictured(pixel_view, PIXEL_PAINTER),
    "sixels": lambda: Pictured(partial(pixel_view, SIXEL_PAINTER), SIXEL_PAINTER),
}


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("seed", mostly_proofs(range(6), [4]))
async def test_no_cell_is_ever_stale_whatever_happens(seed: int, kind: str) -> None:
    rng = random.Random(seed)
    app = KINDS[kind]()
    async with app.run_test(headless=False, size=SIZE) as pilot:
        await pilot.pause()
        app.jump(seed)
        for _ in range(6):
            done = [rng.choice(list(ACTIONS)) for _ in range(rng.randint(2, 7))]
            for action in done:
                ACTIONS[action](app, rng)
                await asyncio.sleep(rng.choice([0, 0, 0.005, 0.02]))
            while len(app.screen_stack) > 2:
                app.pop_screen()
            over(app, False, rng)
            app.clear_notifications()
            await pilot.pause(0.12)
            await stepped(app, pilot, rng)
            check(app, ROUGH, done)
        await rest(app, pilot)
        check(app, STILL, "at rest")


async def test_what_the_library_draws_anew_is_written_whole() -> None:
    app = Pictured()
    async with app.run_test(headless=False, size=SIZE) as pilot:
        await pilot.pause()
        app.jump(1)
        await rest(app, pilot)
        app.scramble()
        app.screen.refresh()
        await pilot.pause(0.05)
        assert error(app, ROUGH) <= ROUGH.floor**2 + 0.1


async def test_a_step_sends_the_cells_that_changed_and_no_others() -> None:
    app = Pictured()
    async with app.run_test(headless=False, size=SIZE) as pilot:
        await pilot.pause()
        app.jump(1)
        await refined(app, pilot)
        before = app.driver.written
        app.step(2)
        await pilot.pause(0.02)
        assert 0 < app.driver.written - before < 900
        assert error(app, MOVING) <= MOVING.floor**2 + 0.1


async def test_the_same_picture_again_sends_nothing() -> None:
    app = Pictured()
    async with app.run_test(headless=False, size=SIZE) as pilot:
        await pilot.pause()
        app.jump(1)
        await refined(app, pilot)
        before = app.driver.written
        app._show()
        await pilot.pause(0.3)
        assert app.driver.written == before


async def test_at_rest_the_picture_is_refined_and_a_step_stops_that() -> None:
    app = Pictured()
    async with app.run_test(headless=False, size=SIZE) as pilot:
        await pilot.pause()
        app.jump(1)
        await pilot.pause(0.05)
        rough = error(app)
        assert await refined(app, pilot) <= STILL.floor**2 + 0.1
        assert rough > STILL.floor**2


async def test_while_the_terminal_is_behind_the_view_is_not_ready() -> None:
    app = Pictured()
    async with app.run_test(headless=False, size=SIZE) as pilot:
        await pilot.pause()
        app.driver.answers = False
        for seed in range(4):
            app.jump(seed)
            await pilot.pause(0.02)
        assert not app.view.ready
        for _ in range(app.terminal.reports):
            FrameView.acknowledged([app.view])
        await pilot.pause()
        assert app.readied == 1
        assert app.view.ready


class Paced(Screen[None]):
    """A screen with a view of its own, paced together with others."""

    def __init__(self, pacer: Pacer) -> None:
        super().__init__()
        self._pacer = pacer

    def compose(self) -> ComposeResult:
        yield FrameView(
            lambda solved: DeltaEncoder(BLOCKS, TRUECOLOUR, solved.size), self._pacer, id="v"
        )


async def test_a_report_acknowledges_one_picture_however_many_screens_are_open(
    keymap: Keymap,
) -> None:
    pacer = Pacer(acknowledged=True, clock=lambda: 0.0)
    app = FramecallApp(keymap, lambda: Paced(pacer))
    async with app.run_test() as pilot:
        app.push_screen(Paced(pacer))  # as the bench is opened over the differences to settle
        await pilot.pause()
        pacer.sent(1000)
        pacer.sent(1000)
        assert not pacer.ready
        app.post_message(CursorPosition(0, 0))
        await pilot.pause()
        assert pacer.under_way == 1000


async def test_without_acknowledgements_readiness_comes_by_time() -> None:
    app = Pictured(lambda: plain_view(acknowledged=False))
    async with app.run_test(headless=False, size=SIZE) as pilot:
        await pilot.pause()
        app.jump(1)
        await pilot.pause(0.01)
        assert app.terminal.reports == 0
        for _ in range(100):
            if app.view.ready:
                break
            await pilot.pause(0.02)
        assert app.view.ready


async def test_dialogs_show_the_picture_through_their_surroundings() -> None:
    app = Pictured()
    async with app.run_test(headless=False, size=SIZE) as pilot:
        await pilot.pause()
        app.jump(1)
        await refined(app, pilot)
        before = row_of(app)
        app.push_screen(Dialog())
        await pilot.pause(0.05)
        tinted = row_of(app)
        assert [straight(cell) for cell in tinted] == [straight(cell) for cell in before]
        assert tinted != before
        app.pop_screen()
        await pilot.pause(0.05)
        assert error(app, ROUGH) <= ROUGH.floor**2 + 0.1


async def test_a_screenshot_shows_the_picture() -> None:
    app = Pictured()
    async with app.run_test(size=SIZE) as pilot:
        await pilot.pause()
        app.jump(1)
        await pilot.pause()
        assert any(glyph in app.export_screenshot() for glyph in "▘▚▂▎")


async def test_until_it_has_a_picture_of_its_size_the_view_is_blank() -> None:
    app = Pictured()
    async with app.run_test(headless=False, size=SIZE) as pilot:
        await pilot.pause()
        place = app.view.region
        assert app.terminal.at(place.y, place.x).glyph == " "
        app.jump(1)
        app.resize(50, 15)
        await pilot.pause(0.05)
        assert {cell.glyph for cell in row_of(app)} == {" "}


def straight(cell: Shown) -> str:
    """A cell's glyph, whichever way round it was written."""
    code = ord(cell.glyph)
    turned = np.flatnonzero(BLOCKS.inverse == code)
    return chr(BLOCKS.direct[turned[0]]) if len(turned) and code not in BLOCKS.direct else chr(code)


def row_of(app: Pictured) -> list[Shown]:
    place = app.view.region
    return [app.terminal.at(place.y, column) for column in range(place.x, place.right)]
