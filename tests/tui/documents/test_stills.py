"""The pictures of an exhibit: whole and cropped, as displayed."""

from fractions import Fraction
from io import BytesIO

import numpy as np
from PIL import Image

from sessions.ruling.judge import rule
from tests.tui.documents.papers import SIZE, PlainPictures, exhibits, session
from tui.documents.exhibits import WHOLE_WIDTH, displayed, how_stills_are_made, take_stills


def opened(data: bytes) -> Image.Image:
    return Image.open(BytesIO(data))


def start(source: PlainPictures, aspect: Fraction = Fraction(1)):  # type: ignore[no-untyped-def]
    return take_stills(exhibits(rule(session("clean 1 at 0")))[0], source, aspect)


def test_each_frame_is_there_whole_and_cropped() -> None:
    exhibit, stills = start(PlainPictures())
    assert exhibit.size == SIZE
    assert [opened(data).size for data in stills.whole] == [SIZE, SIZE]
    assert exhibit.crop is not None
    assert stills.crop is not None
    sizes = [opened(data).size for data in stills.crop]
    assert sizes == [(exhibit.crop.width, exhibit.crop.height)] * 2


def test_the_crop_is_of_the_place_that_is_told() -> None:
    exhibit, stills = start(PlainPictures())
    box = exhibit.crop
    assert box is not None
    assert stills.crop is not None
    part = (box.x, box.y, box.x + box.width, box.y + box.height)
    for whole, crop in zip(stills.whole, stills.crop, strict=True):
        expected = np.asarray(opened(whole).crop(part), np.int16)
        found = np.asarray(opened(crop), np.int16)
        assert np.abs(expected - found).mean() < 3  # both are JPEG, so not equal to the bit


def test_frames_that_do_not_differ_are_not_cropped() -> None:
    class Still(PlainPictures):
        def full(self, frame):  # type: ignore[no-untyped-def]
            return super().full(0)

    exhibit, stills = start(Still())
    assert (exhibit.crop, stills.crop) == (None, None)


def test_a_damaged_frame_is_marked() -> None:
    exhibit, _ = start(PlainPictures(flaws={10: "damaged: a test"}))
    assert [shot.flaw for shot in exhibit.shots] == [None, "damaged: a test"]


def test_large_frames_are_made_smaller_and_crops_are_not() -> None:
    exhibit, stills = start(PlainPictures(size=(2560, 1440)))
    assert opened(stills.whole[0]).size == (WHOLE_WIDTH, 720)
    assert exhibit.crop is not None
    assert stills.crop is not None
    assert opened(stills.crop[0]).width == exhibit.crop.width >= 640


def test_pixels_that_are_not_square_are_stretched_in_width() -> None:
    picture = np.zeros((90, 120, 3), np.uint8)
    assert displayed(picture, Fraction(4, 3)).size == (160, 90)
    assert displayed(picture, Fraction(1)).size == (120, 90)


def test_the_record_says_how_stills_are_made() -> None:
    assert how_stills_are_made().startswith("JPEG, quality 90")
    assert str(WHOLE_WIDTH) in how_stills_are_made()
