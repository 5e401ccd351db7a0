"""A ruling as plain text."""

from sessions.evidence.frames import FrameSet
from sessions.record.entries import SettledReview, Settling, Shown
from sessions.ruling.judge import rule
from sessions.ruling.report import bracket_words, place_words, report
from sessions.ruling.ruling import Bracket, Place
from tests.sessions.samples import cups_and_frames, header
from tests.sessions.tags import session_from

FALLEN = "look 1 f1.s2.let-go refuted 60"


def text(*tags: str, bare: bool = False, **claim: str) -> str:
    head = header("3-3-3")
    head = head.model_copy(update={"claim": head.claim.model_copy(update=claim)})
    before = [] if bare else list(cups_and_frames(head))
    return report(rule(session_from(head, tags, *before)))


def test_a_run_that_stands_is_reported_in_full() -> None:
    assert text("clean 1 at 0") == (
        "RULING: 4.004 s stands: run 1, attempt 1.\n"
        "Event: 3-3-3   Reviewer: reviewer-1\n"
        f"Footage: invented.mp4, 1000 frames, SHA-256 {'a1' * 32}\n"
        "  One frame is 33.4 ms: two things closer than that cannot be told apart.\n"
        "\n"
        "Run 1: STANDS, 4.004 s\n"
        "  timed run 1 counts as attempt 1; from frame 0 (0:00.000) to frame 160 (0:05.339).\n"
        "  By the picture it lasted between 3.970633 and 4.037367 s (u = 0.013622 s).\n"
        "  15 of 15 checks are in order.\n"
        "\n"
        "Maker's marks: 9 of 9 cups cleared.\n"
        "Frames shown to the reviewer: 1000 of 1000.\n"
        "Watched: all of it.\n"
        "\n"
        "This ruling is an aid to the officer; the league's own rules and appeal procedure"
        " prevail.\n"
        "Claimants may be children: pass on no more personal data than the claim needs.\n"
    )


def test_a_fault_is_reported_with_its_rule_its_frames_and_what_would_be_right() -> None:
    assert (
        "  - FAULT [build.let-go] Let go: 2nd 3: the next stack was begun while a hand was still on"
        " the one before.\n"
        "      both hands are clear of 2nd 3: not yet in frame 60 (0:02.002)\n"
        "      3rd 3 rises: seen by frame 60 (0:02.002)\n"
        "      Right: take both hands clear of a stack before building the next.\n"
    ) in text("clean 1 at 0", FALLEN)


def test_what_is_open_is_named_without_frames() -> None:
    words = text("clean 1 at 0", "drop 1 exact")
    assert words.startswith("NOT YET RULED: Open: run 1 must be looked at")
    assert "  - open [sequence.exact] Nothing added: not checked yet.\n\n" in words


def test_doubts_and_contradictions_are_named() -> None:
    words = text("clean 1 at 0", "look 1 f1.order unproven 95 99", "close 1 at 170")
    assert "  - not proven [down.order] 3-3-3 down in order: the footage cannot tell" in words
    assert (
        "  - contradiction [record.complete] Record of the run: the record contradicts itself"
        in words
    )


def test_a_fault_that_was_cured_is_told_with_the_frames_of_both() -> None:
    fallen = ("clean 1 at 0", "fumble 1 x1 f1.s1 up at 50", "look 1 x1.repaired proven 70",
              "look 1 x1.let-go proven 72", "look 1 x1.one-stack refuted 60")  # fmt: skip
    said = text(*fallen, "look 1 x1.cured proven 101")
    told = said[said.index("in order [fumble.one-stack]") :].splitlines()[:6]
    assert "cured before the clock stopped" in told[0]
    assert told[3].strip().startswith("1st 3 is down and built again, the other stack untouched")
    assert "seen by frame 101" in told[3]
    assert told[4].strip().startswith("the clock stops: not yet in frame 129")
    assert "Right" not in told[5]


def test_damaged_frames_are_told_and_those_that_findings_rest_on() -> None:
    head = header("3-3-3")
    ruling = rule(session_from(head, ("clean 1 at 0",), *cups_and_frames(head)))
    said = report(ruling, FrameSet.of([(8, 10), (500, 501)]))
    assert "Not to be trusted: 5 of 1000 frames are damaged (frames 8-10, 500-501).\n" in said
    assert "Findings rest on damaged frames 9, 10: look at them again.\n" in said
    elsewhere = report(ruling, FrameSet.of([(500, 500)]))
    assert "1 of 1000 frames is damaged (frame 500)" in elsewhere
    assert "Findings rest" not in elsewhere
    assert report(ruling, FrameSet()) == report(ruling)


def test_a_run_that_counts_as_nothing_has_no_checks_listed() -> None:
    words = text("clean 1 at 0", "open 2 rearranging at 300")
    assert "Run 2: UNCOUNTED\n  rearranging: counts as nothing; from frame 300 (0:10.010) " in words
    assert words.count("checks are in order") == 1
    assert "still open." in words


def test_an_attempt_spent_by_starting_over_is_reported() -> None:
    words = text("clean 1 at 0", "over 1 at 30")
    assert "Attempt 2: SCRATCH [count.starting-over] by run 1, frame 30 (0:01.001)\n" in words
    assert "  Right: repair the stack instead; starting over costs the next attempt.\n" in words


def test_a_settled_ruling_names_who_looked_and_who_settled() -> None:
    head = header("3-3-3")
    reviews = [SettledReview(reviewer=name, sha256="0" * 64) for name in ("R2", "R1")]
    settling = Settling(reviews=tuple(reviews))
    ruling = rule(session_from(head, ["clean 1 at 0"], settling, *cups_and_frames(head)))
    told = report(ruling)
    assert "Event: 3-3-3   Reviewers: R1 and R2   Settled by: reviewer-1\n" in told
    assert "Frames shown to the reviewers together: 1000 of 1000.\n" in told


def test_the_claim_is_reported_with_the_run_that_reads_it() -> None:
    words = text("clean 1 at 0", id="C-7", competitor="K-3", time="4.004")
    assert "Claim: claim C-7, competitor K-3, claimed time 4.004 s\n" in words
    assert "The claimed time is read in run 1 (stands).\n" in words
    assert words.startswith("RULING: The claimed time of 4.004 s stands: run 1, attempt 1. It is")
    other = text("clean 1 at 0", time="1.234")
    assert "Claim: claimed time 1.234 s\nNo run on this footage reads the claimed time.\n" in other
    assert "claimed time" not in text("clean 1 at 0", id="C-7")


def test_runs_that_were_faster_but_fell_are_named_beside_the_best() -> None:
    words = text("clean 1 at 0", FALLEN, "clean 2 at 200")
    assert "As fast or faster, but not standing: run 1 (reasons below).\n" in words


def test_cups_that_are_not_cleared_are_reported() -> None:
    words = text("clean 1 at 0", "cups 1 proven at 3", "cups 2 unproven at 4", bare=True)
    assert "Maker's marks: 1 of 9 cups cleared.\n" in words
    assert (
        "  - not proven [cup.mark] cup 2: the footage cannot show its mark, frame 4 "
        "(0:00.133).\n" in words
    )
    assert "  - open [cup.mark] cup 3: its mark was not looked for.\n" in words
    assert "Frames shown to the reviewer: 0 of 1000.\n" in words


def test_problems_of_the_record_are_reported() -> None:
    words = text("clean 1 at 0", "look 2 exact proven 300")
    assert "speaks of a run that was never begun.\n" in words


def test_text_from_outside_cannot_hide_or_turn_the_words() -> None:
    words = text("clean 1 at 0", "look 1 off\u202e\x1b[31m proven 9", competitor="K\n3")
    assert "competitor K<U+000A>3" in words
    assert "\x1b" not in words
    assert "\u202e" not in words


def test_places_and_brackets_have_words() -> None:
    assert place_words(Place(frame=412, time="0:06.867")) == "frame 412 (0:06.867)"
    assert place_words(Place(frame=412)) == "frame 412"
    bracket = Bracket(moment="a cup moves", after=Place(frame=9), by=Place(frame=10))
    assert bracket_words(bracket) == "a cup moves: not yet in frame 9, seen by frame 10"
    assert bracket_words(Bracket(moment="a cup moves")) == "a cup moves: not sighted"


def test_what_the_footage_does_not_show_is_reported_with_what_would_have_shown_it() -> None:
    words = text("open 1 attempt at 0", "lacks 1 stop 80 120 the table is hidden", "close 1 at 120")
    assert "- not shown: " in words
    assert "frame 80 (0:02.669) to frame 120 (0:04.004): the table is hidden.\n" in words
    assert "    Needed: " in words


def test_a_cup_whose_mark_never_appeared_says_what_would_have_been_right() -> None:
    head = header("3-3-3")
    watched = [entry for entry in cups_and_frames(head) if isinstance(entry, Shown)]
    tags = ("clean 1 at 0", "cups 1 refuted at 3", *(f"cups {n} proven at 3" for n in range(2, 10)))
    words = report(rule(session_from(head, tags, *watched)))
    assert "[cup.mark] cup 1" in words
    assert "      Right: " in words
