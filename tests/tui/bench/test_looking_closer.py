"""Looking closer on the bench: lens, pairs, strip, flipping by itself, and the reminder."""

import re
import time

import pytest

from keymaps.keymap import Keymap
from sessions.record.entries import Look
from tests.proofs import mostly_proofs
from tests.tui.benching import LARGE, SMALL, Bench, make_app, on_bench
from tests.tui.conftest import PlainSource
from tests.tui.reviewing import do, frames_seen, living, written
from tui.app import FramecallApp
from tui.bench.commands import LENS_HANDLERS
from tui.bench.review import Review
from tui.picture.choice import choose
from tui.picture.lens import Pair
from tui.picture.terminal import Terminal
from tui.widgets.frameview import FrameView
from tui.widgets.pictures import DeltaPictures

REMINDER = "contact cannot be judged: take the lens (M)."


@pytest.fixture
def opened(review: Review) -> Review:
    do(review, "run.begin", at=0)
    return review


async def test_each_command_to_look_closer_shows_at_once_and_says_nothing_to_the_session(
    app: FramecallApp, opened: Review
) -> None:
    async with on_bench(app, LARGE) as bench:
        for command in LENS_HANDLERS:
            before = bench.screen.lens.state
            await bench.do(command)
            moves = command.startswith(("lens.", "nudge"))
            assert moves or command == "plain" or bench.screen.lens.state != before
            assert bench.screen.showing.shows(0)
            assert bench.screen.lens.words(0) in bench.line("where")
        assert [entry.kind for entry in written(opened)] == ["run-begun"]
        assert opened.frame == 0


async def test_a_pair_tells_both_frames(app: FramecallApp, opened: Review) -> None:
    async with on_bench(app, LARGE) as bench:
        await bench.do("pair.side")
        assert "no frame before this one" in bench.line("where")
        await bench.do("step.forward", "step.forward")
        assert "side by side 1,2" in bench.line("where")
        await bench.do("pair.difference")
        assert "difference 1,2" in bench.line("where")


async def test_the_lens_goes_with_the_step_that_is_due(app: FramecallApp, opened: Review) -> None:
    async with on_bench(app, LARGE) as bench:
        do(opened, "in_order.hands_off", at=1)
        await bench.do("lens", "lens.right")
        flat = bench.screen.lens.region
        await bench.do("due.in_order", "lens.down")
        grip = bench.screen.lens.region
        assert grip != flat
        await bench.do("undo")
        assert bench.screen.lens.region == flat
        await bench.do("due.in_order")
        assert bench.screen.lens.region == grip


async def test_under_the_lens_nothing_is_tagged_until_all_pixels_are_there(
    app: FramecallApp, opened: Review, source: PlainSource, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(source, "peek_full", lambda frame: None)
    async with on_bench(app, LARGE) as bench:
        await bench.do("lens")
        assert "reading..." in bench.line("where")
        await bench.do("due.in_order")
        assert bench.message == "Frame 0 is not on the screen yet; wait for it."
        await bench.do("step.forward", "step.forward")
        assert frames_seen(opened) == [0]
        monkeypatch.undo()
        assert source.on_ready is not None
        source.on_ready(2)
        await bench.settle()
        assert "reading..." not in bench.line("where")
        assert frames_seen(opened) == [0, 2]
        await bench.do("due.in_order")
        assert "Frame 2 is not" not in bench.message
    assert [entry.kind for entry in written(opened)] == ["run-begun", "sighted"]


async def test_a_frame_counts_as_seen_in_a_pair_too(app: FramecallApp, review: Review) -> None:
    review.go(10)
    async with on_bench(app, LARGE) as bench:
        await bench.do("pair.difference", "step.forward")
        assert bench.screen.lens.pair is Pair.DIFFERENCE
        assert 11 in review.seen.all


async def test_the_strip_is_spaced_in_turn(app: FramecallApp) -> None:
    async with on_bench(app, LARGE) as bench:
        for spacing in (2, 5, 10, 1):
            await bench.do("strip.step")
            shown = "each frame" if spacing == 1 else f"one frame in {spacing}"
            assert bench.message == f"The strip shows {shown}."


# -- the reminder


async def test_a_coarse_picture_is_reminded_of_once_a_run_and_the_tag_is_kept(
    app: FramecallApp, opened: Review
) -> None:
    async with on_bench(app, LARGE) as bench:
        assert bench.screen.pane.scale > 1
        await bench.do("step.forward", "in_order.grip")
        scale = f"{bench.screen.pane.scale:.1f}"
        assert bench.message == (
            f"No cup held at start: in order at frame 1. At {scale} pixels a sub-cell {REMINDER}"
        )
        await bench.do("in_order.still")
        assert REMINDER not in bench.text
        await bench.do("run.end", "step.forward", "run.begin", "in_order.grip")
        assert REMINDER in bench.message
    looks = [entry for entry in living(opened) if isinstance(entry, Look)]
    assert [look.run for look in looks] == [1, 1, 2]


async def test_under_a_lens_that_shows_every_pixel_nobody_is_reminded(
    app: FramecallApp, opened: Review
) -> None:
    async with on_bench(app, LARGE) as bench:
        await bench.do("lens", *["lens.enlarge"] * 4)
        assert bench.screen.pane.scale <= 1
        await bench.do("in_order.grip")
        assert bench.message == "No cup held at start: in order at frame 0."


async def test_under_a_lens_that_is_still_too_coarse_more_is_asked_for(
    app: FramecallApp, opened: Review
) -> None:
    async with on_bench(app, LARGE) as bench:
        await bench.do("lens", "lens.reduce", "lens.reduce", "in_order.grip")
        scale = f"{bench.screen.pane.scale:.1f}"
        assert bench.message.endswith(
            f"{scale} pixels a sub-cell contact cannot be judged: enlarge more (Ctrl+↑)."
        )


async def test_in_too_few_colours_contact_is_doubted_at_once_and_at_a_tag_however_large(
    opened: Review, source: PlainSource, keymap: Keymap
) -> None:
    few = DeltaPictures(choose(Terminal(answers=True, utf8=True, colours=16)))
    async with on_bench(make_app(opened, source, keymap, pictures=few), LARGE) as bench:
        await bench.settle()
        doubt = "In 16 colours contact cannot be told from a gap"
        assert bench.message.startswith(doubt)
        await bench.do("lens", *["lens.enlarge"] * 4)
        assert doubt not in bench.message
        await bench.do("in_order.grip")
        assert doubt in bench.message


async def test_a_tag_that_is_refused_does_not_use_the_reminder_up(
    app: FramecallApp, opened: Review
) -> None:
    do(opened, "in_order.grip", at=5)
    async with on_bench(app, LARGE) as bench:
        await bench.do("in_order.grip")
        assert bench.message.startswith('No "grip" is due in this run')
        await bench.do("in_order.still")
        assert bench.message.startswith("No cup moves at start: in order at frame 5.")
        assert REMINDER in bench.message


# -- flipping by itself


@pytest.fixture
def quick(monkeypatch: pytest.MonkeyPatch) -> None:
    """Paces that a test need not wait for."""
    monkeypatch.setattr("tui.bench.screen.FLIPS", (10, 20, 40, 80))


async def flips(bench: Bench, times: int) -> float:
    """Wait for so many flips after a first one; how many seconds they took."""
    review = bench.screen.review
    seen = [review.frame]

    def another() -> bool:
        if review.frame != seen[-1]:
            seen.append(review.frame)
        return len(seen) > 1

    await bench.until(another)
    began = time.monotonic()
    await bench.until(lambda: another() and len(seen) > 1 + times)
    assert len(set(seen)) == 2
    return time.monotonic() - began


@pytest.mark.usefixtures("quick")
async def test_two_frames_flip_by_themselves_until_the_key_stops_them_where_they_began(
    app: FramecallApp, review: Review
) -> None:
    review.go(10)
    async with on_bench(app, LARGE) as bench:
        await bench.do("flip.run")
        assert bench.message == "Flipping 20 times a second."
        await flips(bench, 4)
        await bench.until(lambda: review.frame == 9)
        await bench.do("flip.run")
        assert review.frame == 10
        await bench.pilot.pause(0.2)
        assert review.frame == 10
        assert "flip with" not in bench.line("where")
        assert review.seen.all.ranges == ((9, 10),)


@pytest.mark.usefixtures("quick")
@pytest.mark.parametrize(
    ("keys", "pace"),
    [
        pytest.param([], 20, marks=pytest.mark.proof),
        pytest.param(["play.faster"], 40, marks=pytest.mark.proof),
        (["play.faster"] * 5, 80),
        pytest.param(["play.slower"] * 5, 10, marks=pytest.mark.proof),
        (["play.slower"] * 5 + ["play.faster"], 20),
    ],
)
async def test_flipping_keeps_the_pace_that_the_keys_of_playing_set(
    app: FramecallApp, review: Review, keys: list[str], pace: int
) -> None:
    review.go(10)
    async with on_bench(app, LARGE) as bench:
        await bench.do("flip.run", *keys)
        assert bench.message == f"Flipping {pace} times a second."
        # a timer may come late, and is in time again after that; the first and the last may be late
        assert await flips(bench, 4) >= 2 / pace
        await bench.do("flip.run")
        assert review.frame == 10
        await bench.do("play.faster")
        assert bench.message == "Speed 2x."


@pytest.mark.usefixtures("quick")
@pytest.mark.parametrize(
    "command", mostly_proofs(["step.forward", "undo", "play", "flip", "help"], ["undo", "play"])
)
async def test_any_other_deed_stops_the_flipping(
    app: FramecallApp, opened: Review, command: str
) -> None:
    opened.go(10)
    async with on_bench(app, LARGE) as bench:
        await bench.do("flip.run")
        await flips(bench, 1)
        await bench.do(command)
        assert not bench.screen.is_flipping
        if command == "play":
            await bench.do("play")


@pytest.mark.usefixtures("quick")
@pytest.mark.parametrize(
    "command",
    mostly_proofs(
        ["in_order.grip", "not_yet", "cup.seen", "reading"], ["in_order.grip", "reading"]
    ),
)
async def test_a_key_that_names_a_frame_stops_the_flipping_and_asks_for_it(
    app: FramecallApp, opened: Review, command: str
) -> None:
    opened.go(10)
    async with on_bench(app, LARGE) as bench:
        before = written(opened)
        await bench.do("flip.run")
        await flips(bench, 1)
        await bench.until(lambda: opened.frame == 9)
        await bench.do(command)
        assert not bench.screen.is_flipping
        assert bench.is_clear
        assert bench.message.endswith("press the key again if frame 10 is meant.")
        assert (opened.frame, opened.flip_base, opened.anchor) == (10, None, None)
        assert written(opened) == before
        await bench.until(lambda: bench.screen.showing.shows(10))
        await bench.do(command)
        assert (written(opened), opened.anchor, bench.is_clear) != (before, None, True)


@pytest.mark.usefixtures("quick")
@pytest.mark.parametrize(
    "command", mostly_proofs(["lens", "lens.right", "light.up", "strip.step"], ["lens.right"])
)
async def test_looking_closer_does_not_stop_the_flipping(
    app: FramecallApp, review: Review, command: str
) -> None:
    review.go(10)
    async with on_bench(app, LARGE) as bench:
        await bench.do("flip.run", command)
        await flips(bench, 2)
        await bench.do("flip.run")
        assert review.frame == 10


async def test_the_first_frame_flips_with_itself(app: FramecallApp, review: Review) -> None:
    async with on_bench(app, LARGE) as bench:
        await bench.do("flip")
        assert (review.frame, review.flip_base) == (0, 0)
        await bench.do("flip")
        assert (review.frame, review.flip_base) == (0, None)


# -- words


async def test_the_status_line_says_what_matters_most_first(
    app: FramecallApp, opened: Review, source: PlainSource
) -> None:
    source.flawed = {5: "it was decoded from a damaged packet"}
    opened.go(5)
    async with on_bench(app, LARGE) as bench:
        await bench.do("not_yet", "hand", "flip", "flip", "pair.side")
        *parts, last = bench.line("where").split(" │ ")
        assert last.startswith("half")
        assert parts == [
            "DAMAGED PICTURE",
            "frame 5/599 0:00.083 00:00:00:05",
            f"{bench.screen.pane.scale:.1f} px/sub-cell",
            "not yet in 5",
            "left hand",
            "side by side 4,5",
            "run 1 attempt 1",
        ]
        source.absent = {4, 6}
        await bench.do("plain", "step.forward")
        parts = bench.line("where").split(" │ ")
        # frame 5 is still what is shown
        assert parts[:2] == ["DAMAGED PICTURE", "reading..."]
        assert parts[2].startswith("frame 6/599")


@pytest.mark.parametrize("size", mostly_proofs([SMALL, LARGE], [SMALL]))
async def test_where_it_is_and_how_coarse_is_in_sight_whatever_else_is_said(
    app: FramecallApp, opened: Review, source: PlainSource, size: tuple[int, int]
) -> None:
    opened.go(5)
    async with on_bench(app, size) as bench:
        await bench.do("not_yet", "hand", "lens", "light.up", "pair.side", "marker", "play")
        line = bench.line("where")
        assert re.match(r"frame \d+/599 0:00\.", line)  # it plays on meanwhile
        assert f"{bench.screen.pane.scale:.1f} px/sub-cell" in line
        assert "playing 1x" in line


async def test_footage_that_can_no_longer_be_read_is_said(
    app: FramecallApp, review: Review, source: PlainSource
) -> None:
    source.failure = "invented.mp4 can no longer be decoded (I/O error); open it again."
    async with on_bench(app, LARGE) as bench:
        assert bench.message == source.failure
        await bench.do("not_yet")
        assert bench.message.startswith("Not yet in frame 0")


async def test_redrawing_sends_every_view_anew(
    opened: Review, source: PlainSource, keymap: Keymap, monkeypatch: pytest.MonkeyPatch
) -> None:
    anew: set[str | None] = set()
    invalidate = FrameView.invalidate

    def noting(view: FrameView) -> None:
        anew.add(view.id)
        invalidate(view)

    app = make_app(opened, source, keymap, pictures=DeltaPictures(choose(Terminal())))
    async with on_bench(app, LARGE) as bench:
        monkeypatch.setattr(FrameView, "invalidate", noting)
        await bench.do("redraw")
    assert anew == {"frame", "strip"}
