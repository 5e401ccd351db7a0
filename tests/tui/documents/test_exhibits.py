"""Which frames are shown for a finding, and what is said of each."""

import pytest

from sessions.ruling.judge import rule
from tests.sessions.samples import cups_and_frames, header
from tests.sessions.tags import session_from
from tests.tui.documents.papers import claimed, exhibits, session, two_runs
from tui.documents.exhibits import subjects, told_runs
from tui.documents.pages import Exhibit

# start is sighted in (9, 10] and stop in (170, 171] of a faultless 3-3-3


def shown(*tags: str) -> dict[str, tuple[int, int]]:
    return {e.name: frames(e) for e in exhibits(rule(session(*tags)))}


def frames(exhibit: Exhibit) -> tuple[int, int]:
    first, last = exhibit.shots
    return first.place.frame, last.place.frame


def test_a_faultless_run_shows_where_its_clock_starts_and_stops() -> None:
    assert list(shown("clean 1 at 0")) == ["run-1.clock.1", "run-1.clock.2"]


def test_a_run_that_the_document_is_not_about_shows_nothing_that_is_in_order() -> None:
    assert {e.run for e in exhibits(rule(claimed(run=1, before=two_runs())))} == {1}


def test_a_broken_rule_is_shown_by_the_frame_that_decides_after_the_one_before_it() -> None:
    assert shown("clean 1 at 0", "look 1 start.grip refuted 8")["run-1.start.grip.1"] == (7, 8)


def test_a_fault_in_the_first_frame_is_shown_with_the_second() -> None:
    assert shown("clean 1 at 0", "look 1 start.grip refuted 0")["run-1.start.grip.1"] == (0, 1)


def test_a_bracket_with_both_ends_is_shown_by_its_ends() -> None:
    seen = shown("clean 1 at 0", "look 1 start.grip unproven 8 12")
    assert seen["run-1.start.grip.1"] == (8, 12)


def test_two_brackets_with_the_same_ends_are_shown_once() -> None:
    seen = shown("clean 1 at 0", "look 1 start.grip unproven 9 10")
    assert [name for name in seen if "grip" in name] == ["run-1.start.grip.1"]


def test_a_fault_shows_both_the_deed_and_what_it_came_too_early_for() -> None:
    seen = shown("clean 1 at 0", "look 1 start.grip refuted 5")
    assert [pair for name, pair in seen.items() if "grip" in name] == [(4, 5), (9, 40)]


def test_a_checkpoint_looked_at_from_one_side_shows_that_side() -> None:
    tags = ("open 1 attempt at 0", "sighted 1 start.grip 3 4")
    assert shown(*tags)["run-1.start.grip.1"] == (3, 4)


def test_what_nobody_looked_at_and_what_contradicts_itself_show_nothing() -> None:
    assert shown("open 1 attempt at 0") == {}
    tags = ("clean 1 at 0", "also look 1 start.grip refuted 15")
    assert not [name for name in shown(*tags) if "grip" in name]


def test_footage_of_one_frame_has_no_two_to_show() -> None:
    ruling = rule(session("open 1 attempt at 0", "look 1 start.grip refuted 0", frames=1))
    assert exhibits(ruling) == ()


def test_each_frame_says_what_was_and_was_not_yet_seen_in_it() -> None:
    ruling = rule(session("clean 1 at 0", "look 1 start.grip refuted 8"))
    grip = next(e for e in exhibits(ruling) if e.checkpoint == "start.grip")
    assert grip.shots[0].says == ("a hand is still on the pad",)
    assert grip.shots[1].says == ("a finger is on a cup", "a hand is still on the pad")
    assert grip.moment == "No cup held at start"


def test_a_column_that_is_not_closed_is_never_said_to_be() -> None:
    """It closes after the next stack rises: each frame says what is so and what is not yet."""
    tags = ("clean 1 at 0", "look 1 f2.column refuted 230")
    ruling = rule(session_from(header("cycle"), tags, *cups_and_frames(header("cycle"))))
    pair = next(e for e in exhibits(ruling) if e.checkpoint == "f2.column")
    assert pair.moment == "Column before 6-6"
    assert [shot.says for shot in pair.shots] == [
        ("the last stack of 3-6-3 is not a closed column yet",),
        ("1st 6 has risen", "the last stack of 3-6-3 is not a closed column yet"),
    ]


def test_a_fault_of_another_rule_is_said_in_the_rules_words() -> None:
    ruling = rule(session("clean 1 at 0", "other 1 mat.cups refuted 69 70"))
    pair = next(e for e in exhibits(ruling) if e.checkpoint == "other.mat.cups")
    words = "a cup stood or lay beside the mat before the clock stopped"
    assert [shot.says for shot in pair.shots] == [(f"not yet: {words}",), (f"already so: {words}",)]


FALLEN = ("clean 1 at 0", "fumble 1 x1 f1.s1 up at 50", "look 1 x1.repaired proven 70",
          "look 1 x1.let-go proven 72", "look 1 x1.one-stack refuted 60")  # fmt: skip


def test_what_cured_a_fault_is_shown_after_the_fault() -> None:
    seen = shown(*FALLEN, "sighted 1 x1.cured 99 100", "also look 1 x1.cured proven 101")
    assert [pair for name, pair in seen.items() if "one-stack" in name][-1] == (99, 100)


def test_a_cure_seen_in_one_frame_is_shown_with_the_one_before_it() -> None:
    seen = shown(*FALLEN, "look 1 x1.cured proven 101")
    assert [pair for name, pair in seen.items() if "one-stack" in name][-1] == (100, 101)


def test_an_attempt_that_starting_over_spent_is_shown() -> None:
    assert shown("clean 1 at 0", "over 1 at 60")["run-1.over.2"] == (59, 60)


def test_a_run_beyond_the_allowance_shows_the_runs_that_used_it_up() -> None:
    tags = ("clean 1 at 0", "over 1 at 60", "clean 2 at 200", "clean 3 at 400")
    seen = shown(*tags)
    assert (seen["run-3.number.1"], seen["run-3.number.3"]) == ((9, 10), (209, 210))
    assert "run-3.number.2" not in seen


def test_start_and_stop_say_nothing_of_each_other() -> None:
    start, stop = exhibits(rule(session("clean 1 at 0")))
    assert (start.moment, stop.moment) == ("the clock starts", "the clock stops")
    assert [shot.says for shot in stop.shots] == [
        ("the clock has not stopped yet",),
        ("the clock has stopped",),
    ]


def test_frames_left_out_between_two_are_counted() -> None:
    ruling = rule(session("clean 1 at 0", "look 1 start.grip unproven 6 12"))
    grip = next(e for e in exhibits(ruling) if e.checkpoint == "start.grip")
    assert grip.between == 5


def test_places_carry_time_stamp_time_and_time_code() -> None:
    start, _ = exhibits(rule(session("clean 1 at 0")))
    place = start.shots[1].place
    # frame 10 at 30000/1001 a second: 10 * 1001 / 30000 = 0.33367 s, by hand
    assert (place.frame, place.pts, place.time, place.timecode) == (
        10, 3003 + 10 * 1001, "0:00.334", "00:00:00;10",
    )  # fmt: skip


@pytest.mark.parametrize("sort", ["warm-up", "rearranging"])
def test_runs_that_do_not_count_are_not_told(sort: str) -> None:
    ruling = rule(session(f"clean 1 at 0 as {sort}", "clean 2 at 300"))
    assert [run.run for run in told_runs(ruling)] == [2]


def test_the_claimed_run_is_told_first_and_else_the_best() -> None:
    slower = rule(claimed(run=1, before=two_runs()))
    assert ([r.run for r in subjects(slower)], [r.run for r in told_runs(slower)]) == ([1], [1, 2])
    unclaimed = rule(session(before=two_runs()))
    assert [run.run for run in subjects(unclaimed)] == [2]
    assert [run.run for run in told_runs(unclaimed)] == [2, 1]
