"""What every data model has in common, and plain words for what is wrong in a file."""

from collections.abc import Callable, Mapping
from types import MappingProxyType
from typing import Any

from pydantic import BaseModel, ConfigDict, ValidationError
from pydantic_core import ErrorDetails

from sessions.plural import plural


class Frozen(BaseModel):
    """Immutable data; an unknown field is an error, so that a typing slip never passes silently."""

    model_config = ConfigDict(frozen=True, extra="forbid", ser_json_inf_nan="constants")


Context = Mapping[str, Any]
Words = str | Callable[[Context], str]

_WHOLE_NUMBER = "should be a whole number"
_TRUTH = "should be true or false"
_LIST = "should be a list, in square brackets"
_TABLE = "should be a table of named entries"
_MOMENT = "should be a date and a time with its zone, such as 2026-03-05T14:03:11Z"


def _kinds(context: Context) -> str:
    return f'is of the kind "{context["tag"]}", which is none of {context["expected_tags"]}'


WORDS: Mapping[str, Words] = MappingProxyType(
    {
        "missing": "is missing",
        "extra_forbidden": "is not an entry that is known here",
        "bool_type": _TRUTH,
        "bool_parsing": _TRUTH,
        "int_type": _WHOLE_NUMBER,
        "int_parsing": _WHOLE_NUMBER,
        "int_parsing_size": "is too large a number",
        "int_from_float": _WHOLE_NUMBER,
        "greater_than_equal": lambda context: f"should be {context['ge']} or more",
        "less_than": lambda context: f"should be below {context['lt']}",
        "less_than_equal": lambda context: f"should be {context['le']} or less",
        "string_type": "should be a text",
        "string_too_short": lambda context: (
            f"should have at least {plural(context['min_length'], 'character')}"
        ),
        "string_too_long": lambda context: (
            f"should have at most {plural(context['max_length'], 'character')}"
        ),
        "string_pattern_mismatch": lambda context: (
            f"is not written as it should be (the pattern is {context['pattern']})"
        ),
        "literal_error": lambda context: f"should be {context['expected']}",
        "enum": lambda context: f"should be {context['expected']}",
        "tuple_type": _LIST,
        "frozen_set_type": _LIST,
        "too_short": lambda context: (
            f"should have at least {context['min_length']} in its list, "
            f"and has {context['actual_length']}"
        ),
        "too_long": lambda context: (
            f"should have at most {context['max_length']} in its list, "
            f"and has {context['actual_length']}"
        ),
        "dict_type": _TABLE,
        "model_type": _TABLE,
        "model_attributes_type": _TABLE,
        "datetime_type": _MOMENT,
        "datetime_parsing": _MOMENT,
        "datetime_from_date_parsing": _MOMENT,
        "timezone_aware": _MOMENT,
        "union_tag_not_found": "does not say of which kind it is",
        "union_tag_invalid": _kinds,
        "unknown_command": "names no command",
        "json_invalid": lambda context: f"is not JSON ({context['error']})",
        "value_error": lambda context: str(context["error"]),
    }
)
"""What to say of each kind of error that the models of this program can raise."""


def first_problem(error: ValidationError) -> str:
    """The first problem of a validation as ``place: what is wrong``."""
    problem = error.errors(include_url=False)[0]
    place = ".".join(str(part) for part in problem["loc"]) or "the whole"
    return f"{place}: {_words(problem)}"


def _words(problem: ErrorDetails) -> str:
    words = WORDS.get(problem["type"], problem["msg"])
    return words if isinstance(words, str) else words(problem.get("ctx", {}))
