"""What an honest reader would say of two pictures on the glass, made exact."""

from dataclasses import dataclass
from fractions import Fraction
from typing import Any

import numpy as np
from numpy.typing import NDArray

from tests.tui.honesty.moments import HEIGHT, SIZE, WIDTH, Mask, Moment, widened
from tests.tui.honesty.viewer import Viewer
from tui.picture.cells import Pixels
from tui.picture.choice import Choice
from tui.picture.lens import Lens, Region

GROUND = 0.25
"""The share of an outline's contrast with the table from which on table is seen in a place."""

SIGNIFICANT = 8.0
"""Root mean square of a cell's change on the glass, in levels, from which on it is seen."""

STRONG = 20.0
"""The same of a cell's change in the footage, from which on it must be seen."""

NEAR = 40
"""Pixels around the nearest place in which a path from thumb to cup is looked for."""

Values = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Seen:
    """What a reader sees of a moment, right after the step and at rest."""

    promise: float
    """Pixels of the footage which, the program says, a gap must have to show surely."""
    contact: tuple[bool, bool]
    change: tuple[Values, Values]
    """How much each cell changed on the glass: root mean square, in levels."""
    truth: Values
    """How much each cell changed in the footage, but for noise."""
    quiet: Mask
    """The cells in which, and next to which, nothing changed but noise."""

    @property
    def found(self) -> float:
        """Of the cells that changed strongly in the footage, the part that is seen to change."""
        strong = self.truth >= STRONG
        return min(float((change[strong] >= SIGNIFICANT).mean()) for change in self.change)

    @property
    def invented(self) -> float:
        """The greatest change that is seen in a cell in which nothing changed but noise."""
        return max(float(change[self.quiet].max()) for change in self.change)


def look(moment: Moment, choice: Choice, size: tuple[int, int], zoom: int) -> Seen:
    """Look at a moment with the lens over it, somewhere not far from its middle."""
    rng = np.random.default_rng(moment.centre)
    x, y = (Fraction(c + int(rng.integers(-9, 10))) for c in moment.centre)
    lens = Lens(*SIZE)
    lens.region = Region(x, y, zoom)
    viewer = Viewer(choice, size, lens)
    viewer.show(moment.frame(moment.before))
    viewer.rest()
    was = viewer.seen()
    viewer.show(moment.frame(moment.after))
    stepped = viewer.seen()
    viewer.rest()
    pair = stepped, viewer.seen()
    return Seen(
        viewer.promise,
        tuple(shows_contact(moment, viewer, seen) for seen in pair),  # type: ignore[arg-type]
        tuple(_change(viewer, seen.astype(float) - was) for seen in pair),  # type: ignore[arg-type]
        _change(viewer, _on_glass(moment, viewer, moment.moved)),
        _change(viewer, _on_glass(moment, viewer, _about(moment.moved))) == 0,
    )


def shows_contact(moment: Moment, viewer: Viewer, seen: Pixels) -> bool:
    """Whether a path of touching places leads from thumb to cup on which no table is seen."""
    rows, columns = viewer.places()
    near = [
        np.flatnonzero((place >= 0) & (abs(place - centre) < NEAR))
        for place, centre in ((rows, moment.centre[1]), (columns, moment.centre[0]))
    ]
    where = np.ix_(rows[near[0]] - moment.at[1], columns[near[1]] - moment.at[0])
    return joins(
        moment.thumb[where],
        moment.cup[where],
        bare_table(moment, seen[np.ix_(*near)]) < GROUND,
    )


def bare_table(moment: Moment, pixels: Pixels) -> Values:
    """How much of the table is seen in each place: 1 is the bare table, 0 none."""
    off = np.linalg.norm(pixels - moment.ground, axis=-1)
    bare: Values = np.clip(1 - off / moment.contrast, 0, 1)
    return bare


def joins(thumb: Mask, cup: Mask, passable: Mask) -> bool:
    """Whether a path leads from one to the other, sideways and diagonally."""
    reached = thumb & passable
    while True:
        wider = widened(reached, 1) & passable
        if (wider == reached).all():
            return bool((reached & cup).any())
        reached = wider


def _change(viewer: Viewer, difference: NDArray[Any]) -> Values:
    (width, height), (columns, rows) = viewer.sub_cells, viewer.size
    cells = np.square(difference.astype(float)).reshape(rows, height, columns, width, 3)
    change: Values = np.sqrt(cells.mean(axis=(1, 3, 4)))
    return change


def _about(moved: NDArray[np.int16]) -> NDArray[np.int16]:
    """Where something moved, and a little around it."""
    somewhere: Mask = np.asarray(moved.any(axis=2))
    return widened(somewhere, 3)[..., None].repeat(3, axis=2).astype(np.int16)


def _on_glass(moment: Moment, viewer: Viewer, part: NDArray[np.int16]) -> NDArray[np.int16]:
    """Values of the part that is not bare table, as they lie on the glass."""
    frame = np.zeros((HEIGHT, WIDTH, 3), np.int16)
    (left, top), (height, width) = moment.at, part.shape[:2]
    frame[top : top + height, left : left + width] = part
    rows, columns = viewer.places()
    on_glass = frame[np.ix_(rows, columns)]
    on_glass[rows < 0] = 0
    on_glass[:, columns < 0] = 0
    return on_glass
