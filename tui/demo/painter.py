"""The painter: draws the frames of a performance as Y'CbCr 4:2:0 planes, and only what changed."""

from collections.abc import Iterable, Iterator
from functools import cache
from typing import NamedTuple

import numpy as np
import numpy.typing as npt
from PIL import Image, ImageDraw

from sessions.rules.moments import SIDES, Side
from tui.demo import drawings
from tui.demo.drawings import DIGIT_PITCH, Sprite, stage
from tui.demo.layout import (
    CARD_AREA,
    CUP_HEIGHT,
    DISPLAY_AREA,
    HEIGHT,
    SHAPES,
    SHOULDER,
    WIDTH,
    Box,
    Shape,
    joined,
    outward,
    overlap,
)
from tui.demo.performance import Performance
from tui.demo.sampling import SAMPLES, Faces, Samples, display_text

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


_SEAM, _SLEEVE = drawings.encoded_colour(drawings.SEAM), drawings.encoded_colour(drawings.SLEEVE)
Scene = tuple[Thing | Arm, ...]


class Scenes:
    """The scenes of a performance at one scale; each sprite is drawn when it is first needed."""

    def __init__(self, samples: Samples, scale: float) -> None:
        self._samples = samples
        self._scale = scale
        self._cup = cache(lambda mark: drawings.cup(scale, mark))
        self._hand = cache(lambda *look: drawings.hand(scale, *look))
        self._thumb = cache(lambda side: drawings.thumb(scale, side))
        self._hook = cache(lambda reach: drawings.hook(scale, reach))

    def at(self, frame: int, marked: frozenset[int]) -> list[Scene]:
        """The scenes of the sampled instants of a frame, each from back to front."""
        last = self._one(frame, SAMPLES - 1, marked)
        if self._samples.still[frame]:
            return [last] * SAMPLES
        return [*(self._one(frame, sample, marked) for sample in range(SAMPLES - 1)), last]

    def _one(self, frame: int, sample: int, marked: frozenset[int]) -> Scene:
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


Planes = npt.NDArray[np.uint8]
"""One frame: (height * 3 / 2, width), Y' above Cb above Cr, as yuv420p lays it out."""

NOISE = 2
"""Largest deviation of the camera noise, in steps of Y'."""

_TILES = 6


class ScenePainter:
    """Paints a performance at ``scale`` times 1280x720 pixels (multiples of 2 and 4)."""

    def __init__(self, performance: Performance, scale: float = 1.0) -> None:
        self.size = round(WIDTH * scale), round(HEIGHT * scale)
        self.performance = performance
        samples = Samples(performance, scale)
        self._scenes = Scenes(samples, scale)
        self._faces = Faces(performance)
        self._backs = _Backs(samples, scale, performance.score.competitor)
        self._stage = stage(scale)
        self._behind = self._stage.copy()
        self._canvas = self._stage.copy()
        self._planes = np.zeros((self.size[1] * 3 // 2, self.size[0]), dtype=np.uint8)
        self._still: frozenset[Thing | Arm] = frozenset()
        self._moving: frozenset[Thing | Arm] = frozenset()
        self._back: frozenset[Thing] = frozenset()

    def frames(self, first: int = 0) -> Iterator[Planes]:
        """The frames from ``first`` on, in order; the next frame is drawn over the same array.

        A painter goes through its performance once.
        """
        noise = _noise(self.size)
        pick = np.random.default_rng(7).integers(0, _TILES, self.performance.frames)
        self._transfer((0, 0, *self.size))
        height = self.size[1]
        shown = np.empty_like(self._planes)
        for frame in range(first, self.performance.frames):
            for region in self._paint(frame):
                self._transfer(region)
            np.add(self._planes[:height], noise[pick[frame]], out=shown[:height])
            shown[height:] = self._planes[height:]
            yield shown

    def _paint(self, frame: int) -> list[Box]:
        """Bring the canvas up to date; gives the regions that changed."""
        marked = self._faces.marked(frame)
        scenes = self._scenes.at(frame, marked)
        changed = [*self._paint_back(frame), *self._changed(scenes)]
        regions = joined(changed, self.size)
        for region in regions:
            self._canvas.paste(_drawn(self._behind, region, scenes[-1]), region[:2])
        for region in joined((thing.box for thing in self._moving), self.size):
            self._canvas.paste(self._blurred(region, scenes), region[:2])
        return regions

    def _paint_back(self, frame: int) -> list[Box]:
        """Competitor, display and card, which are behind everything else."""
        text, card = display_text(self._faces.display(frame)), self._faces.card(frame)
        things = self._backs.at(frame, text, card)
        changed = [thing.box for thing in self._back.symmetric_difference(things)]
        self._back = frozenset(things)
        regions = joined(changed, self.size)
        for region in regions:
            self._behind.paste(_drawn(self._stage, region, things), region[:2])
        return regions

    def _changed(self, scenes: list[Scene]) -> list[Box]:
        """Boxes of all that moves within this frame, or moved since the frame before."""
        sets = [frozenset(scene) for scene in scenes]
        still, seen = frozenset.intersection(*sets), frozenset.union(*sets)
        moving = seen - still
        changed = moving | self._moving | (still ^ self._still)
        self._still, self._moving = still, moving
        return [thing.box for thing in changed]

    def _blurred(self, region: Box, scenes: list[Scene]) -> Image.Image:
        """The mean of the sampled instants, of which there are four."""
        inside = [[thing for thing in scene if overlap(thing.box, region)] for scene in scenes]
        # what lies behind all that moves is the same in each of them, and is drawn once
        same = [len(set(things)) == 1 for things in zip(*inside, strict=False)]
        below = same.index(False) if False in same else len(same)
        base = _drawn(self._behind, region, inside[0][:below])
        whole = (0, 0, region[2] - region[0], region[3] - region[1])
        a, b, c, d = (_drawn(base, whole, things[below:], offset=region[:2]) for things in inside)
        return Image.blend(Image.blend(a, b, 0.5), Image.blend(c, d, 0.5), 0.5)

    def _transfer(self, region: Box) -> None:
        """Copy a region of the canvas into the planes; its numbers are even."""
        left, top, right, bottom = region
        width, height = self.size
        piece = self._canvas.crop(region)
        self._planes[top:bottom, left:right] = np.asarray(piece.getchannel(0))
        halves = self._planes[height:].reshape(2, height // 2, width // 2)
        coarse = piece.reduce(2)
        for number, plane in enumerate(halves, 1):
            band = np.asarray(coarse.getchannel(number))
            plane[top // 2 : bottom // 2, left // 2 : right // 2] = band


def _drawn(
    ground: Image.Image,
    region: Box,
    things: Iterable[Thing | Arm],
    offset: tuple[int, int] = (0, 0),
) -> Image.Image:
    """A region of a picture, and things drawn on it; ``offset`` is where the picture begins."""
    piece = ground.crop(region)
    left, top = region[0] + offset[0], region[1] + offset[1]
    box = left, top, region[2] + offset[0], region[3] + offset[1]
    for thing in things:
        if overlap(thing.box, box):
            thing.draw(piece, left, top)
    return piece


class _Backs:
    """The competitor's torso, the display's digits and the judge's card."""

    def __init__(self, samples: Samples, scale: float, code: str) -> None:
        self._scale = scale
        self._shift = samples.competitor[:, -1, 0]
        self._torso = drawings.competitor(scale, code)
        self._digit = cache(lambda character: drawings.digit(scale, character))
        self._card = cache(lambda letter: drawings.card(scale, letter))
        self._point = drawings.point(scale)

    def at(self, frame: int, text: str, card: str) -> list[Thing]:
        """What is behind in a frame, from back to front."""
        left, top = DISPLAY_AREA[0] + 6, DISPLAY_AREA[1]
        things = [Thing(self._torso, int(self._shift[frame]), 0)]
        for number, character in enumerate(text):
            things.append(self._put(self._digit(character), left + DIGIT_PITCH * number, top + 10))
        things.append(self._put(self._point, left + DIGIT_PITCH * 2 - 6, top + 66))
        if card:
            things.append(self._put(self._card(card), *CARD_AREA[:2]))
        return things

    def _put(self, sprite: drawings.Sprite, x: float, y: float) -> Thing:
        return Thing(sprite, round(x * self._scale), round(y * self._scale))


def _noise(size: tuple[int, int]) -> list[Planes]:
    """Tiles of camera noise for Y', added modulo 256; Y' keeps far enough from both ends.

    Each is as large as the picture.
    """
    width, height = size
    random = np.random.default_rng(11)
    tiles = []
    for _ in range(_TILES):
        tile = random.integers(-NOISE, NOISE + 1, (height, width)).astype(np.int8)
        tiles.append(tile.view(np.uint8))
    return tiles
