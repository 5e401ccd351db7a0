"""Dialogs: ask for a line, choose from a list, read a page."""

from collections.abc import Callable

import pytest
from textual.events import Paste
from textual.widgets import Input, OptionList

from sessions.record.entries import Fumble, Note, Reading, ReadingAccepted
from tests.proofs import mostly_proofs, pairs
from tests.tui.benching import LARGE, SMALL, Bench, on_bench
from tests.tui.reviewing import do, living, run_in_order
from tui.app import REPEATED, FramecallApp
from tui.bench.review import Review
from tui.widgets.dialogs import AskScreen, ChooseScreen, PageScreen


@pytest.fixture
def opened(review: Review) -> Review:
    do(review, "run.begin", at=0)
    return review


@pytest.mark.parametrize("size", mostly_proofs([SMALL, LARGE], [LARGE]))
async def test_a_place_is_typed_and_gone_to(
    app: FramecallApp, review: Review, size: tuple[int, int]
) -> None:
    async with on_bench(app, size) as bench:
        for typed, frame in (("412", 412), ("-12", 400), ("0:02", 120), ("1.5s", 90)):
            await bench.press("j")
            assert isinstance(app.screen, AskScreen)
            assert "Go to" in bench.text
            await bench.answer(typed)
            assert review.frame == frame
            assert bench.line("where").startswith(f"frame {frame}/599")


REFUSED = [
    ("j", "nowhere", '"nowhere" is no place'),
    ("j", "99999", "There is no frame 99999: the frames are 0 to 599."),
    ("j", "1:00", "There is no frame at 1:00.000"),
    ("0", "1,8x", '"1,8x" is not a time in seconds'),
    ("0", "٦.٤٨٢", "is not a time in seconds"),
    ("N", " ", "Type 1 to 2000 characters."),
]
"""What is typed after a key and refused, and what is said then."""


@pytest.mark.parametrize(("refused", "size"), pairs(REFUSED, [SMALL, LARGE]))
async def test_a_line_that_is_refused_stays_and_what_is_typed_next_is_no_command(
    app: FramecallApp, opened: Review, refused: tuple[str, str, str], size: tuple[int, int]
) -> None:
    key, typed, said = refused
    opened.go(7)
    before = living(opened)
    async with on_bench(app, size) as bench:
        await bench.press(key)
        await bench.answer(typed)
        assert isinstance(app.screen, AskScreen)
        assert said in " ".join(bench.text.split())
        assert app.screen.query_one(Input).value == typed
        for command in ("n", "right", "(", "enter"):
            bench.hold(command, 3)
        await bench.settle()
        await bench.press("escape")
        assert bench.is_clear
    rest = [entry for entry in living(opened) if not isinstance(entry, Note | ReadingAccepted)]
    assert rest == before
    assert opened.frame == 7


async def test_a_line_that_was_refused_can_be_put_right(app: FramecallApp, opened: Review) -> None:
    async with on_bench(app) as bench:
        await bench.press("0")
        await bench.answer("1,8x")
        for key in ("left", "backspace", "2", "delete", "enter"):
            bench.hold(key, 1)  # at once, as a slow line brings them
        await bench.settle()
        assert bench.is_clear
        assert bench.message.startswith("Run 1 reads 1.2 s.")
    assert living(opened)[-1] == Reading(run=1, display="1.2", at=opened.spot(0))


@pytest.mark.parametrize("enters", [1, 2, 5])
async def test_enter_pressed_too_often_takes_a_line_once_and_tags_nothing(
    app: FramecallApp, opened: Review, enters: int
) -> None:
    async with on_bench(app) as bench:
        for key in ("0", *"1,82"):
            bench.hold(key, 1)
        bench.hold("enter", enters)
        await bench.settle()
        assert bench.is_clear
        assert (bench.message == REPEATED) == (enters > 1)
    assert [entry.kind for entry in living(opened)] == ["run-begun", "reading"]


@pytest.mark.parametrize(
    ("key", "typed", "said"),
    [
        ("0", "6.482", "Run 1 reads 6.482 s."),
        ("N", "hello", "Noted."),
    ],
)
async def test_what_came_of_an_answer_is_said(
    app: FramecallApp, opened: Review, key: str, typed: str, said: str
) -> None:
    async with on_bench(app) as bench:
        await bench.press(key)
        await bench.answer(typed)
        await bench.settle()
        assert bench.message.startswith(said)


async def test_all_lines_of_what_is_pasted_are_taken(app: FramecallApp, review: Review) -> None:
    async with on_bench(app) as bench:
        await bench.press("N")
        app.post_message(Paste("the thumb\r\nis on the cup\n"))
        await bench.settle()
        await bench.answer(" at last")
    (note,) = [entry for entry in living(review) if isinstance(entry, Note)]
    assert note.text == "the thumb is on the cup at last"


async def test_a_reading_is_typed_with_its_run_named(app: FramecallApp, opened: Review) -> None:
    async with on_bench(app) as bench:
        await bench.press("right", "0")
        assert "What does the display read after run 1?" in bench.text
        await bench.answer("6,482")
        assert living(opened)[-1] == Reading(run=1, display="6.482", at=opened.spot(1))
        assert "6.482" in bench.text


async def test_a_note_is_typed_at_the_frame_on_the_screen(
    app: FramecallApp, review: Review
) -> None:
    async with on_bench(app) as bench:
        await bench.press("right", "right", "N")
        assert "Note at frame 2" in bench.text
        await bench.answer("the light flickers")
    assert living(review) == [Note(text="the light flickers", at=review.spot(2))]


async def test_a_reading_is_accepted_with_a_reason(app: FramecallApp, review: Review) -> None:
    run_in_order(review, 0)
    async with on_bench(app) as bench:
        await bench.press("J")
        assert "there is nothing to accept" in bench.text
        review.write(Reading(run=1, display="99", at=review.spot(review.frame)))
        for line in review.session.live:
            if isinstance(line.entry, Reading) and line.entry.display != "99":
                review.retract([line])
        await bench.press("J")
        assert "Why do you accept 99 s in run 1" in bench.text
        await bench.answer("misread")
    assert living(review)[-1] == ReadingAccepted(run=1, display="99", reason="misread")


@pytest.mark.parametrize("key", ["j", "0", "N", "7", "slash"])
async def test_a_dialog_left_by_escape_changes_nothing(
    app: FramecallApp, opened: Review, key: str
) -> None:
    before = living(opened)
    async with on_bench(app) as bench:
        await bench.press(key)
        assert isinstance(app.screen, AskScreen | ChooseScreen)
        await bench.press("1", "escape")
        assert bench.is_clear
    assert living(opened) == before
    assert opened.frame == 0
    assert opened.chosen is None


@pytest.mark.parametrize("key", ["0", "J", "7", "8", "slash"])
async def test_what_needs_a_run_is_refused_before_anything_is_asked(
    app: FramecallApp, review: Review, key: str
) -> None:
    async with on_bench(app) as bench:
        await bench.press(key)
        assert bench.is_clear
        assert bench.message.startswith("There is no run yet")
    assert living(review) == []


@pytest.mark.parametrize(("key", "phase"), [("7", "up"), ("8", "down")])
async def test_a_fumble_is_chosen_from_the_stacks_beginning_at_the_likely_one(
    app: FramecallApp, opened: Review, key: str, phase: str
) -> None:
    while opened.checkpoint is not None and opened.checkpoint.id != "f1.s2.let-go":
        do(opened, "due.in_order", at=opened.frame + 10)
    async with on_bench(app) as bench:
        await bench.press(key)
        options = app.screen.query_one("#options", OptionList)
        assert options.option_count == 3
        assert options.highlighted == 1
        await bench.press("down", "enter")
    fumble = living(opened)[-1]
    assert isinstance(fumble, Fumble)
    assert (fumble.stack, fumble.phase, fumble.at) == ("f1.s3", phase, opened.spot(opened.frame))


@pytest.mark.parametrize("size", mostly_proofs([SMALL, LARGE], [SMALL]))
async def test_a_step_is_chosen_from_the_list_and_tagged(
    app: FramecallApp, opened: Review, size: tuple[int, int]
) -> None:
    async with on_bench(app, size) as bench:
        await bench.press("slash", "down", "down", "enter")
        steps = opened.checked(opened.needed_run()).ladder.checkpoints
        assert opened.chosen == steps[2].id
        await bench.press("slash")
        assert app.screen.query_one("#options", OptionList).highlighted == 2
        await bench.press("escape")


@pytest.mark.parametrize("leave", ["escape", "q", "enter"])
async def test_a_page_is_left_by_any_way_out(app: FramecallApp, leave: str) -> None:
    async with on_bench(app) as bench:
        await bench.press("question_mark")
        assert isinstance(app.screen, PageScreen)
        await bench.press(leave)
        assert bench.is_clear


def shows_all(bench: Bench, words: set[str]) -> Callable[[], bool]:
    """Whether all these words have been on the screen, looked at again and again."""

    def look() -> bool:
        words.difference_update([word for word in words if word in bench.text])
        return not words

    return look


@pytest.mark.parametrize("size", mostly_proofs([SMALL, LARGE], [SMALL]))
async def test_the_help_shows_every_key_as_it_is_scrolled(
    app: FramecallApp, size: tuple[int, int]
) -> None:
    async with on_bench(app, size) as bench:
        await bench.do("help")
        assert "Keys (QWERTY)" in bench.text
        look = shows_all(bench, {"Step forward", "Hands off", "Mark seen", "Accept the reading"})
        for _ in range(12):
            if look():
                break
            await bench.press("pagedown")
            await bench.pilot.pause(0.25)
        assert look()


async def test_the_ruling_so_far_is_a_page(app: FramecallApp, opened: Review) -> None:
    do(opened, "fault.grip", at=20)
    async with on_bench(app, LARGE) as bench:
        await bench.do("ruling")
        assert "Run 1: SCRATCH" in bench.text
        assert "FAULT [start.grip] No cup held at start" in bench.text


async def test_while_a_dialog_is_open_keys_do_not_tag(app: FramecallApp, opened: Review) -> None:
    before = living(opened)
    async with on_bench(app) as bench:
        await bench.press("question_mark", "g", "right", "left_parenthesis", "delete")
        assert opened.frame == 0
    assert living(opened) == before


async def test_typing_into_a_dialog_does_not_tag(app: FramecallApp, opened: Review) -> None:
    async with on_bench(app) as bench:
        await bench.press("N")
        await bench.answer("gsG(")
    assert living(opened)[1:] == [Note(run=1, text="gsG(", at=opened.spot(0))]


@pytest.mark.parametrize("enters", [1, 2, 5])
async def test_what_is_typed_before_the_dialog_has_opened_is_taken_once(
    app: FramecallApp, review: Review, enters: int
) -> None:
    async with on_bench(app) as bench:
        for key in ("j", *"412"):
            bench.hold(key, 1)
        bench.hold("enter", enters)
        await bench.until(lambda: review.frame == 412)
        await bench.settle()
        assert bench.is_clear  # and neither is the bench itself left
        assert app.is_running


@pytest.mark.parametrize("key", ["j", "7", "slash", "question_mark"])
async def test_a_dialog_is_left_once_however_often_it_is_told_to(
    app: FramecallApp, opened: Review, key: str
) -> None:
    async with on_bench(app) as bench:
        await bench.press(key)
        assert not bench.is_clear
        bench.hold("escape", 3)
        await bench.settle()
        assert bench.is_clear
        assert opened.frame == 0
    assert [entry.kind for entry in living(opened)] == ["run-begun"]


async def test_the_list_of_steps_shows_what_is_tagged_and_where(
    app: FramecallApp, opened: Review
) -> None:
    do(opened, "in_order.hands_off", at=20)
    do(opened, "fault.still", at=15)
    async with on_bench(app) as bench:
        await bench.press("slash")
        text = " ".join(bench.text.split())
        assert "│ ✓ Hands off (first hand) (19,20]" in text
        assert "│ ✗ No cup moves at start 15" in text
        assert "│ ▸ Hands flat at start" in text


async def test_typing_narrows_the_list_of_steps(app: FramecallApp, opened: Review) -> None:
    async with on_bench(app) as bench:
        for key in ("slash", *"cups fr"):
            bench.hold(key, 1)  # faster than the dialog opens
        await bench.settle()
        options = app.screen.query_one("#options", OptionList)
        assert options.option_count == 1
        await bench.press("z")
        assert options.option_count == 0
        await bench.press("enter")
        assert not bench.is_clear
        await bench.press("backspace", "enter")
    assert opened.chosen == "stop.free"


@pytest.mark.parametrize("typed", ["1,82", "x"])
async def test_what_is_typed_after_enter_is_not_for_the_line(
    app: FramecallApp, opened: Review, typed: str
) -> None:
    async with on_bench(app) as bench:
        await bench.press("0")
        for key in (*typed, "enter", "6"):
            bench.hold(key, 1)  # in one burst, as a slow line brings them
        await bench.until(lambda: bench.is_clear == (typed != "x"))
        await bench.settle()
        if bench.is_clear:
            await bench.until(lambda: "cups" in [entry.kind for entry in living(opened)])
            assert living(opened)[1] == Reading(run=1, display="1.82", at=opened.spot(0))
        else:
            await bench.until(lambda: bench.app.screen.query_one(Input).value == "x6")
            assert "cups" not in [entry.kind for entry in living(opened)]


async def test_what_is_typed_after_a_choice_does_not_narrow_it(
    app: FramecallApp, opened: Review
) -> None:
    async with on_bench(app) as bench:
        await bench.press("7")
        for key in ("enter", "3"):
            bench.hold(key, 1)
        await bench.until(lambda: bench.is_clear)
        await bench.settle()
        assert "fumble" in [entry.kind for entry in living(opened)]
