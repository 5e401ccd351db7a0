"""Which painter, which palette and which pace suit a terminal."""

from dataclasses import dataclass
from typing import Literal, get_args

from sessions.errors import TerminalError
from tui.picture.palette import INDEXED_16, INDEXED_256, NO_COLOUR, TRUECOLOUR, Palette
from tui.picture.pixels import PixelPainter
from tui.picture.solver import (
    BLOCK_PAINTER,
    HALF_PAINTER,
    LETTER_PAINTER,
    OCTANT_PAINTER,
    SHADE_PAINTER,
    DensityPainter,
    GlyphPainter,
)
from tui.picture.terminal import Terminal

Wish = Literal["auto", "blocks", "octants", "halves", "pixels"]
WISHES: tuple[Wish, ...] = get_args(Wish)

LEAST_REGISTERS = 64
"""Colours below which sixels blur what is faint."""

_Painters = GlyphPainter | DensityPainter | PixelPainter


@dataclass(frozen=True, eq=False)
class Choice:
    """How pictures are drawn."""

    painter: _Painters
    palette: Palette
    repeats: bool
    """Whether runs may be written with REP."""
    acknowledged: bool
    """Whether the terminal itself says how far it has come."""
    refused: str = ""
    """Why a wish could not be met, in one sentence; empty where it was."""

    @property
    def doubt(self) -> str:
        """Why contact cannot be judged however much is enlarged, in one sentence; mostly empty."""
        if self.palette in (TRUECOLOUR, INDEXED_256):
            return ""
        if self.painter is LETTER_PAINTER:
            return "In letters contact cannot be told from a gap: take a terminal that takes UTF-8."
        few = "In 16 colours" if self.palette is INDEXED_16 else "Without colours"
        return f"{few} contact cannot be told from a gap: take a terminal with 256 or more."

    @property
    def words(self) -> str:
        """What is in use, for the status line."""
        if isinstance(self.painter, PixelPainter):
            return "pixels (sixel)" if self.painter.registers else "pixels (kitty)"
        return f"{self.painter.name}, {self.palette.name}"


def choose(terminal: Terminal, wish: Wish = "auto") -> Choice:
    """The best that is sure to work; a wish is met where the probe says that it can be."""
    painter, refused = _pixels(terminal) if wish == "pixels" else _painter(terminal, wish)
    return Choice(
        painter,
        _palette(terminal),
        terminal.repeats,
        terminal.reports_cursor and terminal.multiplexer is None,
        refused,
    )


def wish_of(text: str) -> Wish:
    """The wish that a text names. Raises TerminalError where there is none of that name."""
    for wish in WISHES:
        if wish == text:
            return wish
    raise TerminalError(f"Pictures cannot be drawn as {text!r}; use one of {', '.join(WISHES)}.")


def _painter(terminal: Terminal, wish: Wish) -> tuple[_Painters, str]:
    if not terminal.utf8:
        refused = "" if wish == "auto" else "The terminal does not take UTF-8: letters instead."
        return LETTER_PAINTER, refused
    if terminal.colours == 0:
        refused = "" if wish == "auto" else "The terminal shows no colours: shades instead."
        return SHADE_PAINTER, refused
    if wish == "halves" or (wish == "auto" and not terminal.answers):
        return HALF_PAINTER, ""
    if wish == "octants" and terminal.octants and not terminal.multiplexer:
        return OCTANT_PAINTER, ""
    refused = (
        "The terminal is not known to draw octants: blocks instead." if wish == "octants" else ""
    )
    return BLOCK_PAINTER, refused


def _palette(terminal: Terminal) -> Palette:
    if not terminal.utf8 or terminal.colours == 0:
        return NO_COLOUR
    if terminal.colours > 256:
        return TRUECOLOUR
    return INDEXED_256 if terminal.colours == 256 else INDEXED_16


def _pixels(terminal: Terminal) -> tuple[_Painters, str]:
    """Pixels where the terminal itself draws them; else what it would get without the wish."""
    painter, _ = _painter(terminal, "auto")
    if terminal.multiplexer:
        return painter, f"Pixels are not drawn through {terminal.multiplexer}: {painter.name}."
    if terminal.cell is None or not (terminal.kitty or terminal.sixel):
        return painter, f"The terminal draws no pixels (kitty, sixel): {painter.name} instead."
    if not terminal.kitty and terminal.registers < LEAST_REGISTERS:
        few = f"The terminal's sixels have {terminal.registers} colours, which are too few"
        return painter, f"{few}: {painter.name} instead."
    return PixelPainter(terminal.cell, 0 if terminal.kitty else terminal.registers), ""
