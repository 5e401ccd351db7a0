"""``framecall schema`` against what the program writes."""

import json
from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft202012Validator, ValidationError

from tests.tui.cli.conftest import Call
from tests.tui.reviewing import do, run_in_order
from tui.review import runs
from tui.review.desk import Desk

KINDS = {
    "run-begun", "run-ended", "sighted", "look", "reading", "fumble", "started-over", "cups",
    "clock-settled", "note", "shown", "retracted",
}  # fmt: skip


@pytest.fixture
def schema(framecall: Call) -> Draft202012Validator:
    result = framecall("schema")
    assert (result.code, result.err) == (0, "")
    said = json.loads(result.out)
    Draft202012Validator.check_schema(said)
    return Draft202012Validator(said)


@pytest.fixture
def everything(desk: Desk) -> Path:
    """A session with an entry of every kind."""
    desk.seen.show(4)
    run_in_order(desk, 0)
    do(desk, "hand")
    do(desk, "undo")
    do(desk, "redo")
    desk.run_id, _ = None, do(desk, "run.begin", at=400)
    desk.run_id = 2
    do(desk, "unclear.grip", at=410)
    runs.fumble(desk, runs.fumble_stacks(desk)[0], "up")
    do(desk, "run.restart")
    do(desk, "cup.unclear")
    runs.settle_clock(desk, "a reason")
    runs.add_note(desk, "a remark")
    return desk.journal.path


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
