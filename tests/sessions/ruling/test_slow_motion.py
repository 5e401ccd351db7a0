"""Slow motion: times are those of life, by the file's word or the reviewer's.

The truth is plain arithmetic (no source needed): at R frames a second taken and r shown, what the
stamps call T seconds lasted T x r / R.
"""

from fractions import Fraction

import pytest
from pydantic import ValidationError

from sessions.record.entries import CaptureRate, Entry, Reading, Retracted
from sessions.record.header import FootageFacts, Header
from sessions.record.session import Session, fold
from sessions.ruling.judge import JudgedRuns, rule
from sessions.ruling.report import report
from tests.sessions.samples import as_lines, header, standing_session

SHOWN = Fraction(30000, 1001)
EIGHT = "240000/1001"


def faultless() -> list[Entry]:
    return standing_session(header())


def told_by_file(rate: str | None) -> Header:
    facts = header().footage.model_copy(update={"capture_rate": rate})
    return header().model_copy(update={"footage": facts})


def session(*more: Entry, rate: str | None = None) -> Session:
    return fold(told_by_file(rate), as_lines([*faultless(), *more]))


def bounds(judged: Session) -> tuple[Fraction, Fraction]:
    by_picture = rule(judged).runs[0].by_picture
    assert by_picture is not None
    return Fraction(by_picture[0]), Fraction(by_picture[1])


def said(rate: str) -> CaptureRate:
    return CaptureRate(rate=rate, source="by the camera's settings")


@pytest.mark.parametrize("judged", [session(rate=EIGHT), session(said(EIGHT))])
def test_a_run_is_timed_by_the_rate_at_which_it_was_taken(judged: Session) -> None:
    plain = bounds(session())
    slowed = bounds(judged)
    for shown, lived in zip(plain, slowed, strict=True):
        assert abs(shown / 8 - lived) <= Fraction(1, 10**6)


def test_the_reviewer_counts_before_the_file_and_may_say_that_nothing_is_slowed() -> None:
    assert bounds(session(said(str(SHOWN)), rate=EIGHT)) == bounds(session())
    words = session(said(str(SHOWN)), rate=EIGHT).timed_header.footage.slowed_words
    assert "divided by 1" in words


def test_the_display_is_held_against_the_time_of_life() -> None:
    low, high = bounds(session(rate=EIGHT))
    true = f"{float((low + high) / 2):.3f}"
    others = [entry for entry in faultless() if not isinstance(entry, Reading)]
    at = next(entry.at for entry in faultless() if isinstance(entry, Reading))

    def standing(rate: str | None) -> str:
        read = [*others, Reading(run=1, display=true, at=at)]
        return rule(fold(told_by_file(rate), as_lines(read))).runs[0].standing.value

    assert standing(EIGHT) == "stands"
    assert standing(None) == "open"  # by the stamps alone the display would be eight times wrong


def test_the_ruling_says_by_whom_and_by_how_much() -> None:
    by_file, by_person = report(rule(session(rate=EIGHT))), report(rule(session(said(EIGHT))))
    assert "as the file says: times are the stamps' divided by 8" in by_file
    assert "as the reviewer says (by the camera's settings)" in by_person
    assert "Slow motion" not in report(rule(session()))


def test_taking_it_back_tells_times_as_before() -> None:
    judged = JudgedRuns()
    lines = as_lines([*faultless(), said(EIGHT), Retracted(seq=len(faultless()) + 1)])
    slow, back = fold(told_by_file(None), lines[:-1]), fold(told_by_file(None), lines)
    assert judged.rule(slow).runs[0].by_picture != judged.rule(back).runs[0].by_picture
    assert judged.rule(back).runs[0].by_picture == rule(session()).runs[0].by_picture


def test_no_time_is_told_by_two_rates_or_without_a_steady_one() -> None:
    two = session(said("240"), said("120"))
    assert "told differently (120, 240 frames a second)" in two.timed_header.footage.time_doubt
    facts = header().footage.model_copy(update={"nominal_rate": None})
    unsteady = header().model_copy(update={"footage": facts})
    none = fold(unsteady, as_lines([*faultless(), said("240")]))
    assert "not shown at a steady rate" in none.timed_header.footage.time_doubt
    for doubted in (two, none):
        assert rule(doubted).runs[0].by_picture is None


def test_two_of_one_rate_agree() -> None:
    assert bounds(session(said(EIGHT), said(EIGHT))) == bounds(session(rate=EIGHT))


@pytest.mark.parametrize("rate", ["0", "-30", "1/0", "24x", ""])
def test_a_rate_that_is_none_is_refused(rate: str) -> None:
    with pytest.raises(ValidationError):
        CaptureRate(rate=rate, source="x")
    with pytest.raises(ValidationError):
        FootageFacts.model_validate({**header().footage.model_dump(), "capture_rate": rate})


def test_a_header_holds_no_word_of_a_reviewer() -> None:
    facts = {**header().footage.model_dump(), "said_rate": "240"}
    with pytest.raises(ValidationError, match="is an entry"):
        Header.model_validate({**header().model_dump(), "footage": facts})


def test_what_matters_of_the_footage_is_told_in_the_ruling() -> None:
    found = {"nominal_rate": None, "joints": (500,), "gaps": 2, "time_doubt": "pictures are lost"}
    facts = header().footage.model_copy(update=found)
    told = report(rule(fold(header().model_copy(update={"footage": facts}), ())))
    for words in ("not come at a steady rate", "frame 500", "2 gaps", "pictures are lost"):
        assert words in told
    assert "One frame is 33.4 ms" in report(rule(fold(header(), ())))
