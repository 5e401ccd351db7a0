"""What each command does to the lens."""

from collections.abc import Callable, Mapping
from functools import partial
from types import MappingProxyType

from tui.review.desk import Desk
from tui.review.lens import Lens, Pair

LensDeed = Callable[[Lens, Desk], None]


def _toggle(lens: Lens, desk: Desk) -> None:
    step = desk.step
    lens.toggle(None if step is None else step.kind)


def _zoom(steps: int, lens: Lens, _: Desk) -> None:
    lens.zoom(steps)


def _move(across: int, down: int, lens: Lens, _: Desk) -> None:
    lens.move(across, down)


def _nudge(across: int, down: int, lens: Lens, _: Desk) -> None:
    lens.nudge(across, down)


def _light(steps: int, lens: Lens, _: Desk) -> None:
    lens.brighten(steps)


def _contrast(steps: int, lens: Lens, _: Desk) -> None:
    lens.harden(steps)


def _local(lens: Lens, _: Desk) -> None:
    lens.toggle_local()


def _pair(pair: Pair, lens: Lens, _: Desk) -> None:
    lens.show_pair(pair)


def _mark(lens: Lens, desk: Desk) -> None:
    lens.mark(desk.frame)


def _plain(lens: Lens, _: Desk) -> None:
    lens.plain()


LENS_DEEDS: Mapping[str, LensDeed] = MappingProxyType(
    {
        "loupe": _toggle,
        "loupe.enlarge": partial(_zoom, 1),
        "loupe.reduce": partial(_zoom, -1),
        "loupe.left": partial(_move, -1, 0),
        "loupe.right": partial(_move, 1, 0),
        "loupe.up": partial(_move, 0, -1),
        "loupe.down": partial(_move, 0, 1),
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
