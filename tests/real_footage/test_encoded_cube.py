"""The cube pictures, written the ways cameras write: every frame shows its own picture."""

from collections.abc import Callable, Iterator, Sequence
from contextlib import closing
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from random import Random

import numpy as np
import pytest

from tests.real_footage.encoding import Grey, Recording, woven
from tests.real_footage.plain_decode import Pixels, plain_stamps, square_difference
from tests.real_footage.recordings import FIRST, INTERLACED, LAST, PLAYED_AS_WRITTEN, TURNED, UNEVEN
from tui.footage.footage import Footage
from tui.footage.reader import FrameStore

pytestmark = pytest.mark.proof

SIZE = (160, 90)
"""The size that small pictures fit, in pixels."""

NEIGHBOURS = 2
DISTINCT = 1.0
"""Mean square difference, in levels, from which two cube pictures are told apart below."""


@dataclass(frozen=True)
class Filmed:
    """A recording that is open, and the pictures its frames are to show, upright."""

    recording: Recording
    path: Path
    pictures: Sequence[Grey]
    footage: Footage
    store: FrameStore

    def rivals(self, frame: int) -> list[Grey]:
        """The pictures around ``frame`` that are clearly not its own."""
        around = self.pictures[max(0, frame - NEIGHBOURS) : frame + NEIGHBOURS + 1]
        own = self.pictures[frame]
        return [picture for picture in around if square_difference(picture, own) >= DISTINCT]


@pytest.fixture(
    scope="module", params=(*PLAYED_AS_WRITTEN, *INTERLACED), ids=lambda recording: recording.name
)
def filmed(
    request: pytest.FixtureRequest,
    visp_cube_images: list[Grey],
    recorded: Callable[[Sequence[Grey], Recording], Path],
    open_footage: Callable[..., Footage],
) -> Iterator[Filmed]:
    recording = request.param
    pictures = visp_cube_images[FIRST:LAST]
    if recording in INTERLACED:
        pictures = woven(pictures)
    path = recorded(pictures, recording)
    footage = open_footage(path, scan="frames")  # a plain decode knows no fields
    upright = [turned(picture, recording.rotation) for picture in pictures]
    with closing(FrameStore(footage, SIZE)) as store:
        yield Filmed(recording, path, upright, footage, store)


def turned(picture: Grey, degrees: int) -> Grey:
    return np.ascontiguousarray(np.rot90(picture, -degrees // 90))


def misread(filmed: Filmed, frames: Sequence[int]) -> list[int]:
    """The frames, of those asked for in this order, that show a neighbour's picture better."""
    wrong = []
    for frame in frames:
        filmed.store.get(frame)  # moves the playhead, as showing the frame does
        shown = green(filmed.store.full(frame).pixels)
        own = square_difference(shown, filmed.pictures[frame])
        if any(square_difference(shown, rival) <= own for rival in filmed.rivals(frame)):
            wrong.append(frame)
    return wrong


def green(pixels: Pixels) -> Grey:
    """One channel of a picture that has no colour."""
    return np.ascontiguousarray(pixels[..., 1])


def test_nearly_every_picture_can_be_told_from_its_neighbours(filmed: Filmed) -> None:
    told = [frame for frame in range(len(filmed.pictures)) if filmed.rivals(frame)]
    assert len(told) >= 0.95 * len(filmed.pictures)


def test_there_is_one_frame_for_each_picture_with_the_stamps_of_a_plain_decode(
    filmed: Filmed,
) -> None:
    footage = filmed.footage
    assert footage.frames == len(filmed.pictures)
    stamps = plain_stamps(filmed.path)
    # AVI stores no stamps; those that a plain decode makes up are late by the reordering's delay
    delay = stamps[0] if filmed.recording.suffix == ".avi" else 0
    assert [footage.pts(frame) + delay for frame in range(footage.frames)] == stamps


@pytest.mark.parametrize("order", ["forward", "backward", "jumping"])
def test_every_frame_shows_its_own_picture(order: str, filmed: Filmed) -> None:
    count = len(filmed.pictures)
    frames = {
        "forward": range(count),
        "backward": range(count - 1, count - 25, -1),
        "jumping": Random(2).choices(range(count), k=15),
    }[order]
    assert misread(filmed, frames) == []
    assert filmed.footage.ledger.flaws() == ()


def test_the_scan_type_is_told(filmed: Filmed) -> None:
    interlaced = filmed.recording in INTERLACED
    assert filmed.footage.facts.scan.startswith("interlaced" if interlaced else "progressive")


def test_what_is_interlaced_is_stepped_by_field_unless_asked_otherwise(
    filmed: Filmed, open_footage: Callable[..., Footage]
) -> None:
    fields = 2 if filmed.recording in INTERLACED else 1
    assert open_footage(filmed.path).frames == fields * len(filmed.pictures)


def test_a_turned_recording_is_shown_upright(
    visp_cube_images: list[Grey],
    recorded: Callable[[Sequence[Grey], Recording], Path],
    open_footage: Callable[..., Footage],
) -> None:
    footage = open_footage(recorded(visp_cube_images[FIRST:LAST], TURNED))
    assert (footage.width, footage.height) == (480, 640)
    assert footage.facts.rotation == 90


def test_uneven_stamps_are_kept_exactly(
    visp_cube_images: list[Grey],
    recorded: Callable[[Sequence[Grey], Recording], Path],
    open_footage: Callable[..., Footage],
) -> None:
    footage = open_footage(recorded(visp_cube_images[FIRST:LAST], UNEVEN))
    assert UNEVEN.stamps is not None
    written = [Fraction(stamp, 90000) for stamp in UNEVEN.stamps]
    assert [footage.time(frame) for frame in range(footage.frames)] == written


def test_no_picture_is_passed_off_as_another_where_the_stamps_are_out_of_order(
    visp_cube_images: list[Grey],
    recorded: Callable[[Sequence[Grey], Recording], Path],
    open_footage: Callable[..., Footage],
) -> None:
    """AVI keeps no time stamps; a plain decode of reordered H.264 then tells false ones."""
    recording = Recording("reordered H.264 in AVI", suffix=".avi", options={"crf": "14"})
    pictures = visp_cube_images[FIRST:LAST]
    path = recorded(pictures, recording)
    footage = open_footage(path)
    assert plain_stamps(path) != sorted(plain_stamps(path))
    with closing(FrameStore(footage, SIZE)) as store:
        filmed = Filmed(recording, path, pictures, footage, store)
        misplaced = misread(filmed, range(footage.frames))
    assert misplaced == []
    assert footage.ledger.flaws() == ()
