"""The league's own words in a ruling document, from a settings file (TOML).

The file ``league.example.toml`` beside this module documents every entry.
"""

import tomllib
from pathlib import Path
from typing import Annotated, Literal

from pydantic import Field, ValidationError

from keymaps.toml_lines import line_numbers, nearest_line
from sessions.errors import DocumentError
from sessions.small_file import read_small
from sessions.validation import Frozen, first_problem

LONGEST_FILE = 256_000
"""Bytes of a league's settings that are read."""

AddressLine = Annotated[str, Field(min_length=1, max_length=200)]


class League(Frozen):
    """Who issues the document, and how to appeal; empty lines part ``appeal`` into paragraphs.

    ``equal_times`` is what becomes of a record that another reaches: the docket sets claims aside
    by it.
    """

    format: Literal["framecall-league"]
    version: Literal[1]
    name: str = Field(min_length=1, max_length=200)
    address: tuple[AddressLine, ...] = Field(default=(), max_length=12)
    appeal: str = Field(min_length=1, max_length=10_000)
    equal_times: Literal["both hold it", "first keeps it"] = "both hold it"

    @property
    def appeal_paragraphs(self) -> tuple[str, ...]:
        """The text on appeals, each paragraph as one line."""
        parts = self.appeal.split("\n\n")
        return tuple(" ".join(part.split()) for part in parts if part.strip())


def load_league(path: Path) -> League:
    """Read a league's settings file; DocumentError names the line and what to mend."""
    try:
        text = read_small(path, LONGEST_FILE).decode("utf-8")
        data = tomllib.loads(text)
    except OSError as error:
        raise DocumentError(
            f"The league file {path} cannot be read ({error.strerror}); check its path."
        ) from None
    except UnicodeDecodeError:
        raise DocumentError(
            f"The league file {path} is not UTF-8 text; save it as UTF-8."
        ) from None
    except tomllib.TOMLDecodeError as error:
        raise DocumentError(f"The league file {path} is not TOML: {error}; mend it.") from None
    try:
        return League.model_validate(data)
    except ValidationError as error:
        line = nearest_line(line_numbers(text), error.errors()[0]["loc"])
        raise DocumentError(
            f"The league file {path}, line {line}, does not hold: {first_problem(error)}; "
            "mend that entry."
        ) from None
