"""The marks and colours by which every panel shows a state; never by colour alone.

The colours are told apart with any colour vision: they follow M. Okabe and K. Ito, Color Universal
Design (2008), from memory; green and vermillion are lightened to be read on black.
"""

from rich.style import Style

from sessions.ruling.ruling import Standing

SKY, GREEN, AMBER, RED = "#56b4e9", "#00b383", "#e69f00", "#ff7a33"
GREY, WHITE = "#8f8f8f", "#e4e4e4"

MARKS: dict[str, tuple[str, str]] = {
    "proven": ("✓", GREEN),
    "fault": ("✗", RED),
    "unproven": ("≈", AMBER),
    "due": ("▸", SKY),
    "open": ("·", GREY),
    "conflict": ("!", RED),
}

STANDINGS: dict[Standing, str] = {
    Standing.STANDS: GREEN,
    Standing.SCRATCH: RED,
    Standing.VOID: RED,
    Standing.NOT_PROVEN: AMBER,
    Standing.OPEN: SKY,
    Standing.UNCOUNTED: GREY,
}


def style(colour: str, *, bold: bool = False, reverse: bool = False) -> Style:
    """A style in one of the colours above."""
    return Style(color=colour, bold=bold, reverse=reverse)
