"""Whole views as cells: the frame, and the strip of its neighbours."""

from collections.abc import Sequence

from tui.picture.cells import Cells, Fit, Painter, Pixels, canvas, fit, place, scaled


def frame_cells(pixels: Pixels, columns: int, rows: int, painter: Painter) -> tuple[Cells, Fit]:
    """A picture centred on a grid, as cells, and how it fits."""
    board, fitted = frame_board(pixels, columns, rows, painter)
    return painter.paint(board), fitted


def frame_board(pixels: Pixels, columns: int, rows: int, painter: Painter) -> tuple[Pixels, Fit]:
    """A picture centred on a grid, in sub-cells, and how it fits."""
    height, width = pixels.shape[:2]
    fitted = fit((width, height), columns, rows, painter)
    board = canvas(columns, rows, painter)
    left = (board.shape[1] - fitted.width) // 2
    top = (board.shape[0] - fitted.height) // 2
    place(board, scaled(pixels, fitted.width, fitted.height), left, top)
    return board, fitted


def strip_cells(
    pictures: Sequence[Pixels | None], columns: int, rows: int, painter: Painter
) -> Cells:
    """Pictures side by side, as cells."""
    return painter.paint(strip_board(pictures, columns, rows, painter))


def strip_board(
    pictures: Sequence[Pixels | None], columns: int, rows: int, painter: Painter
) -> Pixels:
    """Pictures side by side in equal shares of a grid; a missing one leaves its share black.

    Shares narrower than a cell stay black: there is no room for a picture.
    """
    board = canvas(columns, rows, painter)
    share = board.shape[1] // len(pictures)
    for index, pixels in enumerate(pictures):
        if pixels is None or share < painter.sub_cells[0]:
            continue
        size = (pixels.shape[1], pixels.shape[0])
        fitted = fit(size, max(1, (share - 1) // painter.sub_cells[0]), rows, painter)
        left = index * share + (share - fitted.width) // 2
        top = (board.shape[0] - fitted.height) // 2
        place(board, scaled(pixels, fitted.width, fitted.height), left, top)
    return board
