"""Drawing a frame in cells: likeness, bytes and processor time, ours against other libraries.

Run by ``uv run --group bench python -m tests.bench.render``. Each draws the same frames at the same
size in the same run; figures are medians. Likeness is the structural similarity of luma (Wang et
al. 2004) between the frame scaled to 8 x 16 pixels a cell and the cells as a terminal draws them.
"""

import os
import platform
import statistics
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from importlib import import_module
from typing import Any, TypeVar

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import numpy as np
from PIL import Image

from tests.bench.render_frames import COUNT, frames, reduced
from tests.bench.render_rivals import Drawer, rivals
from tests.tui.picture.emulator import Emulator, rgb
from tests.tui.picture.rasters import raster
from tui.picture.cells import Cells, Pixels, frame_board
from tui.picture.delta import STILL, DeltaEncoder
from tui.picture.escapes import cursor_to
from tui.picture.glyphs import BLOCKS, GlyphSet
from tui.picture.palette import INDEXED_256, TRUECOLOUR, Palette
from tui.picture.solver import BLOCK_PAINTER, HALF_PAINTER, OCTANT_PAINTER, GlyphPainter, Solution
from tui.widgets.frameview import REFINE_CELLS

COLUMNS, ROWS = 160, 45
Drawn = TypeVar("Drawn")
LUMA = np.array([0.299, 0.587, 0.114])


@dataclass
class Figures:
    """What one way of drawing takes: medians over the frames."""

    likeness: float
    """Of a full frame."""
    full: float
    """Bytes of a full frame."""
    moving: float
    """Likeness after a step."""
    step: float
    """Bytes from one frame to the next."""
    milliseconds: float
    """Processor time of a step."""


def main() -> None:
    """Measure and print."""
    pictures = frames()
    print(f"{processor()}; Python {platform.python_version()}")
    print(f"{COUNT} neighbouring frames of invented footage at {COLUMNS} x {ROWS} cells\n")
    found: dict[str, Figures | str] = {}
    for name, painter, palette in (
        ("ours, blocks", BLOCK_PAINTER, TRUECOLOUR),
        ("ours, blocks, REP", BLOCK_PAINTER, TRUECOLOUR),
        ("ours, blocks, to rest", BLOCK_PAINTER, TRUECOLOUR),
        ("ours, blocks, 256 colours", BLOCK_PAINTER, INDEXED_256),
        ("ours, octants", OCTANT_PAINTER, TRUECOLOUR),
        ("ours, half blocks", HALF_PAINTER, TRUECOLOUR),
    ):
        found[name] = Ours(
            painter, palette, repeats=name.endswith("REP"), rests=name.endswith("rest")
        ).figures(pictures)
    for name, drawer in rivals(COLUMNS, ROWS).items():
        found[name] = drawer if isinstance(drawer, str) else theirs(pictures, drawer)
    report(found)


def processor() -> str:
    """The processor and how many of its cores there are."""
    with open("/proc/cpuinfo", encoding="ascii", errors="replace") as info:
        names = {line.split(":", 1)[1].strip() for line in info if line.startswith("model name")}
    return f"{' / '.join(sorted(names))}, {os.cpu_count()} cores"


class Ours:
    """Our own way of drawing, with an emulator that sees what is written.

    With ``rests``, each step is followed by all that refines the picture at rest.
    """

    def __init__(
        self, painter: GlyphPainter, palette: Palette, *, repeats: bool, rests: bool
    ) -> None:
        self._painter, self._palette = painter, palette
        self._repeats, self._rests = repeats, rests
        self._begin()

    def _begin(self) -> None:
        """A terminal that shows nothing yet."""
        self._encoder = DeltaEncoder(
            self._painter.glyphs, self._palette, (COLUMNS, ROWS), repeats=self._repeats
        )
        self._screen = Emulator(COLUMNS, ROWS)
        self._solved: Solution | None = None

    def figures(self, pictures: Sequence[Pixels]) -> Figures:
        """Every fourth frame whole, and then all one after the other."""
        fulls, steps, taken, likeness, moving = [], [], [], [], []
        for picture in pictures[::4]:
            self._begin()
            fulls.append(self._show(picture)[0])
            likeness.append(self._likeness(picture))
        self._begin()
        for number, picture in enumerate(pictures):
            size, milliseconds = self._show(picture)
            steps.append(size)
            taken.append(milliseconds)
            if number % 8 == 4:
                moving.append(self._likeness(picture))
        return Figures(
            statistics.median(likeness),
            statistics.median(fulls),
            statistics.median(moving),
            statistics.median(steps[1:]),
            statistics.median(taken[1:]),
        )

    def _show(self, picture: Pixels) -> tuple[int, float]:
        """Bytes and milliseconds of a picture."""
        text, milliseconds = timed(self._draw, reduced(picture))
        self._screen.feed(text)
        return len(text.encode()), milliseconds

    def _draw(self, frame: Pixels) -> str:
        board, _ = frame_board(frame, COLUMNS, ROWS, self._painter)
        solved = self._solved = self._painter.solve(board, self._solved)
        text = self._written(self._encoder.follow(solved))
        while self._rests and (due := self._encoder.aim(solved, STILL, REFINE_CELLS)):
            text += self._written(due)
        return text

    def _written(self, due: list[int]) -> str:
        text = self._encoder.scattered(due, (0, 0))
        if text is None:
            encoded = self._encoder.encode(due).items()
            text = "".join(cursor_to(row, 0) + part.text for row, part in encoded)
        self._encoder.commit(*due)
        return text

    def _likeness(self, picture: Pixels) -> float:
        return similarity(picture, self._screen, self._painter.glyphs)


def theirs(pictures: Sequence[Pixels], draw: Drawer) -> Figures:
    """Every fourth frame; they draw each whole."""
    taken, sizes, likeness = [], [], []
    for picture in pictures[::4]:
        written, milliseconds = timed(draw, reduced(picture))
        taken.append(milliseconds)
        sizes.append(len(written))
        screen = Emulator(COLUMNS, ROWS)
        screen.feed(written.decode().replace("\n", "\r\n"))
        likeness.append(similarity(picture, screen, BLOCKS))
    middle, like = statistics.median(sizes), statistics.median(likeness)
    return Figures(like, middle, like, middle, statistics.median(taken[1:]))


def timed(draw: Callable[[Pixels], Drawn], frame: Pixels) -> tuple[Drawn, float]:
    """What is drawn, and the milliseconds of processor time that it took."""
    begun = time.process_time()
    drawn = draw(frame)
    return drawn, 1000 * (time.process_time() - begun)


def similarity(picture: Pixels, screen: Emulator, glyphs: GlyphSet) -> float:
    """Structural similarity of a frame and what the screen shows of it."""
    size = (COLUMNS * 8, ROWS * 16)
    cells = [[screen.at(row, column) for column in range(COLUMNS)] for row in range(ROWS)]
    listed = np.concatenate([np.zeros((16, 3), np.uint8), INDEXED_256._colours])
    shown = Cells(
        np.array([[ord(cell.glyph) for cell in row] for row in cells], np.uint32),
        np.array([[rgb(_rgb(cell.fore, listed)) for cell in row] for row in cells], np.uint8),
        np.array([[rgb(_rgb(cell.back, listed)) for cell in row] for row in cells], np.uint8),
    )
    drawn = Image.fromarray(raster(shown, glyphs)).resize(size, Image.Resampling.NEAREST)
    wanted = Image.fromarray(picture).resize(size, Image.Resampling.BOX)
    metrics: Any = import_module("skimage.metrics")
    value: float = metrics.structural_similarity(
        np.asarray(wanted) @ LUMA,
        np.asarray(drawn) @ LUMA,
        data_range=255,
        gaussian_weights=True,
        sigma=1.5,
        use_sample_covariance=False,
    )
    return value


def _rgb(colour: object, listed: Pixels) -> tuple[int, int, int] | None:
    if isinstance(colour, int):
        red, green, blue = listed[colour].tolist()
        return red, green, blue
    return colour  # type: ignore[return-value]


def report(found: dict[str, Figures | str]) -> None:
    """The table, and what the goals ask for as ratios."""
    heads = ("SSIM", "full kB", "moving SSIM", "step kB", "ms a step")
    print(f"{'':28}" + "".join(f"{head:>12}" for head in heads))
    for name, figures in found.items():
        if isinstance(figures, str):
            print(f"{name:28}  {figures}")
            continue
        print(
            f"{name:28}{figures.likeness:12.4f}{figures.full / 1000:12.1f}"
            f"{figures.moving:12.4f}{figures.step / 1000:12.2f}{figures.milliseconds:12.1f}"
        )
    best = found["ours, blocks"]
    assert isinstance(best, Figures)
    print()
    for name, figures in found.items():
        if isinstance(figures, Figures) and not name.startswith("ours"):
            print(
                f"{name}: {figures.full / best.full:.1f} times our full frame, "
                f"{figures.step / best.step:.0f} times our step, "
                f"{figures.milliseconds / best.milliseconds:.1f} times our processor time, "
                f"SSIM {figures.likeness - best.likeness:+.4f}"
            )


if __name__ == "__main__":
    main()
