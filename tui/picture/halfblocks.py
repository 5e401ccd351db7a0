"""Half blocks: each cell is two square pixels, one above the other. Understood everywhere."""

import numpy as np

from tui.picture.cells import Cells, Pixels

UPPER_HALF = 0x2580


class HalfBlocks:
    """Two sub-cells a cell: the upper in the foreground colour, the lower in the background."""

    name = "half blocks"
    sub_cells = (1, 2)
    stretch = 1.0
    least_gap = 1

    def paint(self, pixels: Pixels) -> Cells:
        """Cells of a picture with an even number of pixel rows."""
        upper, lower = pixels[0::2], pixels[1::2]
        glyphs = np.full(upper.shape[:2], UPPER_HALF, np.uint32)
        return Cells(glyphs, np.ascontiguousarray(upper), np.ascontiguousarray(lower))
