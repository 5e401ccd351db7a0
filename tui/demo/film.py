"""Encoding a performance: H.264 with B-frames, 60 frames a second, written whole or not at all."""

from collections.abc import Callable
from pathlib import Path

from tui.demo.layout import RATE
from tui.demo.painter import Painter
from tui.footage.writer import VideoWriter

_CODING = {"preset": "ultrafast", "bf": "2", "crf": "24", "g": "120", "threads": "1"}
"""Fast to encode on one thread; the preset alone would leave the B-frames out."""

_TOLD_EVERY = 60


def film(painter: Painter, path: Path, told: Callable[[int], None]) -> None:
    """Paint and encode all frames of a performance to ``path``; ``told`` how many are done.

    Raises OSError where the disk does not take it; nothing is then left at ``path``.
    """
    with VideoWriter(path, painter.size, RATE, options=_CODING) as writer:
        for number, planes in enumerate(painter.frames(), 1):
            writer.write_planes(planes)
            if number % _TOLD_EVERY == 0:
                told(number)
