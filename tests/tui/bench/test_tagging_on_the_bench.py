"""Tagging by keys: on the disk before it shows, and only what is on the screen."""

import errno
import os
import resource
from collections.abc import Callable, Sequence

import pytest

from sessions.record.entries import Look, RunBegun, Spot
from sessions.record.recording import read_session
from tests.proofs import mostly_proofs
from tests.tui.benching import LARGE, SMALL, on_bench
from tests.tui.conftest import PlainSource
from tests.tui.reviewing import do, living, written
from tui.app import FramecallApp
from tui.bench.panels import LadderPanel
from tui.bench.review import Review
from tui.bench.rows import LadderRow


@pytest.mark.parametrize("size", mostly_proofs([SMALL, LARGE], [SMALL]))
async def test_a_run_is_opened_and_tagged_by_keys(
    app: FramecallApp, review: Review, size: tuple[int, int]
) -> None:
    async with on_bench(app, size) as bench:
        await bench.press("right", "right", "right_parenthesis")
        assert "There is no run yet" in bench.message
        await bench.press("left_parenthesis")
        assert bench.message == "Run 1 begun at frame 2."
        await bench.press("pagedown", "G")
        assert bench.message.startswith("No cup held at start: FAULT at frame 62.")
        assert "✗ No cup held at start" in bench.text
        assert "run 1 attempt 1" in bench.line("where")
    assert written(review) == [
        RunBegun(run=1, begins=Spot(frame=2, pts=2)),
        Look(run=1, checkpoint="start.grip", saw="refuted", by=Spot(frame=62, pts=62)),
    ]


async def test_a_tag_is_on_the_disk_before_it_shows(
    app: FramecallApp, review: Review, monkeypatch: pytest.MonkeyPatch
) -> None:
    show = LadderPanel.show_rows
    compared: list[tuple[int, int]] = []

    def compare(panel: LadderPanel, rows: Sequence[LadderRow]) -> None:
        looks = [e for e in written(review) if isinstance(e, Look)]
        compared.append((sum(row.state == "proven" for row in rows), len(looks)))
        show(panel, rows)

    monkeypatch.setattr(LadderPanel, "show_rows", compare)
    async with on_bench(app) as bench:
        await bench.press("left_parenthesis")
        for key in ("g", "s", "l", "l"):
            await bench.press("shift+right", key)
    assert all(shown <= on_disk for shown, on_disk in compared)
    assert compared[-1] == (4, 4)


async def test_nothing_is_tagged_while_the_frame_is_not_on_the_screen(
    app: FramecallApp, review: Review, source: PlainSource
) -> None:
    source.absent = {1}
    async with on_bench(app, LARGE) as bench:
        await bench.press("left_parenthesis", "right")
        assert "reading..." in bench.line("where")
        for command in ("in_order.grip", "due.in_order", "run.end", "not_yet", "cup.seen", "note"):
            await bench.do(command)
            assert bench.message == "Frame 1 is not on the screen yet; wait for it."
        assert len(written(review)) == 1
        source.absent.clear()
        assert source.on_ready is not None
        source.on_ready(1)
        await bench.settle()
        assert "reading..." not in bench.line("where")
        assert bench.message == "Frame 1 is on the screen now; press the key again."
        await bench.press("g")
        assert bench.message.startswith("No cup held at start: in order at frame 1.")
    assert len(written(review)) == 2


async def test_a_late_frame_that_is_no_longer_wanted_is_not_drawn(
    app: FramecallApp, review: Review, source: PlainSource
) -> None:
    source.absent = {1, 2}
    async with on_bench(app, LARGE) as bench:
        await bench.press("right", "right")
        source.absent = {2}
        assert source.on_ready is not None
        source.on_ready(1)
        await bench.settle()
        assert "reading..." in bench.line("where")
        assert 1 not in review.seen.all


@pytest.mark.parametrize("size", mostly_proofs([SMALL, LARGE], [LARGE]))
async def test_frames_drawn_count_as_seen_and_others_do_not(
    app: FramecallApp, review: Review, source: PlainSource, size: tuple[int, int]
) -> None:
    source.absent = {3}
    async with on_bench(app, size) as bench:
        await bench.press(*["right"] * 5)
        await bench.press("end")
        assert review.seen.all.ranges == ((0, 2), (4, 5), (599, 599))
        await bench.press("ctrl+q")
    review.flush_seen()
    assert review.session.shown.ranges == ((0, 2), (4, 5), (599, 599))


@pytest.mark.parametrize("size", mostly_proofs([SMALL, LARGE], [SMALL]))
async def test_a_held_key_ends_on_the_right_frame_with_few_draws_and_no_backlog(
    app: FramecallApp, review: Review, source: PlainSource, size: tuple[int, int]
) -> None:
    async with on_bench(app, size) as bench:
        drawn = len(review.seen.all)
        bench.hold("right", 100)
        await bench.until(lambda: review.frame == 100)
        await bench.settle()
        assert bench.line("where").startswith("frame 100/599")
        assert 100 in review.seen.all
        assert len(review.seen.all) - drawn <= 20
        await bench.press("left")
        assert bench.line("where").startswith("frame 99/599")
        assert source.wanted[-1] == 99


async def test_frames_shown_are_written_down_from_time_to_time(
    app: FramecallApp, review: Review, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("tui.bench.screen.FLUSH_SECONDS", 0.05)
    async with on_bench(app) as bench:
        await bench.press("right", "right")
        await bench.until(lambda: len(read_session(review.journal.path).lines) > 0)
    assert 2 in review.session.shown or review.seen.fresh


async def test_a_damaged_picture_says_so(
    app: FramecallApp, review: Review, source: PlainSource
) -> None:
    source.flawed = {1: "it was decoded from a damaged packet"}
    async with on_bench(app) as bench:
        await bench.press("right")
        assert bench.line("where").startswith("DAMAGED PICTURE")
        assert bench.message == "Not to be trusted: it was decoded from a damaged packet"
        await bench.press("right")
        assert "DAMAGED" not in bench.message


async def test_what_is_refused_on_a_damaged_picture_is_said(
    app: FramecallApp, review: Review, source: PlainSource
) -> None:
    source.flawed = {1: "it was decoded from a damaged packet"}
    async with on_bench(app, LARGE) as bench:
        await bench.press("right", "right_parenthesis")
        assert "There is no run yet" in bench.text


def full_disk(monkeypatch: pytest.MonkeyPatch, review: Review) -> Callable[[], None]:
    """A disk that takes ten more bytes of any file and no more; returns how to make room."""
    soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
    size = review.journal.path.stat().st_size
    resource.setrlimit(resource.RLIMIT_FSIZE, (size + 10, hard))
    return lambda: resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))


def failing_disk(monkeypatch: pytest.MonkeyPatch, review: Review) -> Callable[[], None]:
    """A disk that fails as it writes through; returns how to mend it."""

    def fsync(handle: int) -> None:
        raise OSError(errno.EIO, os.strerror(errno.EIO))

    context = pytest.MonkeyPatch()
    context.setattr("sessions.record.journal.os.fsync", fsync)
    return context.undo


@pytest.mark.parametrize("break_disk", [full_disk, failing_disk])
async def test_a_disk_that_takes_nothing_loses_nothing_and_says_so_in_one_sentence(
    app: FramecallApp,
    review: Review,
    monkeypatch: pytest.MonkeyPatch,
    break_disk: Callable[[pytest.MonkeyPatch, Review], Callable[[], None]],
) -> None:
    async with on_bench(app, LARGE) as bench:
        await bench.press("left_parenthesis", "right")
        review.flush_seen()
        before, said = review.journal.path.read_bytes(), living(review)
        mend = break_disk(monkeypatch, review)
        try:
            await bench.press("right", "g")
            assert bench.message.startswith("The entry was not saved: the disk refused")
            assert living(review) == said
            assert "✓" not in bench.text
            bench.screen.flush()
            await bench.press("right")
            bench.screen.flush()
            await bench.settle()
            assert "The entry was not saved" in bench.message
        finally:
            mend()
        assert review.journal.path.read_bytes() == before
        await bench.press("g")
        assert bench.message.startswith("No cup held at start: in order at frame 3.")
    assert [entry.kind for entry in written(review)] == ["run-begun", "look"]
    assert {1, 2, 3} <= {f for a, b in review.session.shown.ranges for f in range(a, b + 1)}


async def test_a_frame_outside_the_run_at_hand_says_so_and_is_not_tagged_in_it(
    app: FramecallApp, review: Review
) -> None:
    do(review, "run.begin", at=3)
    do(review, "run.end", at=9)
    async with on_bench(app) as bench:
        await bench.press("home")
        assert "BEFORE run 1" in bench.line("where")
        await bench.press("g")
        assert bench.message.startswith("Frame 0 lies before run 1 (frames 3-9): go to a frame")
        await bench.press("j")
        await bench.answer("5")
        assert "run 1 attempt 1" in bench.line("where")
        assert "BEFORE" not in bench.line("where")


async def test_undo_redo_and_retract_by_keys(app: FramecallApp, review: Review) -> None:
    async with on_bench(app) as bench:
        await bench.press("left_parenthesis", "right", "g", "ctrl+u")
        assert bench.message.startswith("Undone: No cup held at start, in order at frame 1.")
        await bench.press("ctrl+y")
        assert bench.message.startswith("Done again: ")
        assert "✓ No cup held at start" in bench.text
        await bench.press("delete")
        assert bench.message == "Taken back: 1 tag."
    assert [entry.kind for entry in living(review)] == ["run-begun"]


async def test_what_is_due_is_asked_and_what_is_remembered_is_shown(
    app: FramecallApp, review: Review
) -> None:
    do(review, "run.begin", at=0)
    async with on_bench(app, LARGE) as bench:
        assert bench.message.startswith("Hands off (first hand): tag the first frame")
        await bench.press("comma", "semicolon")
        assert "not yet in 0" in bench.line("where")
        assert "left hand" in bench.line("where")
