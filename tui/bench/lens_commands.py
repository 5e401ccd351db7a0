"""What each command does to the lens."""

from collections.abc import Callable, Mapping
from functools import partial
from types import MappingProxyType

from tui.bench.review import Review
from tui.picture.lens import Lens, Pair

LensDeed = Callable[[Lens, Review], None]


def _toggle(lens: Lens, review: Review) -> None:
    checkpoint = review.checkpoint
    lens.toggle(None if checkpoint is None else checkpoint.kind)


def _zoom(steps: int, lens: Lens, _: Review) -> None:
    lens.zoom(steps)


def _move(across: int, down: int, lens: Lens, _: Review) -> None:
    lens.move(across, down)


def _nudge(across: int, down: int, lens: Lens, _: Review) -> None:
    lens.nudge(across, down)


def _light(steps: int, lens: Lens, _: Review) -> None:
    lens.brighten(steps)


def _contrast(steps: int, lens: Lens, _: Review) -> None:
    lens.harden(steps)


def _local(lens: Lens, _: Review) -> None:
    lens.toggle_local()


def _pair(pair: Pair, lens: Lens, _: Review) -> None:
    lens.show_pair(pair)


def _mark(lens: Lens, review: Review) -> None:
    lens.mark(review.frame)


def _plain(lens: Lens, _: Review) -> None:
    lens.plain()


LENS_DEEDS: Mapping[str, LensDeed] = MappingProxyType(
    {
        "lens": _toggle,
        "lens.enlarge": partial(_zoom, 1),
        "lens.reduce": partial(_zoom, -1),
        "lens.left": partial(_move, -1, 0),
        "lens.right": partial(_move, 1, 0),
        "lens.up": partial(_move, 0, -1),
        "lens.down": partial(_move, 0, 1),
        "nudge.left": partial(_nudge, -1, 0),
        "nudge.right": partial(_nudge, 1, 0),
        "nudge.up": partial(_nudge, 0, -1),
        "nudge.down": partial(_nudge, 0, 1),
        "light.up": partial(_light, 1),
        "light.down": partial(_light, -1),
        "contrast.up": partial(_contrast, 1),
        "contrast.down": partial(_contrast, -1),
        "contrast.local": _local,
        "pair.side": partial(_pair, Pair.SIDE),
        "pair.difference": partial(_pair, Pair.DIFFERENCE),
        "marker": _mark,
        "plain": _plain,
    }
)
"""Deeds by command id; none of them changes the session."""
