"""Frames to draw: a stretch of the invented footage, with hands and cups in motion."""

import tempfile
from collections.abc import Iterator
from pathlib import Path

import numpy as np
from PIL import Image

from tui.demo.build import build
from tui.footage.footage import Footage
from tui.footage.reader import FrameStore
from tui.picture.cells import Pixels

CLIP = "contact-at-start"
FIRST, COUNT = 260, 40
WHOLE, SMALL = (1280, 720), (640, 360)
"""The pixels of a frame, and of one as the bench keeps it."""


def frames() -> list[Pixels]:
    """``COUNT`` neighbouring frames at 1280 x 720."""
    with tempfile.TemporaryDirectory() as folder:
        path = build(Path(folder), [CLIP], workers=1)[0]
        return list(_decoded(path))


def _decoded(path: Path) -> Iterator[Pixels]:
    store = FrameStore(Footage.open(path), WHOLE)
    try:
        for number in range(FIRST, FIRST + COUNT):
            yield np.asarray(store.get(number).pixels)
    finally:
        store.close()


def reduced(frame: Pixels) -> Pixels:
    """A frame as small as the bench keeps it."""
    return np.asarray(Image.fromarray(frame).resize(SMALL, Image.Resampling.BOX))
