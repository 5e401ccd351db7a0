"""The settings of a docket: ``docket.toml``, which the program writes and people may edit.

| entry | what it says |
|---|---|
| ``folders`` | folders outside the docket to which links in it may lead |
| ``[results.columns]`` | the column of the results list that each column of a claim is from |
| ``[results.always]`` | what a column of a claim is in every line, where no list tells it |
"""

import tomllib
from pathlib import Path
from typing import Annotated, Literal

import tomlkit
from pydantic import Field, ValidationError, field_validator

from sessions.docket.csv_table import LONGEST_CODE
from sessions.docket.intake import NAMES, Origin
from sessions.errors import FramecallError
from sessions.record.wholefile import write_whole
from sessions.small_file import read_small
from sessions.validation import Frozen, first_problem

LONGEST_FILE = 256_000
"""Bytes of a settings file that is read."""


class SettingsError(FramecallError):
    """The settings of a docket cannot be used."""


class ResultsSettings(Frozen):
    """Where each column of a claim is from, by its name."""

    columns: dict[str, str] = Field(default_factory=dict)
    always: dict[str, str] = Field(default_factory=dict)

    @field_validator("columns", "always")
    @classmethod
    def _of_claims(cls, told: dict[str, str]) -> dict[str, str]:
        for name, text in told.items():
            if name not in NAMES:
                raise ValueError(f'claims have no column "{name}", take one of {", ".join(NAMES)}')
            if not 0 < len(text) <= LONGEST_CODE:
                raise ValueError(f"{name} needs a text of 1 to {LONGEST_CODE} characters")
        return told

    @property
    def origins(self) -> dict[str, Origin]:
        """The origin of each column that is told; what is always so goes before a column."""
        taken = {name: Origin(column=text) for name, text in self.columns.items()}
        return taken | {name: Origin(always=text) for name, text in self.always.items()}


class DocketSettings(Frozen):
    """All settings of a docket."""

    format: Literal["framecall-docket"] = "framecall-docket"
    version: Literal[1] = 1
    folders: tuple[Annotated[str, Field(min_length=1, max_length=4096)], ...] = ()
    results: ResultsSettings = ResultsSettings()

    @field_validator("folders")
    @classmethod
    def _absolute(cls, folders: tuple[str, ...]) -> tuple[str, ...]:
        for folder in folders:
            if not folder.startswith("/"):
                raise ValueError(f'the folder "{folder}" must begin with /')
        return folders


def read_settings(path: Path) -> DocketSettings:
    """The settings in a file, those of a docket without one where it is missing.

    Raises SettingsError, in one sentence.
    """
    text = _text(path)
    if text is None:
        return DocketSettings()
    try:
        return DocketSettings.model_validate(tomllib.loads(text))
    except (tomllib.TOMLDecodeError, RecursionError) as error:
        raise SettingsError(f"The settings {path} are not TOML: {error}; mend them.") from None
    except ValidationError as error:
        raise SettingsError(
            f"The settings {path} do not hold: {first_problem(error)}; mend that entry."
        ) from None


def keep_results(path: Path, origins: dict[str, Origin]) -> None:
    """Keep where each column of a claim is from; all else in the file stays, comments too.

    Raises SettingsError where it cannot be read or written.
    """
    read_settings(path)
    file = tomlkit.parse(_text(path) or 'format = "framecall-docket"\nversion = 1\n')
    results, columns, always = tomlkit.table(), tomlkit.table(), tomlkit.table()
    for name, origin in origins.items():
        (columns if origin.column else always)[name] = origin.column or origin.always
    results["columns"], results["always"] = columns, always
    file["results"] = results
    try:
        write_whole(path, tomlkit.dumps(file).encode())
    except OSError as error:
        raise SettingsError(
            f"The settings {path} cannot be written ({error.strerror}); check the folder."
        ) from None


def _text(path: Path) -> str | None:
    """The text of a settings file; ``None`` where there is none."""
    try:
        data = read_small(path, LONGEST_FILE)
    except FileNotFoundError:
        return None
    except OSError as error:
        raise SettingsError(
            f"The settings {path} cannot be read ({error.strerror}); check the file."
        ) from None
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise SettingsError(f"The settings {path} are not UTF-8 text; save them again.") from None
