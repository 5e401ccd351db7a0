"""Stills: two frames side by side, whole and cropped to where they differ, as JPEG bytes."""

from dataclasses import dataclass
from fractions import Fraction
from io import BytesIO
from typing import Protocol

import numpy as np
from PIL import Image, features

from tui.documents.crop import Pixels, crop_box
from tui.documents.pages import Box, Exhibit, Shot
from tui.footage.picture import Picture

WHOLE_WIDTH = 1280
"""The greatest width in pixels of a whole frame in a document; crops keep every pixel."""

_QUALITY = 90


class PictureSource(Protocol):
    """Where whole pictures come from, such as a frame store."""

    def full(self, frame: int) -> Picture:
        """The picture of a frame, counted from 0, with all its pixels."""
        ...


@dataclass(frozen=True, slots=True)
class Stills:
    """The pictures of one exhibit: (first, last) whole, and cropped where they differ in part."""

    whole: tuple[bytes, bytes]
    crop: tuple[bytes, bytes] | None


def take(exhibit: Exhibit, source: PictureSource, aspect: Fraction) -> tuple[Exhibit, Stills]:
    """Look at an exhibit's frames; gives it with size, crop and flaws filled in.

    ``aspect`` is width by height of one pixel as displayed.
    """
    first, last = (source.full(shot.place.frame) for shot in exhibit.shots)
    box = crop_box(first.pixels, last.pixels)
    height, width = first.pixels.shape[:2]
    looked = exhibit.model_copy(
        update={
            "shots": (_marked(exhibit.shots[0], first), _marked(exhibit.shots[1], last)),
            "size": (width, height),
            "crop": box,
        }
    )
    crop = None if box is None else (_part(first, box, aspect), _part(last, box, aspect))
    return looked, Stills((_whole(first, aspect), _whole(last, aspect)), crop)


def words() -> str:
    """How stills are made, for the record."""
    version = features.version("jpg") or features.version("libjpeg_turbo") or "unknown"
    return (
        f"JPEG, quality {_QUALITY}, colour in full; whole frames at most {WHOLE_WIDTH} pixels "
        f"wide, crops pixel by pixel (libjpeg {version})"
    )


def displayed(pixels: Pixels, aspect: Fraction) -> Image.Image:
    """A picture as it is displayed: pixels that are not square are stretched in width."""
    picture = Image.fromarray(np.ascontiguousarray(pixels))
    if aspect == 1:
        return picture
    return picture.resize((max(1, round(picture.width * aspect)), picture.height))


def _marked(shot: Shot, picture: Picture) -> Shot:
    return shot.model_copy(update={"flaw": picture.flaw})


def _whole(picture: Picture, aspect: Fraction) -> bytes:
    image = displayed(picture.pixels, aspect)
    if image.width > WHOLE_WIDTH:
        image = image.resize((WHOLE_WIDTH, max(1, image.height * WHOLE_WIDTH // image.width)))
    return _jpeg(image)


def _part(picture: Picture, box: Box, aspect: Fraction) -> bytes:
    part = picture.pixels[box.y : box.y + box.height, box.x : box.x + box.width]
    return _jpeg(displayed(part, aspect))


def _jpeg(image: Image.Image) -> bytes:
    data = BytesIO()
    image.save(data, "JPEG", quality=_QUALITY, subsampling=0)
    return data.getvalue()
