"""Plain words for a claimant: each case of a ruling says what it is."""

import re

import pytest

from sessions.record.session import Session
from sessions.rules.ladder import Statement, build_ladder
from sessions.rules.rulebook import PICTURE
from sessions.ruling.judge import rule
from tests.sessions.samples import faultless_run
from tests.sessions.tags import session_from
from tests.tui.documents.papers import (
    CLAIM,
    DOUBT,
    LEAGUE,
    SCRATCH,
    STANDS,
    claimed,
    document,
    head,
    session,
    two_runs,
)
from tui.documents import words
from tui.documents.exhibits import told_runs
from tui.documents.render import text


def told(a_session: Session) -> str:
    ruling = rule(a_session)
    return " ".join((words.headline(ruling), *words.reasons(ruling)))


def test_a_claimed_time_that_stands() -> None:
    text = told(claimed(*STANDS))
    assert "stands. It was made in attempt 1, and no rule is shown to be broken in it." in text
    assert "scratch" not in text


def test_a_claimed_time_that_is_a_scratch_says_why_and_what_stands_instead() -> None:
    text = told(claimed(*SCRATCH))
    assert "does not stand. It was made in attempt 1, which is a scratch: a thumb or finger" in text
    assert "No time on this footage stands." in text
    assert words.SCRATCH in text


def test_another_time_that_stands_is_named_with_its_attempt() -> None:
    text = told(claimed("look 1 start.grip refuted 8", run=1, before=two_runs()))
    assert "does not stand" in text
    assert "The best time on this footage that stands is" in text
    assert "made in attempt 2" in text


def test_a_doubt_is_explained_as_no_fault() -> None:
    text = told(claimed(*DOUBT))
    assert " seconds stands; a doubt is noted. It was made in attempt 1, and no rule" in text
    assert words.DOUBT in text


def test_a_time_that_no_run_reads() -> None:
    text = told(session(*STANDS, claim=CLAIM.model_copy(update={"time": "1.000"})))
    assert "does not stand. No run on this footage shows that time on the clock." in text
    assert "The best time on this footage that stands is" in text


def test_without_a_claimed_time_the_best_is_told() -> None:
    assert "stands is" in told(session(*STANDS))
    assert "It was made in attempt 1." in told(session(*STANDS))
    assert told(session(*SCRATCH)).startswith("No time on this footage stands.")


def test_a_time_of_a_run_that_does_not_count() -> None:
    tags = ("clean 1 at 0 as warm-up", "clean 2 at 300", "look 2 start.grip refuted 305")
    text = told(claimed(*tags, run=1))
    assert "It was made in a run that does not count (warm-up)." in text


def test_a_mark_that_never_showed_voids_and_names_the_cup() -> None:
    time = rule(session(*STANDS)).best_time
    first = head(CLAIM.model_copy(update={"time": time}))
    tags = (*STANDS, "cups 1 2 3 4 5 6 7 8 proven at 0", "cups 9 refuted at 9", "shown 0 999")
    void = session_from(first, tags)
    assert "The maker's mark was never seen on cup 9 in all of the footage" in told(void)
    cups = words.cup_words(rule(void))
    assert cups[0] == "The maker's mark was seen on 8 of 9 cups."
    assert cups[1] == "Cup 9: rule broken, its mark never appeared."
    assert cups[2].startswith("Next time: use cups that bear")


def test_an_open_ruling_rules_nothing() -> None:
    text = told(session("open 1 attempt at 0"))
    assert text.startswith("Nothing is ruled yet. Open: run 1 must be looked at")


def test_every_finding_not_in_order_is_told_worst_first() -> None:
    tags = (*SCRATCH, "look 1 start.still unproven 9 10")
    paper, _ = document(claimed(*tags))
    (run,) = words.stories(paper)
    assert [seen.verdict for seen in run.seen] == ["Rule broken", "Not proven"]
    assert run.heading.endswith("scratch")
    assert re.match(
        r"\d+ of (\d+) checks \(\d+ checkpoints of the ladder, the clock against the picture and "
        r"the count of attempts\) were in order",
        run.told[1],
    )
    fault = run.seen[0]
    assert fault.right.startswith("Keep thumbs and fingers off")
    assert "See frames 7 and 8, 0:00.234 and 0:00.267 after" in fault.where


def test_the_checks_are_those_of_the_ladder_and_two_more() -> None:
    """As many as the event's own ladder asks: both counts of a document are counts of that."""
    paper, _ = document(claimed(*STANDS))
    (run,) = told_runs(paper.ruling)
    asked = len([c for c in build_ladder(paper.event).checkpoints if isinstance(c, Statement)])
    assert words.what_is_checked(run).startswith(f"{asked} checkpoints of the ladder, ")
    assert len(run.findings) == asked + 2


@pytest.mark.parametrize("reason", ["", "the display was hit"])
def test_that_display_and_picture_part_is_not_told_as_a_rule_that_was_broken(reason: str) -> None:
    settled = [f"settled 1 {reason}"] if reason else []
    run = tuple(faultless_run(head().event, display="9.999"))
    paper, _ = document(claimed(*settled, before=run))
    (seen,) = (seen for story in words.stories(paper) for seen in story.seen)
    assert (seen.rule, seen.verdict, seen.right) == (PICTURE, "These do not agree", "")
    because = f": accepted: {reason}" if reason else ""
    assert seen.story.endswith(f"is wrong{because}. The competitor broke no rule by that.")
    assert "Right:" not in text(paper)


def test_a_wide_bracket_says_how_many_frames_lie_between() -> None:
    paper, _ = document(claimed("clean 1 at 0", "look 1 start.grip unproven 6 12"))
    (run,) = words.stories(paper)
    assert "See frames 6 and 12, with 5 between them" in run.seen[0].where


def test_an_attempt_that_was_used_up_is_told() -> None:
    ruling = rule(session(*STANDS, "over 1 at 100"))
    (spent,) = ruling.spent
    assert words.spent_words(spent).startswith(
        "Attempt 2 was used up in run 1 at frame 100, 0:03.337 after"
    )


@pytest.mark.parametrize(
    ("number", "claim", "expected"),
    [
        (2, CLAIM, "Ruling 2 on claim C-17"),
        (None, CLAIM, "Draft of a ruling on claim C-17"),
        (1, CLAIM.model_copy(update={"id": None}), "Ruling 1 on a claimed time"),
    ],
)
def test_the_title_names_ruling_and_claim(number, claim, expected) -> None:  # type: ignore[no-untyped-def]
    paper, _ = document(session(*STANDS, claim=claim), number=number)
    assert words.title(paper) == expected


def test_how_to_appeal_is_in_the_leagues_words_where_there_are_any() -> None:
    paper, _ = document(session(*STANDS), league=LEAGUE)
    assert words.appeal(paper) == ("Write to us.", "Within fourteen days.")
    paper, _ = document(session(*STANDS))
    assert "Write to the league" in words.appeal(paper)[0]


LACKS_STOP = (
    "open 1 attempt at 0", "lacks 1 stop 900 999 the footage ends in the run", "close 1 at 999",
)  # fmt: skip


def test_a_claim_that_is_not_proven_says_what_footage_would_have_been_needed() -> None:
    a_session = session(*LACKS_STOP, claim=CLAIM.model_copy(update={"time": "4.004"}))
    text_ = told(a_session)
    assert " seconds is not proven: no record, and no scratch. It may have been made in" in text_
    assert "The footage does not show the stop of the clock (frames 900 to 999)" in text_
    assert "What would have been needed: footage that goes on until the clock has stopped" in text_
    paper, _ = document(a_session)
    (story,) = words.stories(paper)
    assert story.heading == "Attempt 1: not proven"
    assert not story.seen, "what was not looked at is not told as still to be looked at"
    assert "as far as the footage shows them." in story.told[-1]
    assert "A scratch is" not in text_


def test_gaps_what_was_not_watched_and_earlier_attempts_are_in_plain_words() -> None:
    paper, _ = document(claimed("before 1 the results list", *STANDS))
    ruling = paper.ruling.model_copy(
        update={
            "footage": paper.ruling.footage.model_copy(update={"gaps": 2}),
            "never_shown": "1 of 9 frames was never shown (frame 3)",
        }
    )
    told_of = words.footage_words(paper.model_copy(update={"ruling": ruling}))
    assert told_of[0].startswith("The footage has 2 gaps in its time")
    assert told_of[1].startswith("1 of 9 frames was never shown (frame 3). Each stretch is too")
    assert told_of[2] == "1 attempt was used before this footage begins: the results list."
    printed = text(paper.model_copy(update={"ruling": ruling}))
    assert "The footage\n  The footage has 2 gaps in its time" in printed


def test_each_rule_is_told_with_its_source() -> None:
    paper, _ = document(claimed(*SCRATCH))
    (fault, *_) = (seen for story in words.stories(paper) for seen in story.seen)
    assert (fault.rule, fault.source) == ("start.grip", "common practice, no written source")
    assert "Source of the rule: common practice, no written source." in text(paper)
