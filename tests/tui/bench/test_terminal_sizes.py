"""Small, large and changing terminals, and text that means to be more than text."""

from collections.abc import Callable

import pytest

from keymaps.keymap import Keymap
from sessions.record.journal import Journal
from tests.proofs import mostly_proofs, pairs
from tests.tui.benching import LARGE, SMALL, make_app, on_bench
from tests.tui.conftest import PlainSource, frame_at, header, ticking
from tests.tui.reviewing import do, frames_seen, living, run_in_order
from tui.app import FramecallApp
from tui.bench import runs
from tui.bench.question import due_text
from tui.bench.review import Review

HOSTILE = "[bold red]x[/] [@click=app.quit]y[/] \x1b[31m\x07 \u202egnp.exe\u202c"


def unsafe(text: str) -> set[str]:
    """The characters in a text that a terminal would obey."""
    return {
        char for char in text if (ord(char) < 32 and char != "\n") or char in "\u202e\u202c\x7f"
    }


@pytest.mark.parametrize("size", [SMALL, LARGE])
async def test_the_bench_fits_the_terminal(
    app: FramecallApp, review: Review, size: tuple[int, int]
) -> None:
    do(review, "run.begin", at=0)
    async with on_bench(app, size) as bench:
        assert len(bench.lines) == size[1]
        assert {len(line) for line in bench.lines} == {size[0]}
        assert "Ladder 0/15" in bench.text
        assert "Runs 1" in bench.text
        assert "Marks 0/12" in bench.text
        assert bench.lines[-1].startswith("? help")


@pytest.mark.parametrize("columns", mostly_proofs([80, 100, 120, 159, 160], [80, 159]))
async def test_a_question_about_a_tag_is_read_to_the_end_at_every_width(
    app: FramecallApp, review: Review, columns: int
) -> None:
    do(review, "run.begin", at=0)
    do(review, "due.in_order", at=100)
    async with on_bench(app, (columns, 30)) as bench:
        await bench.do("due.fault")
        panel = bench.screen.query_one("#message")
        lines = [panel.render_line(row).text.rstrip() for row in range(panel.size.height)]
        assert "takes the other back; Escape leaves all as it was." in " ".join(lines)


@pytest.mark.parametrize(
    "tiny",
    mostly_proofs([(1, 1), (30, 3), (37, 30), (60, 20), (80, 6), (300, 4)], [(1, 1), (37, 30)]),
)
async def test_a_terminal_made_tiny_and_large_again_shows_the_bench_as_before(
    app: FramecallApp, review: Review, tiny: tuple[int, int]
) -> None:
    do(review, "run.begin", at=0)
    async with on_bench(app, SMALL) as bench:
        before = bench.lines
        await bench.pilot.resize_terminal(*tiny)
        await bench.settle()
        lines = list(review.lines)
        await bench.press("g")
        assert review.lines == lines  # nothing can be judged in so small a picture
        await bench.pilot.resize_terminal(*SMALL)
        await bench.settle()
        await bench.press("semicolon", "semicolon", "semicolon", "left")
        assert bench.lines == before


async def test_in_a_terminal_that_is_too_small_no_frame_counts_and_nothing_is_tagged(
    app: FramecallApp, review: Review
) -> None:
    do(review, "run.begin", at=0)
    async with on_bench(app, SMALL) as bench:
        assert frames_seen(review) == [0]
        for size in ((79, 24), (80, 23), (200, 23), (79, 60)):
            await bench.pilot.resize_terminal(*size)
            await bench.settle()
            assert bench.message.startswith(f"{size[0]} by {size[1]} is too small to judge by")
            await bench.do("step.forward", "in_order.grip")
            assert "is too small to judge by" in bench.message
        assert review.frame == 4
        assert frames_seen(review) == [0]
        assert [entry.kind for entry in living(review)] == ["run-begun"]
        await bench.pilot.resize_terminal(*SMALL)
        await bench.settle()
        assert "too small" not in bench.message
        assert frames_seen(review) == [0, 4]
        await bench.do("in_order.grip")
    assert [entry.kind for entry in living(review)] == ["run-begun", "look"]


@pytest.mark.parametrize(("event", "size"), pairs(["3-3-3", "cycle", "3-6-3"], [LARGE, SMALL]))
async def test_what_is_due_is_asked_whole_in_the_narrowest_terminal_too(
    make_review: Callable[..., Review],
    source: PlainSource,
    keymap: Keymap,
    event: str,
    size: tuple[int, int],
) -> None:
    review = make_review(event)
    do(review, "run.begin", at=0)
    runs.fumble(review, runs.fumble_stacks(review)[-1], "up")
    runs.fumble(review, runs.fumble_stacks(review)[-1], "down")
    run = review.needed_run()
    async with on_bench(make_app(review, source, keymap), size) as bench:
        panel = bench.screen.query_one("#message")
        assert panel.size.height == 2
        for step in review.checked(run).ladder.checkpoints:
            review.chosen = step.id
            bench.screen.changed()
            await bench.settle()
            drawn = "".join(panel.render_line(y).text for y in range(panel.size.height))
            assert drawn.replace(" ", "") == due_text(review).replace(" ", "")


async def test_the_screen_can_be_drawn_anew(app: FramecallApp) -> None:
    async with on_bench(app) as bench:
        before = bench.lines
        await bench.press("ctrl+l")
        assert bench.lines == before


@pytest.fixture
def hostile_review(review: Review) -> Review:
    """A review whose file name, event title, claim and reviewer hold more than plain text."""
    head = header()
    head = head.model_copy(
        update={
            "footage": head.footage.model_copy(update={"name": HOSTILE}),
            "event": head.event.model_copy(update={"title": HOSTILE[:60]}),
            "reviewer": HOSTILE,
            "claim": head.claim.model_copy(update={"id": HOSTILE, "competitor": HOSTILE}),
        }
    )
    path = review.journal.path.with_name("hostile.session.jsonl")
    return Review(Journal.create(path, head, ticking()), lambda frame: frame, frame_at)


async def test_names_are_shown_as_text_and_never_obeyed(
    hostile_review: Review, source: PlainSource, keymap: Keymap
) -> None:
    async with on_bench(make_app(hostile_review, source, keymap), LARGE) as bench:
        await bench.do("ruling")
        assert "[bold red]x[/] [@click=app.quit]y[/] <U+001B>[31m<U+0007> <U+202E>gnp" in bench.text
        assert not unsafe(bench.text)
    hostile_review.journal.close()


async def test_a_reason_is_shown_as_text_and_never_obeyed(
    app: FramecallApp, review: Review
) -> None:
    run_in_order(review, 0)
    runs.read_display(review, "99.999")
    runs.accept_reading(review, HOSTILE)
    runs.add_note(review, HOSTILE)
    async with on_bench(app, LARGE) as bench:
        assert not unsafe(bench.text)
        await bench.do("ruling")
        await bench.press("pagedown")
        assert not unsafe(bench.text)


async def test_a_message_about_typed_text_never_obeys_it(app: FramecallApp, review: Review) -> None:
    async with on_bench(app, LARGE) as bench:
        bench.screen.changed(f'"{HOSTILE}" is no place.', error=True)
        await bench.settle()
        assert "[bold red]x[/]" in bench.message
        assert not unsafe(bench.text)
