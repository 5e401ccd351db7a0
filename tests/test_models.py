"""Whatever is put into any model of the program is refused in plain words."""

import importlib
import pkgutil
from collections.abc import Callable, Iterator
from types import ModuleType
from typing import Any

import pytest
from pydantic import BaseModel, ValidationError

import keymaps
import sessions
import tui
from sessions.validation import WORDS, Frozen

WRONG: tuple[Any, ...] = (
    None, True, 1, -1, 1.5, 10**30, "x", "", "x" * 20_000, b"x", "2020-01-01", "1" * 5_000,
    "2020-01-01T00:00:00", [], [1], ["x"] * 100, [[1, 2, 3]], {}, {"a": 1}, {"kind": "x"},
)  # fmt: skip
TEXTS = ("{", "[]", '{"a": 1}', "NaN")


def modules(package: ModuleType) -> Iterator[str]:
    for found in pkgutil.walk_packages(package.__path__, f"{package.__name__}."):
        if not found.name.endswith("__main__"):
            yield found.name


def models() -> list[type[BaseModel]]:
    for package in (sessions, keymaps, tui):
        for name in modules(package):
            importlib.import_module(name)
    found, left = [], [Frozen]
    while left:
        model = left.pop()
        left += model.__subclasses__()
        found.append(model)
    return [model for model in found if not model.__module__.startswith("tests")]


def errors(model: type[BaseModel]) -> Iterator[str]:
    attempts: list[tuple[Callable[[Any], object], Any]] = [
        (model.model_validate, value) for value in WRONG
    ]
    attempts += [
        (model.model_validate, dict.fromkeys(model.model_fields, value)) for value in WRONG
    ]
    attempts += [(model.model_validate_json, text) for text in TEXTS]
    for validate, value in attempts:
        try:
            validate(value)
        except ValidationError as error:
            yield from (problem["type"] for problem in error.errors())


@pytest.fixture(scope="module")
def raised() -> set[str]:
    return {error for model in models() for error in errors(model)}


def test_every_kind_of_error_that_a_model_raises_has_plain_words(raised: set[str]) -> None:
    assert raised - set(WORDS) == set()


def test_no_words_are_kept_for_errors_that_none_raises(raised: set[str]) -> None:
    assert set(WORDS) - raised == set()
