"""Going to places: typed frames and times, tags, unseen footage, flips and leaps."""

from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sessions.errors import EntryRefused
from tests.tui.conftest import FRAMES, RATE, frame_at
from tests.tui.reviewing import do
from tui.bench.places import go_to_place, go_where_left, parse_place
from tui.bench.review import Review


def milliseconds(seconds: Fraction) -> int:
    """A stand-in for footage whose frame n is shown at n milliseconds, however long it is."""
    return int(seconds * 1000)


def no_code(text: str) -> int:
    """A stand-in for footage that has no time code."""
    raise EntryRefused(f"no frame has the time code {text}")


@given(frame=st.integers(0, 999_999_999), spaces=st.sampled_from(["", " ", "\t"]))
def test_a_whole_number_is_a_frame(frame: int, spaces: str) -> None:
    assert parse_place(f"{spaces}{frame}{spaces}", 7, milliseconds, no_code) == frame


@given(here=st.integers(0, 10**6), step=st.integers(-(10**6), 10**6))
def test_a_signed_number_is_a_step_from_here(here: int, step: int) -> None:
    assert parse_place(f"{step:+d}", here, milliseconds, no_code) == here + step


@given(thousandths=st.integers(0, 10**8), mark=st.sampled_from([".", ","]))
def test_seconds_with_an_s_are_a_time_exact_to_the_digit(thousandths: int, mark: str) -> None:
    typed = f"{thousandths // 1000}{mark}{thousandths % 1000:03d}s"
    assert parse_place(typed, 7, milliseconds, no_code) == thousandths


@given(minutes=st.integers(0, 500), thousandths=st.integers(0, 59_999))
def test_minutes_and_seconds_are_a_time(minutes: int, thousandths: int) -> None:
    typed = f"{minutes}:{thousandths // 1000:02d}.{thousandths % 1000:03d}"
    assert parse_place(typed, 7, milliseconds, no_code) == minutes * 60_000 + thousandths


@pytest.mark.parametrize("typed", ["00:00:03:12", " 0:0:3;12 "])
def test_a_time_code_is_told_from_a_time_as_it_is_read(typed: str) -> None:
    asked: list[str] = []

    def frame_of(code: str) -> int:
        asked.append(code)
        return 192

    assert parse_place(typed, 7, milliseconds, frame_of) == 192
    assert asked == [typed.strip()]


@given(text=st.text(max_size=12))
def test_anything_typed_is_a_frame_or_is_refused(text: str) -> None:
    try:
        place = parse_place(text, 7, milliseconds, no_code)
    except EntryRefused:
        place = 0
    assert isinstance(place, int)


@pytest.mark.parametrize(
    "typed", ["", "s", "1:", ":5", "1:2:3", "five", "1e3", "12 34", "+", "--2"]
)
def test_what_is_no_place_is_refused(typed: str) -> None:
    with pytest.raises(EntryRefused, match="is no place"):
        parse_place(typed, 7, milliseconds, no_code)


@pytest.mark.parametrize("form", ["{}", "+{}", "{}s", "{}:00", "0.{}"])
def test_a_number_of_any_length_is_a_place_or_is_refused(form: str) -> None:
    typed = form.format("1" * 5000)
    try:
        parse_place(typed, 7, milliseconds, no_code)
    except EntryRefused:
        return


@pytest.mark.parametrize("typed", [str(FRAMES), "99999", "-8", f"+{FRAMES - 7}"])
def test_a_frame_beyond_the_footage_is_refused(review: Review, typed: str) -> None:
    review.go(7)
    with pytest.raises(
        EntryRefused, match=rf"There is no frame .*: the frames are 0 to {FRAMES - 1}"
    ):
        go_to_place(review, typed)
    assert review.frame == 7


@pytest.mark.parametrize("typed", ["9.985s", "10s", "1:00", "99999:59.999"])
def test_a_time_beyond_the_footage_is_refused(review: Review, typed: str) -> None:
    with pytest.raises(EntryRefused, match=r"the last, 599, is at 0:09\.983"):
        go_to_place(review, typed)
    assert review.frame == 0


@pytest.mark.parametrize("typed", ["599", "+592", "9.983s", "0:09.9834"])
def test_the_last_frame_is_a_place(review: Review, typed: str) -> None:
    review.go(7)
    go_to_place(review, typed)
    assert review.frame in (FRAMES - 2, FRAMES - 1)


def test_going_on_begins_where_the_last_entry_that_holds_was_made(review: Review) -> None:
    do(review, "run.begin", at=30)
    do(review, "in_order.hands_off", at=60)
    do(review, "cup.seen", at=200)
    for at in (200, 60, 30):
        review.go(5)
        go_where_left(review)
        assert review.frame == at
        do(review, "undo")
    review.go(5)
    go_where_left(review)
    assert review.frame == 5  # nothing holds any more


def test_positions_are_held_within_the_footage(review: Review) -> None:
    for wanted, got in ((-1, 0), (0, 0), (FRAMES - 1, FRAMES - 1), (FRAMES, FRAMES - 1)):
        review.go(wanted)
        assert review.frame == got


@pytest.mark.parametrize(
    ("command", "frame"),
    [
        ("step.forward", 301),
        ("step.back", 299),
        ("leap.forward", 310),
        ("leap.back", 290),
        ("second.forward", 300 + RATE),
        ("second.back", 300 - RATE),
        ("footage.first", 0),
        ("footage.last", FRAMES - 1),
    ],
)
def test_moves_go_where_they_say(review: Review, command: str, frame: int) -> None:
    do(review, command, at=300)
    assert review.frame == frame


def test_a_second_is_a_frame_at_least_even_in_a_still(review: Review) -> None:
    review.frame_at = lambda seconds: 300
    do(review, "second.forward", at=300)
    assert review.frame == 301
    do(review, "second.back", at=300)
    assert review.frame == 299


def test_a_second_before_the_first_frame_is_the_first(review: Review) -> None:
    do(review, "second.back", at=10)
    assert review.frame == 0
    assert frame_at(Fraction(-1)) == 0


def test_a_flip_goes_back_a_frame_and_forth_again(review: Review) -> None:
    do(review, "flip", at=40)
    assert (review.frame, review.flip_base) == (39, 40)
    do(review, "flip")
    assert (review.frame, review.flip_base) == (40, None)


def test_tags_are_gone_to_one_by_one_in_the_order_of_the_footage(review: Review) -> None:
    do(review, "run.begin", at=5)
    do(review, "in_order.exact", at=90)
    do(review, "in_order.grip", at=30)
    do(review, "in_order.let_go", at=60)
    review.go(0)
    for frame in (30, 60, 90):
        do(review, "tag.next")
        assert review.frame == frame
    with pytest.raises(EntryRefused, match="no tag after"):
        do(review, "tag.next")
    assert review.frame == 90
    do(review, "tag.previous")
    assert review.frame == 60
    with pytest.raises(EntryRefused, match="no tag before"):
        do(review, "tag.previous", at=30)


def test_a_tag_taken_back_is_not_gone_to(review: Review) -> None:
    do(review, "run.begin", at=5)
    do(review, "in_order.grip", at=30)
    do(review, "retract")
    with pytest.raises(EntryRefused, match="no tag after"):
        do(review, "tag.next", at=0)


def test_the_next_unseen_stretch_is_ahead_and_then_from_the_beginning(review: Review) -> None:
    for frame in range(FRAMES):
        if frame not in (20, 21, 400):
            review.seen.show(frame)
    assert do(review, "unseen.next", at=20) == "3 frames are still unseen."
    assert review.frame == 21
    do(review, "unseen.next")
    assert review.frame == 400
    do(review, "unseen.next")
    assert review.frame == 20


def test_footage_seen_whole_has_nothing_unseen_to_go_to(review: Review) -> None:
    for frame in range(FRAMES):
        review.seen.show(frame)
    assert do(review, "unseen.next", at=20) == "All of the footage has been shown."
    assert review.frame == 20


@pytest.mark.parametrize(("typed", "frame"), [("00:00:03:12", 192), (" 0:0:3;12 ", 192)])
def test_a_time_code_is_a_place(review: Review, typed: str, frame: int) -> None:
    assert RATE == 60
    go_to_place(review, typed)
    assert review.frame == frame


@pytest.mark.parametrize("typed", ["00:00:10:00", "00:00:03:60", "99:00:00:00"])
def test_a_time_code_that_no_frame_has_is_refused(review: Review, typed: str) -> None:
    said = f"No frame has the time code {typed}: the last is 00:00:09:59."
    with pytest.raises(EntryRefused, match=said):
        go_to_place(review, typed)


def test_footage_without_a_steady_rate_has_no_time_code_to_go_to(
    review: Review, monkeypatch: pytest.MonkeyPatch
) -> None:
    facts = review.session.header.footage.model_copy(update={"nominal_rate": None})
    header = review.session.header.model_copy(update={"footage": facts})
    review.session = replace(review.session, header=header)
    with pytest.raises(EntryRefused, match="no time code"):
        go_to_place(review, "00:00:03:12")
