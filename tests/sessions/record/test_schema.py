"""The published JSON Schema against an independent validator."""

import json
from typing import Any

import jsonschema
import pytest
from hypothesis import HealthCheck, given

from sessions.record.recording import session_schema
from tests.proofs import examples
from tests.sessions.samples import as_lines, header
from tests.sessions.strategies import Drawn, drawn_sessions

SCHEMA = session_schema()


@pytest.fixture(scope="module")
def validator() -> Any:
    jsonschema.Draft202012Validator.check_schema(SCHEMA)
    return jsonschema.Draft202012Validator(SCHEMA)


def written(model: Any) -> Any:
    return json.loads(model.model_dump_json(exclude_none=True))


def test_the_schema_names_its_draft_and_offers_header_and_line() -> None:
    assert SCHEMA["$schema"].endswith("2020-12/schema")
    assert [one["$ref"] for one in SCHEMA["oneOf"]] == ["#/$defs/Header", "#/$defs/Line"]
    assert {"Header", "Line", "Sighted", "Look"} <= SCHEMA["$defs"].keys()


@examples(few=5, many=40, suppress_health_check=list(HealthCheck))
@given(drawn=drawn_sessions(most_runs=1))
def test_what_is_written_meets_the_schema(validator: Any, drawn: Drawn) -> None:
    assert validator.is_valid(written(drawn.header))
    for line in as_lines(drawn.entries):
        assert validator.is_valid(written(line)), line


def test_what_is_wrong_does_not_meet_the_schema(validator: Any) -> None:
    good = written(header())
    assert validator.is_valid(good)
    assert not validator.is_valid(good | {"version": 1})
    assert not validator.is_valid(good | {"surprise": 1})
    assert not validator.is_valid({key: good[key] for key in good if key != "footage"})
