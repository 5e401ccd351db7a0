"""The frame on its board as the lens asks for it: in part, toned, beside or against another."""

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from tui.picture.cells import Fit, Painter, Pixels, canvas, fit, place, scaled
from tui.picture.looking import crossed, difference, toned

GAP = 1
"""Columns at least that stay black between two pictures, so that they do not look like one."""


@dataclass(frozen=True, slots=True)
class Wish:
    """How pictures are to be shown; see ``looking`` for the tones."""

    brightness: int = 0
    contrast: int = 0
    local: bool = False
    cross: tuple[Fraction, Fraction] | None = None
    """Where a cross is drawn, if it is: shares of the picture from the left and from the top."""
    aspect: Fraction = Fraction(1)
    """Width by height of one pixel of the pictures as displayed."""
    against: bool = False
    """Whether two pictures are shown as what moved between them, instead of side by side."""


def closer_board(
    pictures: Sequence[Pixels], wish: Wish, columns: int, rows: int, painter: Painter
) -> tuple[Pixels, Fit]:
    """One picture, or two of one size, centred on a grid in sub-cells, and how each fits.

    What moved is computed after scaling: between sub-cells as they are shown, not between pixels
    that nobody can see. Local contrast has no part in it: it changes the surroundings of whatever
    moves, and these would seem to move.
    """
    shares = 1 if wish.against else len(pictures)
    height, width = pictures[-1].shape[:2]
    columns_each = columns if shares == 1 else max(1, (columns - GAP) // 2)
    fitted = fit((width, height), columns_each, rows, painter, float(wish.aspect))
    is_difference = wish.against and len(pictures) == 2
    local = wish.local and not is_difference
    shown = [_made(pixels, wish, fitted, local) for pixels in pictures]
    if is_difference:
        shown = [difference(*shown)]
    if wish.cross is not None:
        shown = [crossed(pixels, wish.cross) for pixels in shown]
    board = canvas(columns, rows, painter)
    share = columns_each * painter.sub_cells[0]
    top, aside = (board.shape[0] - fitted.height) // 2, (share - fitted.width) // 2
    for left, pixels in zip((0, board.shape[1] - share), shown, strict=False):
        place(board, pixels, left + aside, top)
    return board, fitted


def part_of(pixels: Pixels, footage: tuple[int, int], box: tuple[int, int, int, int]) -> Pixels:
    """What a box holds (left, top, right, bottom in pixels of the footage) of a picture of it.

    ``footage`` is its width and height in pixels; the picture may be smaller.
    """
    height, width = pixels.shape[:2]
    across, down = width / footage[0], height / footage[1]
    left, top, right, bottom = box
    x, y = round(left * across), round(top * down)
    return pixels[y : max(y + 1, round(bottom * down)), x : max(x + 1, round(right * across))]


def surely_shows(
    fitted: Fit, part: Pixels, box: tuple[int, int, int, int], painter: Painter
) -> float:
    """Pixels of the footage that the narrowest gap which surely shows must have, in any direction.

    ``box`` (left, top, right, bottom in pixels of the footage) is what ``part`` shows of it. Where
    that has fewer pixels, enlarging them shows no more.
    """
    height, width = map(int, part.shape[:2])
    down, across = (box[3] - box[1]) / height, (box[2] - box[0]) / width
    coarseness = max(fitted.scale * down, fitted.across * across) * painter.least_gap
    merged = max(down, across)
    return max(coarseness, merged) if merged > 1 else coarseness


def _made(pixels: Pixels, wish: Wish, fitted: Fit, local: bool) -> Pixels:
    small = scaled(pixels, fitted.width, fitted.height)
    return toned(small, wish.brightness, wish.contrast, local)
