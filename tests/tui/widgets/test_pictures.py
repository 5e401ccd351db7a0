from collections.abc import Callable
from dataclasses import replace
from functools import partial

import numpy as np
import pytest
from textual.app import App, ComposeResult

from tests.tui.picture.rasters import random_picture
from tests.tui.plain_pictures import HalfBlocks, PlainPictures
from tui.picture.choice import choose
from tui.picture.delta import DeltaEncoder
from tui.picture.pixels import KittyEncoder
from tui.picture.terminal import Terminal
from tui.widgets.pictures import DeltaPictures, Pictures, encoder_for

FULL = Terminal("kitty", None, True, True, True, 1 << 24, True, True, True, (8, 16), kitty=True)

WAYS: dict[str, Callable[[], Pictures]] = {
    "plain": lambda: PlainPictures(HalfBlocks()),
    "cells": lambda: DeltaPictures(choose(FULL)),
    "octants": lambda: DeltaPictures(choose(FULL, "octants")),
    "pixels": lambda: DeltaPictures(choose(FULL, "pixels")),
    "sixels": lambda: DeltaPictures(choose(replace(FULL, kitty=False, sixel=True), "pixels")),
    "no colour": lambda: DeltaPictures(choose(Terminal())),
}


class Two(App[None]):
    """A frame and a strip."""

    CSS = "#frame, #strip { height: 1fr; }"

    def __init__(self, pictures: Pictures) -> None:
        super().__init__()
        self.pictures = pictures

    def compose(self) -> ComposeResult:
        yield self.pictures.frame_view("frame")
        yield self.pictures.strip_view("strip")


@pytest.mark.parametrize("way", WAYS)
async def test_every_way_shows_pictures_on_both_views(way: str) -> None:
    pictures = WAYS[way]()
    app = Two(pictures)
    async with app.run_test(size=(30, 12)) as pilot:
        await pilot.pause()
        for name in ("frame", "strip"):
            view = app.query_one(f"#{name}")
            blank = view.render_lines(view.size.region)[0].text
            across, down = pictures.painter.sub_cells
            assert pictures.ready(view)
            board = random_picture(1, view.size.width * across, view.size.height * down)
            pictures.show(view, board)
            await pilot.pause()
            assert view.render_lines(view.size.region)[0].text != blank
        assert pictures.idle
        assert pictures.words
        assert bool(pictures.note) == bool(pictures.doubt) == (way == "no colour")


def test_pixels_get_an_encoder_of_their_own() -> None:
    for wish, kind in (("auto", DeltaEncoder), ("pixels", KittyEncoder)):
        choice = choose(FULL, wish)  # type: ignore[arg-type]
        across, down = choice.painter.sub_cells
        solved = choice.painter.solve(np.zeros((2 * down, 3 * across, 3), np.uint8))
        encoder = partial(encoder_for, choice, 1)(solved)
        assert isinstance(encoder, kind)
        assert encoder.size == (3, 2)
