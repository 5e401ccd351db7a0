"""What is wrong with data, in words for people who do not program."""

from typing import Any

import pytest
from pydantic import BaseModel, ValidationError, field_validator

from sessions.record.entries import Finished, Line, Note, Played, Shown
from sessions.record.header import Claim, FootageFacts, Header
from sessions.rules.events import Clock, EventDefinition, load_event
from sessions.validation import Frozen, first_problem

EVENT = load_event("cycle").model_dump()


def problem(model: type[BaseModel], data: Any) -> str:
    with pytest.raises(ValidationError) as caught:
        model.model_validate(data)
    return first_problem(caught.value)


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"formations": "3-6-3"}, "formations: should be a list, in square brackets"),
        ({"formations": [1]}, "formations.0: should be a text"),
        ({"name": 3}, "name: should be a text"),
        ({"cups": "a dozen"}, "cups: should be a whole number"),
        ({"clock": "touch pad"}, "clock: should be a table of named entries"),
        ({"nane": "B"}, "nane: is not an entry that is known here"),
    ],
)
def test_an_event_file_is_told_in_plain_words(changes: dict[str, Any], said: str) -> None:
    assert problem(EventDefinition, EVENT | changes) == said


@pytest.mark.parametrize(
    ("model", "data", "said"),
    [
        (EventDefinition, {}, "format: is missing"),
        (EventDefinition, [], "the whole: should be a table of named entries"),
        (Claim, {"id": ""}, "id: should have at least 1 character"),
        (Claim, {"id": "x" * 81}, "id: should have at most 80 characters"),
        (Clock, {"starts": "foot"}, "starts: should be 'first hand' or 'last hand'"),
        (Shown, {"ranges": [[0]]}, "ranges.0.1: is missing"),
        (Shown, {"ranges": [["x", 1]]}, "ranges.0.0: should be a whole number"),
        (Shown, {"ranges": [[0.5, 1]]}, "ranges.0.0: should be a whole number"),
        (Shown, {"ranges": [[-1, 1]]}, "ranges.0.0: should be 0 or more"),
        (Shown, {"ranges": [[2, 1]]}, "ranges: a range ends before it begins"),
        (Shown, {"ranges": []}, "ranges: should have at least 1 in its list, and has 0"),
        (Note, {"at": 7}, "text: is missing"),
        (
            Played,
            {"first": 0, "last": 1, "speed": "fast"},
            r"speed: is not written as it should be (the pattern is ^\d{1,3}(/\d{1,3})?$)",
        ),
        (Line, {"seq": 1, "at": "now"}, "at: should be a date and a time with its zone, such"),
        (Line, {"seq": 1, "at": "2026-03-05T14:03:11"}, "at: should be a date and a time"),
        (Finished, {"blind": "so"}, "blind: should be true or false"),
        (Finished, {"kind": "done"}, "kind: should be 'finished'"),
    ],
)
def test_what_is_wrong_is_said_with_its_place(model: type[BaseModel], data: Any, said: str) -> None:
    assert problem(model, data).startswith(said)


def test_an_entry_of_an_unknown_kind_is_told_the_kinds() -> None:
    line = {"seq": 1, "at": "2026-03-05T14:03:11Z", "prev": "0" * 64}
    said = problem(Line, line | {"entry": {"kind": "guess"}})
    assert said.startswith("entry: is of the kind \"guess\", which is none of 'run-begun', ")
    assert problem(Line, line | {"entry": {}}) == "entry: does not say of which kind it is"
    assert problem(Line, line | {"entry": 1}) == "entry: should be a table of named entries"


def test_text_that_is_no_json_is_told_where_it_ends() -> None:
    with pytest.raises(ValidationError) as caught:
        Header.model_validate_json("{")
    assert first_problem(caught.value).startswith("the whole: is not JSON (EOF while parsing")


def test_the_words_of_an_own_check_are_kept() -> None:
    facts = {
        "name": "a.mp4", "size_bytes": 1, "sha256": "0" * 64, "frames": 1, "time_base": "0",
        "first_pts": 0,
    }  # fmt: skip
    assert problem(FootageFacts, facts) == 'time_base: "0" is not above 0'


def test_an_error_without_words_of_its_own_says_what_pydantic_says() -> None:
    class Odd(Frozen):
        value: int

        @field_validator("value")
        @classmethod
        def _refuse(cls, value: int) -> int:
            raise AssertionError("odd")

    assert problem(Odd, {"value": 1}) == "value: Assertion failed, odd"
