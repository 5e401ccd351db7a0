"""The truth is really in the picture: decoded again, things change in the frames that it names."""

from collections.abc import Iterator
from fractions import Fraction
from math import floor
from pathlib import Path

import av
import numpy as np
import pytest

from sessions.rules.moments import SIDES
from tests.tui.demo.filming import Clip, filmed, score
from tui.demo.layout import (
    COLUMN_X,
    CUP_HEIGHT,
    DISPLAY_AREA,
    FRONT,
    NEST,
    PALM_ON_PAD,
    Point,
)
from tui.demo.score import RunScore
from tui.demo.truth import mark_frames

TOP_OF_MIDDLE = Point(COLUMN_X["middle"], FRONT - 2 * NEST - CUP_HEIGHT / 2)
CUP, PALM = (38, 34), (26, 30)
AT_REST, MOVED = 1.5, 4.0
"""Mean differences in brightness: camera noise and coding stay below one, movement is above."""

# the seven segments of each digit: top, upper right, lower right, bottom, lower left, upper left,
# middle (the common layout)
SEGMENTS = {
    "1111110": 0,
    "0110000": 1,
    "1101101": 2,
    "1111001": 3,
    "0110011": 4,
    "1011011": 5,
    "1011111": 6,
    "1110000": 7,
    "1111111": 8,
    "1111011": 9,
}
MIDDLES = ((18, 3), (32, 16), (32, 44), (18, 57), (3, 44), (3, 16), (18, 30))
DIGITS = 5


@pytest.fixture(scope="module")
def contact(tmp_path_factory: pytest.TempPathFactory) -> Clip:
    """A run in which a finger drags a cup for two frames before the hand is off the pad."""
    run = RunScore(fault="contact", frames=2, stop_phase="1/5")
    return filmed(score(run, name="contact"), tmp_path_factory.mktemp("contact"))


@pytest.fixture(scope="module")
def close(tmp_path_factory: pytest.TempPathFactory) -> Clip:
    """A run in which the finger touches the cup in the very interval in which the hand leaves."""
    run = RunScore(fault="close contact")
    return filmed(score(run, name="close"), tmp_path_factory.mktemp("close"))


def test_the_cup_moves_in_the_frame_that_the_truth_names_and_not_before(contact: Clip) -> None:
    moved = contact.moment("start.move")
    for frame in range(moved.by - 12, moved.by):
        assert contact.change(frame, moved.by - 20, TOP_OF_MIDDLE, CUP) < AT_REST
    assert contact.change(moved.by, moved.after, TOP_OF_MIDDLE, CUP) > MOVED


def test_the_hand_leaves_the_pad_in_the_frame_that_the_truth_names(contact: Clip) -> None:
    off = contact.moment("start:right")
    for frame in range(off.by - 12, off.by):
        assert contact.change(frame, off.by - 20, PALM_ON_PAD["right"], PALM) < AT_REST
    assert contact.change(off.by, off.after, PALM_ON_PAD["right"], PALM) > MOVED


def test_two_frames_show_the_cup_moving_while_the_hand_lies_on_the_pad(contact: Clip) -> None:
    moved, off = contact.moment("start.move"), contact.moment("start:right")
    between = range(moved.by, off.by)
    assert len(between) == 2
    for frame in between:
        assert contact.change(frame, moved.after, TOP_OF_MIDDLE, CUP) > MOVED
        assert contact.change(frame, moved.after, PALM_ON_PAD["right"], PALM) < AT_REST


def test_what_is_too_close_shows_in_one_frame_and_nothing_before(close: Clip) -> None:
    off = close.moment("start:right")
    places = ((TOP_OF_MIDDLE, CUP), (PALM_ON_PAD["right"], PALM))
    assert all(close.change(off.after, off.after - 8, *place) < AT_REST for place in places)
    assert all(close.change(off.by, off.after, *place) > MOVED for place in places)


def test_the_hands_lie_on_the_pad_from_the_frame_of_the_stop(contact: Clip) -> None:
    stop = contact.moment("stop:right")
    palm = PALM_ON_PAD["right"]
    assert contact.change(stop.after, stop.by + 12, palm, PALM) > MOVED
    for frame in range(stop.by + 1, stop.by + 12):
        assert contact.change(frame, stop.by + 20, palm, PALM) < AT_REST


def test_the_display_reads_the_time_since_the_start_in_every_frame(contact: Clip) -> None:
    start = min(Fraction(contact.moment(f"start:{side}").seconds) for side in SIDES)
    stop = max(Fraction(contact.moment(f"stop:{side}").seconds) for side in SIDES)
    for frame in range(0, contact.truth.frames, 7):
        running = min(Fraction(frame, contact.truth.rate), stop) - start
        assert reading(contact, frame) == floor(max(running, Fraction(0)) * 1000), frame


def test_the_display_stands_still_at_the_reading_of_the_truth(contact: Clip) -> None:
    stop = contact.moment("stop:right").by
    shown = {reading(contact, frame) for frame in range(stop, contact.truth.frames)}
    assert shown == {int(contact.run.display.replace(".", ""))}


def test_a_wrist_on_the_pad_does_not_look_like_a_flat_hand(tmp_path: Path) -> None:
    clip = filmed(score(RunScore(fault="wrist")), tmp_path)
    assert "start.flat:left" not in clip.run.moments
    frame = clip.moment("start:left").by - 10
    left, right = (clip.patch(frame, PALM_ON_PAD[side], PALM) for side in SIDES)
    assert np.abs(left - right[:, ::-1]).mean() > MOVED


def test_a_mark_is_bright_where_it_shows_and_missing_where_there_is_none(contact: Clip) -> None:
    cup = 6
    first, last = mark_frames(contact.performance)[cup][0]
    bare = filmed(score(no_mark=[cup], name="bare"), contact.path.parent)
    assert mark_frames(bare.performance)[cup] == ()
    at = contact.performance.tracks.cups[cup - 1]
    where = Point(*at.home).moved(2.5, -39)
    shown = [clip.patch((first + last) // 2, where, (14, 14)).mean() for clip in (contact, bare)]
    assert shown[0] > shown[1] + 40


def test_the_clip_has_b_frames_and_sixty_frames_a_second(contact: Clip) -> None:
    with av.open(str(contact.path)) as container:
        stream = container.streams.video[0]
        packets = [p for p in container.demux(stream) if p.pts is not None]
        assert stream.average_rate == contact.truth.rate == 60
    assert len(packets) == contact.truth.frames == len(contact.frames)
    shown_in_order = [p.pts for p in packets if p.pts is not None]
    assert shown_in_order != sorted(shown_in_order)


def reading(clip: Clip, frame: int) -> int:
    """The milliseconds on the display, read from the decoded picture by its segments."""
    return int("".join(str(digit) for digit in _digits(clip, frame)))


def _digits(clip: Clip, frame: int) -> Iterator[int]:
    for number in range(DIGITS):
        corner = Point(DISPLAY_AREA[0] + 6 + 46 * number, DISPLAY_AREA[1] + 10)
        bright = [clip.patch(frame, corner.moved(*at), (2, 2)).mean() > 60 for at in MIDDLES]
        if any(bright):
            yield SEGMENTS["".join(str(int(lit)) for lit in bright)]
