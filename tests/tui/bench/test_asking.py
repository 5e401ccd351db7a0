"""Tags that exclude each other are asked about: which is right is seen at both frames."""

from functools import partial

import pytest

from sessions.errors import EntryRefused
from sessions.record.entries import Look
from sessions.rules.ladder import Kind
from tests.proofs import mostly_proofs
from tests.tui.benching import LARGE, SMALL, Bench, on_bench
from tests.tui.reviewing import do, living
from tui.app import FramecallApp
from tui.bench.commands import REVIEW_HANDLERS
from tui.bench.contradictions import Answer, Asking, TagsContradict
from tui.bench.review import Review
from tui.bench.runs import fumble, fumble_stacks

QUESTION = Asking("in_order.let_go", 30, 45, "Which is right?")


@pytest.mark.parametrize(
    ("command", "frame", "answer"),
    [
        ("in_order.let_go", 30, Answer.WRITE),
        ("in_order.let_go", 31, Answer.ANEW),
        ("flip", 30, Answer.LOOK),
        ("flip", 45, Answer.LOOK),
        ("step.forward", 30, Answer.GO_ON),
        ("lens.enlarge", 30, Answer.GO_ON),
        ("help", 30, Answer.GO_ON),
        ("due.in_order", 30, Answer.WAIT),
        ("undo", 30, Answer.WAIT),
        ("run.end", 30, Answer.WAIT),
    ],
)
def test_a_command_means_something_to_the_question(
    command: str, frame: int, answer: Answer
) -> None:
    assert QUESTION.answer(command, frame) is answer


def test_looking_goes_to_the_other_frame_and_comes_back() -> None:
    assert QUESTION.looks_at(30) == 45
    assert QUESTION.looks_at(45) == 30
    assert QUESTION.looks_at(37) == 45


@pytest.fixture
def late_first(opened: Review) -> Review:
    """The first stack let go of at 145, of the second at 130: one of them is wrong."""
    do(opened, "in_order.let_go", at=145)
    return opened


def tells(words: str, bench: Bench) -> bool:
    """Whether the whole question is on the screen, however it is folded."""
    return words in " ".join(bench.text.split())


def refused(review: Review) -> TagsContradict:
    with pytest.raises(TagsContradict) as caught:
        do(review, "in_order.let_go", at=130)
    return caught.value


def test_the_second_stack_let_go_of_before_the_first_rose_is_asked_about(
    late_first: Review,
) -> None:
    before = living(late_first)
    found = refused(late_first)
    assert str(found).startswith(
        '"Let go: 1st 3" at frame 145 and "Let go: the 6" at frame 130 cannot both be true: '
    )
    assert "a stack rises before it is let go of" in str(found)
    assert found.other == 145
    assert living(late_first) == before


def test_the_question_names_the_keys(late_first: Review) -> None:
    words = refused(late_first).question("in_order.let_go", lambda command: f"<{command}>")
    assert "<flip> shows frame 145 and comes back" in words
    assert "<in_order.let_go> again writes this tag and takes the other back" in words
    assert "Escape leaves all as it was" in words


def test_overruling_writes_the_tag_and_the_other_is_due_again(late_first: Review) -> None:
    refused(late_first)
    late_first.overruling(lambda: REVIEW_HANDLERS["in_order.let_go"](late_first))
    looks = [entry for entry in living(late_first) if isinstance(entry, Look)]
    assert [(look.checkpoint, look.by.frame) for look in looks] == [("f1.s2.let-go", 130)]
    due = late_first.due_checkpoint(Kind.LET_GO)
    assert due is not None
    assert due.id == "f1.s1.let-go"


def test_several_tags_give_way_to_one(opened: Review) -> None:
    for frame in (145, 150, 155):
        do(opened, "in_order.let_go", at=frame)
    opened.chosen = "f1.completed"
    opened.go(100)
    with pytest.raises(TagsContradict):
        REVIEW_HANDLERS["in_order.formation"](opened)
    opened.chosen = "f1.completed"
    opened.overruling(lambda: REVIEW_HANDLERS["in_order.formation"](opened))
    checked = opened.checked(opened.needed_run())
    assert checked.clashes == ()
    assert checked.brackets.conflicts == frozenset()
    looks = [entry for entry in living(opened) if isinstance(entry, Look)]
    assert ("f1.completed", 100) in {(look.checkpoint, look.by.frame) for look in looks}


def test_nothing_is_overruled_by_the_next_tag(late_first: Review) -> None:
    refused(late_first)
    late_first.overruling(lambda: None)
    refused(late_first)


def test_a_fall_does_not_give_way_to_a_tag(opened: Review) -> None:
    opened.go(150)
    fumble(opened, fumble_stacks(opened)[0], "up")
    with pytest.raises(EntryRefused, match="a stack falls before it is put right") as caught:
        do(opened, "in_order.repaired", at=140)
    assert not isinstance(caught.value, TagsContradict)


# -- on the screen


@pytest.mark.parametrize("size", mostly_proofs([SMALL, LARGE], [SMALL]))
async def test_a_question_stands_until_it_is_answered_by_the_same_key(
    app: FramecallApp, late_first: Review, size: tuple[int, int]
) -> None:
    async with on_bench(app, size) as bench:
        late_first.go(130)
        await bench.press("right", "left", "l")
        await bench.until(partial(tells, "Escape leaves all as it was", bench))
        await bench.press("right", "i")
        await bench.until(partial(tells, "Escape leaves all as it was", bench))
        assert late_first.frame == 131
        await bench.press("left", "z")
        assert late_first.frame == 145
        await bench.press("z")
        assert late_first.frame == 130
        await bench.press("l")
        assert bench.message.startswith("Let go: the 6: in order at frame 130.")
    looks = [entry for entry in living(late_first) if isinstance(entry, Look)]
    assert [(look.checkpoint, look.by.frame) for look in looks] == [("f1.s2.let-go", 130)]


async def test_escape_leaves_all_as_it_was(app: FramecallApp, late_first: Review) -> None:
    before = living(late_first)
    async with on_bench(app, SMALL) as bench:
        late_first.go(130)
        await bench.press("right", "left", "l", "z")
        await bench.press("escape")
        assert bench.message == "All is as it was."
        assert late_first.frame == 130
        await bench.press("l")
        await bench.until(partial(tells, "Escape leaves all as it was", bench))
    assert living(late_first) == before
