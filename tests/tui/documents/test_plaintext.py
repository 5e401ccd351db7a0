"""The plain text: the same words as the page, in short lines."""

import re

from tests.tui.documents.papers import (
    CLAIM,
    LEAGUE,
    SCRATCH,
    STANDS,
    PlainPictures,
    claimed,
    document,
    session,
    two_runs,
)
from tests.tui.documents.test_page import DIGEST, HOSTILE, SHOWN
from tui.documents.pages import Superseded
from tui.documents.render import WIDTH, text


def test_the_paragraphs_on_appeals_and_the_cautions_stand_apart() -> None:
    league = LEAGUE.model_copy(update={"appeal": "Write to us.\n\nName the\nframe."})
    paper, _ = document(claimed(*STANDS), league=league)
    appeal = text(paper).partition("How to appeal\n-------------\n")[2]
    first, second, prevails, handling = appeal.split("\n\n")[:4]
    assert (first, second) == ("Write to us.", "Name the frame.")
    assert prevails.startswith("This ruling is an aid")
    assert handling.startswith("Whoever handles this page: pass on no more personal data")


def unwrapped(words: str) -> str:
    return " ".join(words.split())


def test_the_text_says_what_was_ruled_seen_right_and_how_to_appeal() -> None:
    damaged = PlainPictures(flaws={8: "damaged: a test"})
    paper, _ = document(claimed(*SCRATCH), damaged, league=LEAGUE)
    told = unwrapped(text(paper))
    parts = [
        "Lantern Quay Stacking League",
        "Ruling 1 on claim C-17 =====",
        "SECONDS DOES NOT STAND.",
        "* Rule broken: No cup held at start [start.grip]",
        "Right: Keep thumbs and fingers off",
        "Frame 8, 0:00.267, time code 00:00:00;08 (DAMAGED FRAME, not to be trusted: damaged: a",
        "Start and stop of the clock",
        "How to appeal",
        "Exact figures for the record",
        "SHA-256 of the footage: " + "a1" * 32,
    ]
    places = [told.find(part) for part in parts]
    assert -1 not in places
    assert places == sorted(places)


def test_lines_are_short() -> None:
    paper, _ = document(claimed("over 1 at 100", before=two_runs(), run=1), league=LEAGUE)
    lines = text(paper).splitlines()
    assert max(map(len, lines)) <= WIDTH
    assert not [line for line in lines if line != line.rstrip()]


def test_hidden_characters_are_shown() -> None:
    claim = CLAIM.model_copy(update={"id": HOSTILE, "competitor": HOSTILE})
    paper, _ = document(
        session(*STANDS, claim=claim, reviewer=HOSTILE, name=HOSTILE),
        league=LEAGUE.model_copy(update={"name": HOSTILE, "address": (HOSTILE,)}),
    )
    told = text(paper)
    assert not re.search("[\x00-\x09\x0b-\x1f\u202a-\u202e\u2066-\u2069]", told)
    assert unwrapped(told).count("<U+202E><U+001B>[31m<U+0000><U+000A><U+2066>") >= 6
    assert SHOWN.split("{{")[0] in unwrapped(told)


def test_a_draft_says_so_at_both_ends() -> None:
    paper, _ = document(session("open 1 attempt at 0"), number=None)
    lines = text(paper).splitlines()
    assert "DRAFT" in lines[0]
    assert "DRAFT" in lines[-1]


def test_a_superseding_ruling_says_so_and_problems_are_told() -> None:
    paper, _ = document(
        session(*STANDS, "look 7 start.grip proven 5"),
        number=2,
        supersedes=Superseded(number=1, sha256=DIGEST, reason="A slip."),
    )
    told = unwrapped(text(paper))
    assert "takes the place of ruling 1, which no longer holds. The reason: A slip." in told
    assert "Problem: line" in told


def test_an_attempt_used_up_is_told() -> None:
    paper, _ = document(session(*STANDS, "over 1 at 100"))
    assert "Attempt 2 was used up in run 1" in unwrapped(text(paper))


def test_frames_without_time_code_do_without() -> None:
    paper, _ = document(session(*STANDS, nominal_rate=None))
    assert "time code" not in text(paper).split("Exact figures")[0]
    assert "Frame rate by the time stamps: not steady" in text(paper)
