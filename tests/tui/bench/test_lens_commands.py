"""What each command does to the lens, and that none of them touches the session."""

from fractions import Fraction

import pytest

from keymaps.commands import COMMANDS, Group
from sessions.rules.ladder import Kind
from tests.tui.reviewing import do
from tui.bench.commands import LENS_HANDLERS
from tui.bench.review import Review
from tui.picture.lens import Lens, Pair, Region

MIDDLE = (Fraction(160), Fraction(90))


@pytest.fixture
def lens() -> Lens:
    """A lens of 4 times at the middle of a frame of 320 by 180: it shows 80 by 45."""
    lens = Lens(320, 180)
    lens.zoom(3)
    return lens


# The command, and what it changes: the lens's middle and enlargement, or another part of the lens.
PLACES = {
    "lens.enlarge": Region(*MIDDLE, 6),
    "lens.reduce": Region(*MIDDLE, 3),
    "lens.left": Region(MIDDLE[0] - 10, MIDDLE[1], 4),
    "lens.right": Region(MIDDLE[0] + 10, MIDDLE[1], 4),
    "lens.up": Region(MIDDLE[0], MIDDLE[1] - 5, 4),
    "lens.down": Region(MIDDLE[0], MIDDLE[1] + 5, 4),
    "nudge.left": Region(MIDDLE[0] - 1, MIDDLE[1], 4),
    "nudge.right": Region(MIDDLE[0] + 1, MIDDLE[1], 4),
    "nudge.up": Region(MIDDLE[0], MIDDLE[1] - 1, 4),
    "nudge.down": Region(MIDDLE[0], MIDDLE[1] + 1, 4),
    "lens": Region(*MIDDLE),
    "plain": Region(*MIDDLE),
}
SETTINGS = {
    "light.up": ("brightness", 1),
    "light.down": ("brightness", -1),
    "contrast.up": ("contrast", 1),
    "contrast.down": ("contrast", -1),
    "contrast.local": ("local", True),
    "pair.side": ("pair", Pair.SIDE),
    "pair.difference": ("pair", Pair.DIFFERENCE),
}


@pytest.mark.parametrize("command", PLACES)
def test_a_command_moves_the_lens(lens: Lens, review: Review, command: str) -> None:
    LENS_HANDLERS[command](lens, review)
    assert lens.region == PLACES[command]


@pytest.mark.parametrize("command", SETTINGS)
def test_a_command_changes_how_the_picture_is_shown(
    lens: Lens, review: Review, command: str
) -> None:
    name, value = SETTINGS[command]
    LENS_HANDLERS[command](lens, review)
    assert getattr(lens, name) == value
    assert lens.region == Region(*MIDDLE, 4)


def test_a_mark_is_of_the_frame_that_the_review_is_at(lens: Lens, review: Review) -> None:
    review.go(12)
    LENS_HANDLERS["marker"](lens, review)
    assert lens.marker is not None
    assert (lens.marker.frame, lens.marker.x, lens.marker.y) == (12, *MIDDLE)


def test_the_lens_is_taken_up_for_the_kind_of_step_that_is_due(review: Review) -> None:
    lens = Lens(320, 180)
    do(review, "run.begin", at=0)
    do(review, "in_order.hands_off", at=1)
    assert review.checkpoint is not None
    assert review.checkpoint.kind is Kind.FLAT
    LENS_HANDLERS["lens"](lens, review)
    lens.nudge(40, 0)
    flat = lens.region
    LENS_HANDLERS["lens"](lens, review)
    lens.toggle(Kind.GRIP)
    lens.nudge(-80, 0)
    lens.toggle(Kind.GRIP)
    LENS_HANDLERS["lens"](lens, review)
    assert lens.region == flat


def test_every_command_to_look_closer_is_tried_here_or_is_the_screens_own() -> None:
    look = {c.id for c in COMMANDS.values() if c.group is Group.LOOK}
    tried = {*PLACES, *SETTINGS, "marker"}
    assert set(LENS_HANDLERS) == tried
    assert look - tried == {"flip.run", "strip.step"}


@pytest.mark.parametrize("command", LENS_HANDLERS)
def test_no_way_of_looking_changes_the_session_or_the_place(
    lens: Lens, opened: Review, command: str
) -> None:
    before = (opened.frame, opened.session, opened.journal.path.read_bytes())
    for _ in range(3):
        LENS_HANDLERS[command](lens, opened)
    assert (opened.frame, opened.session, opened.journal.path.read_bytes()) == before
