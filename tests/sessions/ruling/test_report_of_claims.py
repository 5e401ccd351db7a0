"""What is said of the claimed time before all else."""

import pytest

from sessions.record.entries import Reading
from sessions.rules.events import Display, EventDefinition, load_event
from sessions.ruling.judge import rule
from sessions.ruling.report import verdict_words
from sessions.ruling.ruling import Standing
from tests.sessions.samples import cups_and_frames, faultless_run, header
from tests.sessions.tags import session_from

FALLEN = "look 1 f1.s2.let-go refuted 60"
UNCLEAR = "look 1 f1.order unproven 95 99"


CUPS_BUT_ONE = ("cups 1 2 3 4 5 6 7 8 proven at 0", "shown 0 999")


def words(time: str | None, *tags: str, bare: bool = False) -> str:
    """The verdict on a claimed time; ``bare`` of cups and frames shown."""
    head = header("3-3-3")
    head = head.model_copy(update={"claim": head.claim.model_copy(update={"time": time})})
    before = [] if bare else list(cups_and_frames(head))
    return verdict_words(rule(session_from(head, tags, *before)))


def test_a_claimed_time_that_stands_is_named_with_its_run() -> None:
    assert words("4.004", "clean 1 at 0") == (
        "The claimed time of 4.004 s stands: run 1, attempt 1. "
        "It is the best on this footage that stands."
    )


def test_a_doubt_is_said_with_it() -> None:
    said = words("4.004", "clean 1 at 0", UNCLEAR)
    assert said.startswith("The claimed time of 4.004 s stands: run 1, attempt 1; a doubt is noted")


def test_of_two_runs_that_read_it_the_one_without_a_doubt_upholds_it() -> None:
    said = words("4.004", "clean 1 at 0", UNCLEAR, "clean 2 at 300")
    assert said.startswith("The claimed time of 4.004 s stands: run 2, attempt 2. ")


def test_a_doubt_about_a_cup_is_one_too() -> None:
    said = words("4.004", "clean 1 at 0", *CUPS_BUT_ONE, "cups 9 unproven at 9", bare=True)
    assert "; a doubt is noted." in said


def test_a_mark_that_never_showed_voids_the_claim() -> None:
    said = words("4.004", "clean 1 at 0", *CUPS_BUT_ONE, "cups 9 refuted at 9", bare=True)
    assert said.startswith("The claimed time of 4.004 s does not stand: run 1, attempt 1 is void.")


def test_a_scratch_comes_before_what_stands_instead() -> None:
    said = words("4.004", "clean 1 at 0", FALLEN, "clean 2 at 300")
    assert said == (
        "The claimed time of 4.004 s stands: run 2, attempt 2. "
        "It is the best on this footage that stands."
    )
    assert words("4.004", "clean 1 at 0", FALLEN) == (
        "The claimed time of 4.004 s does not stand: run 1, attempt 1 is a scratch. "
        "No time on this footage stands."
    )


def test_a_time_that_no_run_reads_does_not_stand() -> None:
    assert words("1.234", "clean 1 at 0") == (
        "The claimed time of 1.234 s does not stand: no run on this footage reads it. "
        "The best on this footage that stands is 4.004 s: run 1, attempt 1."
    )


def test_a_time_that_no_run_reads_is_open_while_footage_was_never_watched() -> None:
    cups = "cups 1 2 3 4 5 6 7 8 9 proven at 0"
    said = words("1.234", "clean 1 at 0", cups, "shown 0 399", "shown 500 998", bare=True)
    assert said == (
        "Open: 100 of 1000 frames were never watched (frames 400-499); so far 4.004 s stands: run "
        "1, attempt 1."
    )
    last = words("1.234", "clean 1 at 0", cups, "shown 0 998", bare=True)
    assert "1.234 s does not stand: no run on this footage reads it." in last
    assert words("4.004", "clean 1 at 0", cups, "shown 0 399", bare=True).startswith("The claimed")


def test_a_run_that_counts_as_nothing_upholds_no_claim() -> None:
    fallen = ("clean 2 at 300", "look 2 f1.s2.let-go refuted 360")
    said = words("4.004", "clean 1 at 0 as warm-up", *fallen)
    assert "does not stand: run 1 does not count; run 2, attempt 1 is a scratch." in said


def test_without_a_claimed_time_or_while_it_is_open_the_summary_is_told() -> None:
    assert words(None, "clean 1 at 0") == "4.004 s stands: run 1, attempt 1."
    assert words("4.004", "clean 1 at 0", "drop 1 exact").startswith("Open: run 1 must be")


def test_a_time_that_stands_is_ruled_though_what_follows_its_run_is_unwatched() -> None:
    cups = "cups 1 2 3 4 5 6 7 8 9 proven at 0"
    assert words("4.004", "clean 1 at 0", cups, "shown 0 399", bare=True) == (
        "The claimed time of 4.004 s stands: run 1, attempt 1. What else the footage shows is "
        "open: 600 of 1000 frames were never watched (frames 400-999)."
    )


def test_a_scratch_or_a_warm_up_ends_no_claim_while_another_run_may_read_the_time() -> None:
    cups = "cups 1 2 3 4 5 6 7 8 9 proven at 0"
    left = "Open: 599 of 1000 frames were never watched (frames 401-999); so far "
    fallen = words("4.004", "clean 1 at 0", FALLEN, cups, "shown 0 400", bare=True)
    assert fallen == f"{left}no run stands."
    warm_up = ("clean 1 at 0 as warm-up", "clean 2 at 200", "look 2 f1.s2.let-go refuted 260")
    assert words("4.004", *warm_up, cups, "shown 0 400", bare=True) == f"{left}no run stands."


def test_an_accepted_contradiction_is_a_doubt() -> None:
    tags = ("clean 1 at 0", "reading 1 9.000 at 160")
    settled = ["settled 1 the timer ran slow"]
    head = header("3-3-3", claim="9.000")
    run = [e for e in faultless_run(head.event) if not isinstance(e, Reading)]
    found = rule(session_from(head, [tags[1], *settled], *cups_and_frames(head), *run))
    assert "stands: run 1, attempt 1; a doubt is noted." in verdict_words(found)
    assert found.summary == "9.000 s stands: run 1, attempt 1, with 1 doubt noted."


LACKS_STOP = ("open 1 attempt at 0", "lacks 1 stop 900 999 the footage ends in the run")


def test_a_run_of_which_the_footage_does_not_show_an_end_is_not_proven() -> None:
    said = words("4.004", *LACKS_STOP, "close 1 at 999")
    assert said == (
        "The claimed time of 4.004 s is not proven: the footage does not show the stop of the "
        "clock of run 1, attempt 1. No time on this footage stands."
    )


def test_a_fault_is_a_scratch_though_the_footage_lacks_something_as_well() -> None:
    said = words("4.004", *LACKS_STOP, "close 1 at 999", "look 1 start.flat refuted 5")
    assert "does not stand: no run on this footage reads it." in said


def test_what_none_of_the_footage_shows_ends_a_claim_of_which_no_run_reads_the_time() -> None:
    said = words("4.004", "lacks - table 0 999 the table stands behind a pillar", "done")
    assert said == (
        "The claimed time of 4.004 s is not proven: the footage does not show a part of the table. "
        "No time on this footage stands."
    )


def test_footage_watched_without_an_attempt_has_no_such_attempt_once_that_is_said() -> None:
    assert words("4.004", "clean 1 at 0 as warm-up") == "Open: no timed run has been begun yet."
    for tags in ((), ("clean 1 at 0 as warm-up",)):
        said = words("1.234", *tags, "done")
        assert said.startswith("The claimed time of 1.234 s does not stand: no attempt is on this")
    assert words("4.004", "done", "shown 0 9", bare=True).startswith("Open: 990 of 1000 frames")


@pytest.mark.parametrize(
    ("claimed", "said"),
    [
        ("4.004", "stands: run 1, attempt 1; a doubt is noted."),
        ("4.040", "does not stand: no run on this footage reads it."),
    ],
)
def test_the_picture_carries_a_time_where_the_event_file_lets_it(claimed: str, said: str) -> None:
    """The clean run lasts between 3.970633 and 4.037367 s by the picture."""
    tags = ["lacks 1 display 131 160 the sun is in the display"]
    for unreadable in ("not proven", "time by the picture"):
        head = header(shown_by(unreadable), claim=claimed)
        run = [e for e in faultless_run(head.event) if not isinstance(e, Reading)]
        found = rule(session_from(head, tags, *cups_and_frames(head), *run))
        carried = unreadable == "time by the picture"
        assert found.runs[0].standing is (Standing.STANDS if carried else Standing.NOT_PROVEN)
        if carried:
            assert said in verdict_words(found)
        elif claimed == "4.004":
            assert "is not proven: the footage does not show the display" in verdict_words(found)


def shown_by(unreadable: str) -> EventDefinition:
    event = load_event("3-3-3")
    return event.model_copy(update={"display": Display.model_validate({"unreadable": unreadable})})
