"""Watching all of the footage, what it does not show, attempts before it, and further rules."""

import pytest

from keymaps.keymap import Keymap
from sessions.errors import EntryRefused
from sessions.record.entries import AttemptsBefore, NotShown, OtherFault
from sessions.ruling.ruling import Standing
from tests.tui.benching import LARGE, make_app, on_bench
from tests.tui.conftest import Clock, PlainSource
from tests.tui.reviewing import do, living, run_in_order, standing, watch
from tui.app import FramecallApp
from tui.bench import runs
from tui.bench.places import go_on_watching, next_unwatched
from tui.bench.review import Review


@pytest.fixture
def app(review: Review, source: PlainSource, keymap: Keymap, clock: Clock) -> FramecallApp:
    return make_app(review, source, keymap, clock)


def test_a_run_stands_once_what_comes_before_it_was_watched(review: Review) -> None:
    run_in_order(review, 100)
    do(review, "cup.all_seen")
    watch(review, 100)
    assert standing(review) is Standing.OPEN
    found = next(f for f in review.ruling.runs[0].findings if f.checkpoint == "number")
    assert "attempt 1 so far" in found.reason
    watch(review, 0, 60)
    watch(review, 70, 99)
    assert standing(review) is Standing.STANDS, "9 frames of 60 a second are a speck"
    assert review.ruling.made


def test_the_next_unwatched_stretch_leaves_specks_out(review: Review) -> None:
    watch(review, 0, 99)
    watch(review, 105, 299)
    watch(review, 400)
    assert next_unwatched(review) == (300, 399)
    review.go(350)
    assert next_unwatched(review) == (300, 399)
    assert go_on_watching(review) == "Not watched yet: frames 300-399."
    assert review.frame == 350
    review.go(500)
    assert go_on_watching(review) == "Not watched yet: frames 300-399."
    assert review.frame == 300
    watch(review, 300, 399)
    with pytest.raises(EntryRefused, match="All of the footage has been watched"):
        go_on_watching(review)


async def test_one_key_plays_every_frame_of_what_nobody_watched(
    app: FramecallApp, review: Review, clock: Clock
) -> None:
    watch(review, 0, 559)
    async with on_bench(app, LARGE) as bench:
        await bench.do("unwatched.next")
        assert "Not watched yet: frames 560-599." in bench.message
        clock.now += 100  # by the clock, the end would be reached at once
        await bench.until(lambda: review.frame == 599 and 599 in review.seen.all)
        assert set(range(560, 600)) <= {f for f in range(600) if f in review.seen.all}
        await bench.until(lambda: not bench.screen.player.is_playing)
        await bench.do("unwatched.next")
        assert "All of the footage has been watched." in bench.message


async def test_playing_every_frame_says_its_speed_and_pauses_by_the_same_key(
    app: FramecallApp, review: Review, clock: Clock
) -> None:
    async with on_bench(app, LARGE) as bench:
        await bench.do("play.whole")
        await bench.until(lambda: review.frame >= 12)
        clock.now += 2
        await bench.settle()
        assert "playing every frame, at 0." in bench.text
        await bench.do("play.whole")
        assert not bench.screen.player.is_playing
        assert not [e for e in living(review) if e.kind == "played"]


async def test_a_further_rule_is_chosen_from_a_list_at_the_frame_on_the_screen(
    app: FramecallApp, review: Review
) -> None:
    do(review, "run.begin", at=5)
    review.go(40)
    async with on_bench(app) as bench:
        await bench.do("other_fault")
        assert "The cups stay on the mat: broken" in bench.text
        assert "Another rule of the league: cannot tell" in bench.text
        await bench.press("enter")
        assert "what does frame 40 show?" in bench.text
        await bench.press("enter")
        assert bench.message.startswith("The cups stay on the mat: FAULT at frame 40.")
    (fault,) = [entry for entry in living(review) if isinstance(entry, OtherFault)]
    assert (fault.rule, fault.saw) == ("mat.cups", "refuted")
    assert (fault.after, fault.by) == (review.spot(39), review.spot(40))
    assert standing(review) is Standing.SCRATCH
    do(review, "retract")
    assert standing(review) is Standing.OPEN


def test_another_rule_needs_its_reason_and_all_of_them_a_run(review: Review) -> None:
    with pytest.raises(EntryRefused, match="There is no run yet"):
        runs.check_other_fault(review)
    do(review, "run.begin", at=5)
    *_, other = runs.other_rules(review)
    with pytest.raises(EntryRefused, match="Type 1 to 2000"):
        runs.other_fault(review, other, "refuted", " ")
    runs.other_fault(review, other, "unproven", "somebody reached for a cup")
    assert standing(review) is Standing.OPEN


async def test_a_start_that_is_not_shown_ends_a_run_as_not_proven(
    app: FramecallApp, review: Review
) -> None:
    do(review, "run.begin", at=5)
    do(review, "run.end", at=90)
    watch(review)
    async with on_bench(app) as bench:
        await bench.do("not_shown")
        await bench.press("enter")
        assert "why can it not be seen?" in " ".join(bench.text.split())
        await bench.answer("the footage begins later")
        assert bench.message.startswith("Not shown in frames 5-90: The start of the clock")
    (lack,) = [entry for entry in living(review) if isinstance(entry, NotShown)]
    assert (lack.run, lack.what, lack.first.frame, lack.last.frame) == (1, "start", 5, 90)
    assert standing(review) is Standing.NOT_PROVEN
    taken = runs.lacks(review)[0]
    assert taken.words.startswith("Take back: The start of the clock")


def test_what_is_written_down_is_not_said_not_to_be_shown(review: Review) -> None:
    run_in_order(review, 0)
    do(review, "cup.all_seen")
    for lack in runs.lacks(review):
        if lack.what != "table":
            with pytest.raises(EntryRefused, match="take that back first"):
                runs.not_shown(review, lack, "a head is there")
    review.go(30)
    do(review, "not_yet")
    review.go(60)
    table = next(lack for lack in runs.lacks(review) if (lack.what, lack.run) == ("table", None))
    assert runs.not_shown(review, table, "a pillar").startswith("Not shown in frames 30-60:")
    assert standing(review) is Standing.NOT_PROVEN


def test_attempts_before_the_footage_are_counted_changed_and_taken_back(review: Review) -> None:
    run_in_order(review, 0)
    assert runs.attempts_before(review, "2, by the results list") == (
        "2 attempts came before this footage."
    )
    assert review.ruling.runs[0].number == 3
    assert runs.attempts_before(review, "1 the earlier tape") == (
        "1 attempt came before this footage."
    )
    (before,) = [entry for entry in living(review) if isinstance(entry, AttemptsBefore)]
    assert (before.attempts, before.source) == (1, "the earlier tape")
    assert "because 1 attempt came before this footage" in review.ruling.runs[0].counted_as
    runs.attempts_before(review, "0")
    assert review.ruling.runs[0].number == 1
    for typed in ("", "two", "2", "2, "):
        with pytest.raises(EntryRefused, match="Type how many and how you know"):
            runs.attempts_before(review, typed)
