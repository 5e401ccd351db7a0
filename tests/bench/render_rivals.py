"""Other libraries that draw pictures in cells, each as its documentation says; full frames only."""

import ctypes
import io
import warnings
from collections.abc import Callable
from importlib import import_module
from typing import Any

from PIL import Image
from rich.console import Console

from tui.picture.cells import Pixels

Drawer = Callable[[Pixels], bytes]
"""From a frame to what the terminal is sent."""


def rivals(columns: int, rows: int) -> dict[str, Drawer | str]:
    """Drawers by name; a sentence in the place of one that cannot be had here."""
    makers: dict[str, Callable[[], Drawer]] = {
        "chafa, one colour a cell": lambda: _chafa(columns, rows, "SPACE"),
        "chafa, half blocks": lambda: _chafa(columns, rows, "SPACE", "SOLID", "HHALF"),
        "chafa, blocks": lambda: _chafa(columns, rows, "SPACE", "BLOCK"),
        "rich-pixels": lambda: _rich_pixels(columns, rows),
        "textual-image, half cells": lambda: _textual_image(columns, rows),
        "term-image, blocks": lambda: _term_image(columns, rows),
    }
    found: dict[str, Drawer | str] = {}
    for name, make in makers.items():
        try:
            found[name] = make()
        except ImportError as error:
            found[name] = f"not installed ({error})"
    return found


def _chafa(columns: int, rows: int, *symbols: str) -> Drawer:
    chafa: Any = import_module("chafa")
    config = chafa.CanvasConfig()
    config.width, config.height = columns, rows
    config.cell_width, config.cell_height = 8, 16
    config.canvas_mode = chafa.CanvasMode.CHAFA_CANVAS_MODE_TRUECOLOR
    config.pixel_mode = chafa.PixelMode.CHAFA_PIXEL_MODE_SYMBOLS
    config.optimizations = (chafa.Optimizations.CHAFA_OPTIMIZATION_ALL,)
    config.preprocessing = False
    chosen = chafa.SymbolMap()
    for symbol in symbols:
        chosen.add_by_tags(getattr(chafa.SymbolTags, f"CHAFA_SYMBOL_TAG_{symbol}"))
    config.set_symbol_map(chosen)

    def draw(frame: Pixels) -> bytes:
        height, width = frame.shape[:2]
        canvas = chafa.Canvas(config)
        pixels = (ctypes.c_uint8 * frame.size).from_buffer_copy(frame.tobytes())
        kind = chafa.PixelType.CHAFA_PIXEL_RGB8
        canvas.draw_all_pixels(kind, pixels, width, height, width * 3)
        return bytes(canvas.print(fallback=True))

    return draw


def _console(columns: int) -> tuple[io.StringIO, Any]:
    out = io.StringIO()
    console = Console(
        file=out, force_terminal=True, color_system="truecolor", width=columns, legacy_windows=False
    )
    return out, console


def _rich_pixels(columns: int, rows: int) -> Drawer:
    rich_pixels: Any = import_module("rich_pixels")

    def draw(frame: Pixels) -> bytes:
        out, console = _console(columns)
        image = Image.fromarray(frame)
        console.print(rich_pixels.Pixels.from_image(image, resize=(columns, 2 * rows)))
        return out.getvalue().encode()

    return draw


def _textual_image(columns: int, rows: int) -> Drawer:
    terminal: Any = import_module("textual_image._terminal")
    halfcell: Any = import_module("textual_image.renderable.halfcell")
    halfcell.get_cell_size = lambda: terminal.CellSize(8, 16)

    def draw(frame: Pixels) -> bytes:
        out, console = _console(columns)
        console.print(halfcell.Image(Image.fromarray(frame), columns, rows))
        return out.getvalue().encode()

    return draw


def _term_image(columns: int, rows: int) -> Drawer:
    with warnings.catch_warnings(action="ignore"):  # that there is no terminal
        term_image: Any = import_module("term_image.image")

    def draw(frame: Pixels) -> bytes:
        image = term_image.BlockImage(Image.fromarray(frame))
        image.set_size(columns, rows)
        return format(image, "1.1#").encode()

    return draw
