"""The painter: frames of a performance as Y'CbCr 4:2:0 planes, drawing only what changed."""

from collections.abc import Iterator
from functools import cache

import numpy as np
import numpy.typing as npt
from PIL import Image

from tui.demo import sprites
from tui.demo.boxes import Box, joined
from tui.demo.faces import Faces, display_text
from tui.demo.layout import CARD, DISPLAY, HEIGHT, WIDTH
from tui.demo.sampling import SAMPLES, Samples
from tui.demo.scene import Arm, Scene, Scenes, Thing
from tui.demo.sprites import DIGIT_PITCH
from tui.demo.stage import stage
from tui.demo.tape import Performance

Planes = npt.NDArray[np.uint8]
"""One frame: (height * 3 / 2, width), Y' above Cb above Cr, as yuv420p lays it out."""

NOISE = 2
"""Largest deviation of the camera noise, in steps of Y'."""

_TILES = 6


class Painter:
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
        """The frames from ``first`` on, in order; each array is the caller's to keep.

        A painter goes through its performance once.
        """
        noise = _noise(self.size)
        pick = np.random.default_rng(7).integers(0, _TILES, self.performance.frames)
        self._transfer((0, 0, *self.size))
        for frame in range(first, self.performance.frames):
            for region in self._paint(frame):
                self._transfer(region)
            yield self._planes + noise[pick[frame]]

    def _paint(self, frame: int) -> list[Box]:
        """Bring the canvas up to date; gives the regions that changed."""
        marked = self._faces.marked(frame)
        scenes = [self._scenes.at(frame, sample, marked) for sample in range(SAMPLES)]
        changed = [*self._paint_back(frame), *self._changed(scenes)]
        regions = joined(changed, self.size)
        for region in regions:
            self._canvas.paste(self._piece(region, scenes[-1]), region[:2])
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
            piece = self._stage.crop(region)
            for thing in things:
                thing.draw(piece, *region[:2])
            self._behind.paste(piece, region[:2])
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
        a, b, c, d = (self._piece(region, scene) for scene in scenes)
        return Image.blend(Image.blend(a, b, 0.5), Image.blend(c, d, 0.5), 0.5)

    def _piece(self, region: Box, scene: Scene) -> Image.Image:
        piece = self._behind.crop(region)
        left, top, right, bottom = region
        for thing in scene:
            box = thing.box
            if box[0] < right and left < box[2] and box[1] < bottom and top < box[3]:
                thing.draw(piece, left, top)
        return piece

    def _transfer(self, region: Box) -> None:
        """Copy a region of the canvas into the planes; its numbers are even."""
        left, top, right, bottom = region
        width, height = self.size
        luma, *chroma = self._canvas.crop(region).split()
        self._planes[top:bottom, left:right] = np.asarray(luma)
        halves = self._planes[height:].reshape(2, height // 2, width // 2)
        for plane, band in zip(halves, chroma, strict=True):
            plane[top // 2 : bottom // 2, left // 2 : right // 2] = np.asarray(band.reduce(2))


class _Backs:
    """The competitor's torso, the display's digits and the judge's card."""

    def __init__(self, samples: Samples, scale: float, code: str) -> None:
        self._scale = scale
        self._shift = samples.competitor[:, -1, 0]
        self._torso = sprites.competitor(scale, code)
        self._digit = cache(lambda character: sprites.digit(scale, character))
        self._card = cache(lambda letter: sprites.card(scale, letter))
        self._point = sprites.point(scale)

    def at(self, frame: int, text: str, card: str) -> list[Thing]:
        """What is behind in a frame, from back to front."""
        things = [Thing(self._torso, int(self._shift[frame]), 0)]
        for number, character in enumerate(text):
            x, y = DISPLAY[0] + 6 + DIGIT_PITCH * number, DISPLAY[1] + 10
            things.append(self._put(self._digit(character), x, y))
        things.append(self._put(self._point, DISPLAY[0] + 6 + DIGIT_PITCH * 2 - 6, DISPLAY[1] + 66))
        if card:
            things.append(self._put(self._card(card), *CARD[:2]))
        return things

    def _put(self, sprite: sprites.Sprite, x: float, y: float) -> Thing:
        return Thing(sprite, round(x * self._scale), round(y * self._scale))


def _noise(size: tuple[int, int]) -> list[Planes]:
    """Tiles of camera noise for Y', added modulo 256; Y' keeps far enough from both ends."""
    width, height = size
    random = np.random.default_rng(11)
    tiles = []
    for _ in range(_TILES):
        tile = np.zeros((height * 3 // 2, width), dtype=np.int8)
        tile[:height] = random.integers(-NOISE, NOISE + 1, (height, width))
        tiles.append(tile.view(np.uint8))
    return tiles
