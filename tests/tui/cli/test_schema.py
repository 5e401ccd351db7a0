"""``framecall schema`` against what the program writes."""

import json
from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft202012Validator, ValidationError

from tests.tui.cli.conftest import Call
from tests.tui.reviewing import do, run_in_order
from tui.bench import runs
from tui.bench.review import Review

KINDS = {
    "run-begun", "run-ended", "sighted", "look", "reading", "fumble", "started-over", "cups",
    "reading-accepted", "other-fault", "not-shown", "attempts-before", "note", "shown",
    "retracted",
}  # fmt: skip


@pytest.fixture
def schema(framecall: Call) -> Draft202012Validator:
    result = framecall("schema")
    assert (result.code, result.err) == (0, "")
    said = json.loads(result.out)
    Draft202012Validator.check_schema(said)
    return Draft202012Validator(said)


@pytest.fixture
def everything(review: Review) -> Path:
    """A session with an entry of every kind."""
    review.seen.show(4)
    run_in_order(review, 0)
    runs.read_display(review, "9.999")
    runs.accept_reading(review, "a reason")
    do(review, "hand")
    do(review, "undo")
    do(review, "redo")
    review.run_id, _ = None, do(review, "run.begin", at=400)
    review.run_id = 2
    do(review, "cannot_tell.grip", at=410)
    runs.fumble(review, runs.fumble_stacks(review)[0], "up")
    do(review, "run.restart")
    do(review, "cup.cannot_tell")
    runs.other_fault(review, runs.other_rules(review)[0], "refuted", "")
    runs.not_shown(review, runs.lacks(review)[0], "a hand is in the way")
    runs.attempts_before(review, "1 on an earlier tape")
    runs.add_note(review, "a remark")
    return review.journal.path


def lines(path: Path) -> list[dict[str, Any]]:
    return [json.loads(line) for line in path.read_text().splitlines()]


def test_every_line_of_a_session_meets_the_schema(
    schema: Draft202012Validator, everything: Path
) -> None:
    header, *entries = lines(everything)
    assert {line["entry"]["kind"] for line in entries} == KINDS
    for line in (header, *entries):
        schema.validate(line)


@pytest.mark.parametrize(
    "change",
    [
        {"seq": 0},
        {"seq": "1"},
        {"prev": "abc"},
        {"extra": 1},
        {"entry": {"kind": "fly"}},
        {"entry": {"kind": "shown", "ranges": []}},
        {"entry": {"kind": "retracted", "seq": 0}},
    ],
)
def test_what_is_no_line_of_a_session_does_not(
    schema: Draft202012Validator, everything: Path, change: dict[str, Any]
) -> None:
    line = lines(everything)[1] | change
    with pytest.raises(ValidationError):
        schema.validate(line)
