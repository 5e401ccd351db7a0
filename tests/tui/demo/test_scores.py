"""The scores that come with the program: valid, complete, and ruled as their words say."""

from datetime import UTC, datetime

import pytest
from pydantic import ValidationError

from sessions.record.entries import Line
from sessions.record.header import Claim, FootageFacts, Header
from sessions.record.session import fold
from sessions.rules.events import load_event
from sessions.ruling.judge import rule
from sessions.ruling.ruling import RuledRun, Ruling
from tests.tui.demo.filming import score
from tui.demo.performance import perform
from tui.demo.score import FIRST, RunScore, scores
from tui.demo.tagging import true_entries
from tui.demo.truth import Truth, witness

NAMES = tuple(scores())


def ruling_of(truth: Truth) -> Ruling:
    """The ruling of a reviewer who tags the whole truth."""
    made = datetime(2026, 1, 1, tzinfo=UTC)
    facts = FootageFacts(
        name=truth.clip,
        size_bytes=1,
        sha256="0" * 64,
        frames=truth.frames,
        time_base=f"1/{truth.rate}",
        first_pts=0,
    )
    claim = Claim(competitor=truth.score.competitor, time=truth.score.claimed)
    event = load_event(truth.score.event)
    header = Header(
        made=made, program="test", footage=facts, event=event, claim=claim, reviewer="r"
    )
    entries = enumerate(true_entries(truth, lambda frame: frame), 1)
    lines = [Line(seq=n, at=made, prev="0" * 64, entry=entry) for n, entry in entries]
    return rule(fold(header, lines))


def claimed(name: str) -> tuple[Truth, RuledRun]:
    truth = witness(perform(scores()[name]))
    number = truth.score.claimed_run
    return truth, next(run for run in ruling_of(truth).runs if run.run == number)


@pytest.mark.parametrize("name", NAMES)
def test_the_claimed_time_is_what_the_display_shows(name: str) -> None:
    truth = witness(perform(scores()[name]))
    assert truth.runs[truth.score.claimed_run - 1].display == truth.score.claimed


@pytest.mark.parametrize("name", NAMES)
def test_the_truth_is_ruled_as_the_score_expects(name: str) -> None:
    truth, run = claimed(name)
    assert run.standing == truth.score.outcome
    doubted = {finding.rule for finding in run.findings if finding.outcome != "proven"}
    if truth.score.rule in (None, "cup.mark") or name == "hands-on-two-stacks-cured":
        assert not doubted
    else:
        assert truth.score.rule in doubted


@pytest.mark.parametrize("name", NAMES)
def test_every_other_claim_has_a_run_that_stands_unless_all_are_void(name: str) -> None:
    truth, _ = claimed(name)
    standing = [run.standing for run in ruling_of(truth).runs if run.sort == "attempt"]
    assert ("stands" in standing) != (truth.score.outcome == "void")


@pytest.mark.parametrize("name", NAMES)
def test_every_tape_has_a_warm_up_and_two_timed_runs(name: str) -> None:
    sorts = [run.sort for run in scores()[name].runs]
    assert sorts[0] == "warm-up"
    assert sorts.count("attempt") >= 2


def test_the_clip_that_opens_first_is_the_soonest_drawn_and_stands() -> None:
    shortest = min(scores().values(), key=lambda score: perform(score).frames)
    assert perform(scores()[FIRST]).frames == perform(shortest).frames
    assert scores()[FIRST].outcome == "stands"


def test_a_cup_moves_two_frames_before_the_hand_is_off() -> None:
    moments = witness(perform(scores()["contact-at-start"])).runs[1].moments
    assert moments["start:left"].by - moments["start.move"].by == 2


def test_what_is_too_close_to_call_falls_between_the_same_two_frames() -> None:
    moments = witness(perform(scores()["too-close-to-call"])).runs[1].moments
    off, moved = moments["start:left"], moments["start.move"]
    assert (off.after, off.by) == (moved.after, moved.by)
    assert off.seconds != moved.seconds


def test_the_run_after_starting_over_counts_two_numbers_on() -> None:
    runs = witness(perform(scores()["starting-over"])).runs
    assert [run.attempt for run in runs] == [None, None, 1, 3, 4]
    assert min(runs, key=lambda run: run.display) is runs[-1]


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"claimed_run": 2}, "run 2 is claimed, but there are 1"),
        ({"competitor": "a name"}, "competitor"),
        ({"mood": "good"}, "mood"),
        ({"runs": [{"start_phase": "3/8"}]}, "less than 3/8 of a frame"),
        ({"runs": [{"slowness": "slow"}]}, "slowness"),
    ],
)
def test_a_score_that_cannot_be_is_refused(change: dict[str, object], words: str) -> None:
    with pytest.raises(ValidationError, match=words):
        score(RunScore(), **change)
