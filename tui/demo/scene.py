"""The scene of one instant: what is drawn where, from back to front."""

from functools import cache
from typing import NamedTuple

import numpy as np
from PIL import Image, ImageDraw

from sessions.rules.moments import SIDES, Side
from tui.demo import colours, sprites
from tui.demo.boxes import Box
from tui.demo.layout import CUP_HEIGHT, SHAPES, SHOULDER, Shape, outward
from tui.demo.sampling import Samples
from tui.demo.sprites import Sprite

_ROOT: dict[Shape, tuple[int, int]] = {
    "open": (10, 8),
    "grip": (10, 8),
    "flat": (22, 12),
    "wrist": (22, 60),
}
_TIP = (-18, 16 - CUP_HEIGHT)
_WRIST: dict[Shape, int] = {"open": -42, "grip": -42, "flat": -42, "wrist": -6}


class Thing(NamedTuple):
    """A sprite at a place in pixels of the frame."""

    sprite: Sprite
    x: int
    y: int

    @property
    def box(self) -> Box:
        """The pixels that it may cover."""
        return self.sprite.box(self.x, self.y)

    def draw(self, onto: Image.Image, left: int, top: int) -> None:
        """Draw it onto a picture whose upper left corner lies at (left, top)."""
        x, y = self.x - self.sprite.origin[0] - left, self.y - self.sprite.origin[1] - top
        onto.paste(self.sprite.picture, (x, y), self.sprite.mask)


class Arm(NamedTuple):
    """A sleeve from a shoulder to a wrist, with its width at the wrist, in pixels of the frame."""

    shoulder: tuple[int, int]
    wrist: tuple[int, int]
    width: int

    @property
    def box(self) -> Box:
        """The pixels that it may cover."""
        (a, b), (c, d), w = self.shoulder, self.wrist, 2 * self.width
        return min(a, c) - w, min(b, d) - w, max(a, c) + w, max(b, d) + w

    def draw(self, onto: Image.Image, left: int, top: int) -> None:
        """Draw it onto a picture whose upper left corner lies at (left, top)."""
        draw = ImageDraw.Draw(onto)
        for grow, colour in ((2, _SEAM), (0, _SLEEVE)):
            points = []
            for (x, y), half in ((self.shoulder, self.width), (self.wrist, self.width // 2)):
                points.append((x - left, y - top, half + grow))
            (ax, ay, aw), (bx, by, bw) = points
            draw.polygon([(ax - aw, ay), (ax + aw, ay), (bx + bw, by), (bx - bw, by)], colour)


_SEAM, _SLEEVE = colours.encoded_colour(colours.SEAM), colours.encoded_colour(colours.SLEEVE)
Scene = tuple[Thing | Arm, ...]


class Scenes:
    """The scenes of a performance at one scale; each sprite is drawn when it is first needed."""

    def __init__(self, samples: Samples, scale: float) -> None:
        self._samples = samples
        self._scale = scale
        self._cup = cache(lambda mark: sprites.cup(scale, mark))
        self._hand = cache(lambda *look: sprites.hand(scale, *look))
        self._thumb = cache(lambda side: sprites.thumb(scale, side))
        self._hook = cache(lambda reach: sprites.hook(scale, reach))

    def at(self, frame: int, sample: int, marked: frozenset[int]) -> Scene:
        """The scene of one sampled instant of a frame, from back to front."""
        hands = self._hands(frame, sample)
        front = [hand for hand in hands if hand[1] == "open"]
        back = [hand for hand in hands if hand[1] != "open"]
        scene: list[Thing | Arm] = [self._arm(frame, index) for index in range(len(SIDES))]
        scene += [
            Thing(self._hand(*hand[:2], self._hooks_cup(frame, sample, hand[0])), *hand[2:])
            for hand in back
        ]
        scene += self._cups(frame, sample, marked)
        scene += [Thing(self._thumb(s), x, y) for s, shape, x, y in back if shape == "grip"]
        scene += self._hooks(frame, sample)
        scene += [Thing(self._hand(side, shape, False), x, y) for side, shape, x, y in front]
        return tuple(scene)

    def _hands(self, frame: int, sample: int) -> list[tuple[Side, Shape, int, int]]:
        shapes = self._samples.shapes[frame, sample].tolist()
        places = self._samples.hands[frame, sample].tolist()
        return [(s, SHAPES[shapes[i]], *places[i]) for i, s in enumerate(SIDES)]

    def _arm(self, frame: int, index: int) -> Arm:
        """The sleeve at the frame's own instant: it is never blurred, which hides nothing."""
        side, shape, x, y = self._hands(frame, -1)[index]
        shoulder = SHOULDER[side]
        shift = int(self._samples.competitor[frame, -1, 0])
        top = round(shoulder.x * self._scale) + shift, round(shoulder.y * self._scale)
        return Arm(top, (x, y + round(_WRIST[shape] * self._scale)), round(30 * self._scale))

    def _cups(self, frame: int, sample: int, marked: frozenset[int]) -> list[Thing]:
        places = self._samples.cups[frame, sample].tolist()
        layers = self._samples.layers[frame, sample].tolist()
        order = sorted(range(len(places)), key=layers.__getitem__)
        return [Thing(self._cup(cup in marked), *places[cup]) for cup in order]

    def _hooks_cup(self, frame: int, sample: int, side: Side) -> bool:
        return bool(self._samples.hooks[frame, sample, SIDES.index(side)] >= 0)

    def _hooks(self, frame: int, sample: int) -> list[Thing]:
        things = []
        for index, side in enumerate(SIDES):
            cup = int(self._samples.hooks[frame, sample, index])
            if cup >= 0:
                things.append(self._stretched(side, index, (frame, sample), cup))
        return things

    def _stretched(self, side: Side, index: int, when: tuple[int, int], cup: int) -> Thing:
        """The finger from its root at the palm to the upper edge of the cup."""
        inward = -outward(side)
        shape = SHAPES[int(self._samples.shapes[(*when, index)])]
        palm = self._samples.hands[(*when, index)] / self._scale
        over = self._samples.cups[(*when, cup)] / self._scale
        root = palm + np.array((_ROOT[shape][0] * inward, _ROOT[shape][1]))
        tip = over + np.array((_TIP[0] * inward, _TIP[1]))
        reach = tuple(round(float(v)) for v in tip - root)
        x, y = (round(float(v) * self._scale) for v in root)
        return Thing(self._hook(reach), x, y)
