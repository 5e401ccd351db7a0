"""What is said of the claimed time before all else."""

from sessions.ruling.claimed import verdict_words
from sessions.ruling.judge import rule
from tests.sessions.samples import cups_and_frames, header
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


def test_a_time_that_no_run_reads_is_open_while_footage_was_never_shown() -> None:
    cups = "cups 1 2 3 4 5 6 7 8 9 proven at 0"
    said = words("1.234", "clean 1 at 0", cups, "shown 0 399", "shown 500 998", bare=True)
    assert said == (
        "Open: no run reads the claimed time, but 101 of 1000 frames were never shown "
        "(frames 400-499, 999)."
    )
    last = words("1.234", "clean 1 at 0", cups, "shown 0 998", bare=True)
    assert "1 of 1000 frames was never shown (frame 999)." in last
    assert words("4.004", "clean 1 at 0", cups, "shown 0 399", bare=True).startswith("The claimed")


def test_a_run_that_counts_as_nothing_upholds_no_claim() -> None:
    fallen = ("clean 2 at 300", "look 2 f1.s2.let-go refuted 360")
    said = words("4.004", "clean 1 at 0 as warm-up", *fallen)
    assert "does not stand: run 1 does not count; run 2, attempt 1 is a scratch." in said


def test_without_a_claimed_time_or_while_it_is_open_the_summary_is_told() -> None:
    assert words(None, "clean 1 at 0") == "4.004 s stands: run 1, attempt 1."
    assert words("4.004", "clean 1 at 0", "drop 1 exact").startswith("Open: run 1 must be")
