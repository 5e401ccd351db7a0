"""Keymaps: which keys do what, from a built-in or a file, with the user's own keys on top.

A file is read so that every complaint names file and line; a later file rebinds the commands that
it names, and no key has two commands on one screen.
"""

import difflib
import os
import re
import tomllib
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from importlib import resources
from pathlib import Path
from typing import Annotated, Any, Literal

import platformdirs
from pydantic import AfterValidator, BeforeValidator, Field, ValidationError
from pydantic_core import PydanticCustomError

from keymaps import toml_lines as lines
from keymaps.commands import COMMANDS, Where
from keymaps.keys import canonical_key, display_key
from sessions.errors import KeymapError
from sessions.small_file import read_small
from sessions.validation import Frozen

# -- one file

FORMAT = "framecall-keymap"
LONGEST_FILE = 256_000
"""Bytes of a keymap file that is read; one of every command takes fewer than ten thousand."""


def closest(name: str, known: Iterable[str]) -> str:
    """``; did you mean "x"?`` for a slip of typing, or nothing."""
    near = difflib.get_close_matches(name, list(known), n=1)
    return f'; did you mean "{near[0]}"?' if near else ""


_UNKNOWN = "unknown_command"


def _known_command(name: str) -> str:
    if name not in COMMANDS:
        raise PydanticCustomError(_UNKNOWN, "there is no such command")
    return name


def _list_of_keys(value: Any) -> Any:
    return [value] if isinstance(value, str) else value


CommandId = Annotated[str, AfterValidator(_known_command)]
Key = Annotated[str, AfterValidator(canonical_key)]
Keys = Annotated[tuple[Key, ...], BeforeValidator(_list_of_keys), Field(min_length=1)]


class KeymapFile(Frozen):
    """A keymap file as it is written; ``base`` names the keymap that it changes."""

    format: Literal["framecall-keymap"]
    version: Literal[1]
    name: str | None = Field(default=None, min_length=1, max_length=40)
    title: str | None = Field(default=None, min_length=1, max_length=60)
    base: str | None = None
    keys: dict[CommandId, Keys]


@dataclass(frozen=True, slots=True)
class Layer:
    """A keymap file with its name for messages and the line of each of its entries."""

    source: str
    file: KeymapFile
    lines: Mapping[lines.Path, int]

    def line(self, command_id: str, number: int = 0) -> int:
        """The line on which the command's key of that ``number``, from 0, is written."""
        written = _written_paths(command_id)
        path = next((p for p in written if p in self.lines), ("keys",))
        return lines.nearest_line(self.lines, (*path, number))

    def error(self, line: int, problem: str) -> KeymapError:
        """The error to raise for a problem on that line."""
        return _error(self.source, line, problem)


def _error(source: str, line: int, problem: str) -> KeymapError:
    return KeymapError(f"{source}, line {line}: {problem.rstrip('.?')}{_ending(problem)}")


def _ending(sentence: str) -> str:
    return "?" if sentence.endswith("?") else "."


def read_layer(path: Path) -> Layer:
    """Read a keymap file; raises KeymapError with file, line, problem and remedy."""
    try:
        text = read_small(path, LONGEST_FILE).decode("utf-8-sig")
    except OSError as error:
        reason = error.strerror or error
        raise KeymapError(f"{path} cannot be read ({reason}); check path and rights.") from None
    except UnicodeDecodeError as error:
        line = error.object[: error.start].count(b"\n") + 1
        raise _error(str(path), line, "the text is not UTF-8; save it as UTF-8") from None
    return parse_layer(str(path), text)


def parse_layer(source: str, text: str) -> Layer:
    """Check the text of a keymap file; raises KeymapError naming ``source`` and the line."""
    try:
        data = tomllib.loads(text)
        places = lines.line_numbers(text)
        data = {name: _flattened(name, value) for name, value in data.items()}
    except RecursionError:
        raise _error(source, 1, "the text is nested too deeply; write plain [keys]") from None
    except ValueError as error:
        line, problem = _toml_problem(str(error), text)
        raise _error(source, line, problem) from None
    try:
        return Layer(source, KeymapFile.model_validate(data), places)
    except ValidationError as error:
        line, problem = _first_problem(error, places)
        raise _error(source, line, problem) from None


_TOML_PLACE = re.compile(r" \(at (?:line (\d+), column \d+|end of document)\)")


def _toml_problem(message: str, text: str) -> tuple[int, str]:
    place = _TOML_PLACE.search(message)
    end = len(text.rstrip("\n").split("\n"))
    line = int(place[1]) if place and place[1] else end
    what = _TOML_PLACE.sub("", message).rstrip(".")
    quoted = 'write entries as "command" = "key", both in quotes, each command once'
    return line, f"this is not TOML ({what}); {quoted}"


def _flattened(name: str, value: Any) -> Any:
    """Command ids written without quotes make tables inside ``keys``: undo that."""
    return dict(_leaves(value)) if name == "keys" and isinstance(value, dict) else value


def _leaves(table: dict[str, Any], prefix: str = "") -> Iterator[tuple[str, Any]]:
    for name, value in table.items():
        if isinstance(value, dict):
            yield from _leaves(value, f"{prefix}{name}.")
        else:
            yield f"{prefix}{name}", value


def _written_paths(command_id: str) -> Iterator[lines.Path]:
    """How a command's entry may be written: its id in quotes, or as a dotted key."""
    yield ("keys", command_id)
    yield ("keys", *command_id.split("."))


def _first_problem(error: ValidationError, places: Mapping[lines.Path, int]) -> tuple[int, str]:
    """The problem that stands first in the file; only for that one the words are looked for."""
    placed = [
        (tuple(part for part in problem["loc"] if part != "[key]"), dict(problem))
        for problem in error.errors(include_url=False)
    ]
    at = [_line(place, places) for place, _ in placed]
    first = min(at)
    return first, min(_words(*one) for one, line in zip(placed, at, strict=True) if line == first)


def _line(place: lines.Path, places: Mapping[lines.Path, int]) -> int:
    if len(place) > 1 and place[0] == "keys":
        written = _written_paths(str(place[1]))
        path = next((p for p in written if p in places), ("keys",))
        place = (*path, *place[2:])
    return lines.nearest_line(places, place)


_FIELD_REMEDIES = {
    "format": f'write format = "{FORMAT}"',
    "version": "this program reads version = 1",
    "name": "write a name of 1 to 40 characters in quotes",
    "title": "write a title of 1 to 60 characters in quotes",
    "base": 'write the name of a keymap in quotes, such as base = "qwerty"',
    "keys": 'write a table [keys] with entries such as "note" = "N"',
}


def _words(place: lines.Path, problem: dict[str, Any]) -> str:
    """What is wrong at ``place`` and what to do, from what pydantic found."""
    head = str(place[0])
    if problem["type"] == "value_error":
        return str(problem["ctx"]["error"])
    if problem["type"] == _UNKNOWN:
        hint = closest(problem["input"], COMMANDS) or "; the help lists all commands"
        return f'there is no command "{problem["input"]}"{hint}'
    if head == "keys" and len(place) > 1:
        return _key_words(str(place[1]), problem)
    if problem["type"] == "extra_forbidden":
        return f'"{head}" is no entry of a keymap{_entry_hint(head)}'
    if problem["type"] == "missing":
        return f'"{head}" is missing; {_FIELD_REMEDIES[head]}'
    return f'"{head}" cannot be {_shown(problem["input"])}; {_FIELD_REMEDIES[head]}'


def _entry_hint(name: str) -> str:
    if name in COMMANDS:
        return "; move it under [keys]"
    return closest(name, KeymapFile.model_fields) or "; remove it, or move it under [keys]"


def _key_words(command_id: str, problem: dict[str, Any]) -> str:
    if problem["type"] == "too_short":
        return f'"{command_id}" has no key; give it at least one'
    shown = _shown(problem["input"])
    return f'"{command_id}" cannot be {shown}; write a key, or a list of keys, in quotes'


def _shown(value: Any) -> str:
    text = f'"{value}"' if isinstance(value, str) else str(value)
    text = text.lower() if isinstance(value, bool) else text
    return text if len(text) <= 40 else f"{text[:37]}..."


# -- one file on top of another


@dataclass(frozen=True, slots=True)
class _Use:
    """One key written for one command, as the ``number``-th of its list, in one file."""

    key: str
    command: str
    number: int
    layer: Layer

    @property
    def line(self) -> int:
        return self.layer.line(self.command, self.number)


def merged_keys(layers: Sequence[Layer]) -> Mapping[str, tuple[str, ...]]:
    """Keys of every command, where a later layer rebinds the commands that it names.

    Raises KeymapError where a key has two commands on a screen, or a command has no key.
    """
    holders: dict[str, Layer] = {}
    for layer in layers:
        holders |= dict.fromkeys(layer.file.keys, layer)
        _check_each_key_has_one_command(holders, layer)
    _check_each_command_has_a_key(holders, layers[-1])
    return {command: holders[command].file.keys[command] for command in COMMANDS}


def _uses(holders: Mapping[str, Layer]) -> Iterator[_Use]:
    for command, layer in holders.items():
        for number, key in enumerate(layer.file.keys[command]):
            yield _Use(key, command, number, layer)


def _check_each_key_has_one_command(holders: Mapping[str, Layer], newest: Layer) -> None:
    """Each key has one command on a screen.

    Uses of older layers come first, so that the newest file is the one to be mended.
    """
    uses = sorted(_uses(holders), key=lambda use: (use.layer is newest, use.line))
    first: dict[tuple[Where, str], _Use] = {}
    for use in uses:
        for screen in sorted(COMMANDS[use.command].screens):
            earlier = first.setdefault((screen, use.key), use)
            if earlier is not use:
                raise use.layer.error(use.line, _clash(earlier, use))


def _clash(earlier: _Use, later: _Use) -> str:
    if earlier.layer is not later.layer:
        return (
            f'"{later.key}" is given to "{later.command}", but {earlier.layer.source} has it for '
            f'"{earlier.command}"; choose another key, or rebind "{earlier.command}" here too'
        )
    if earlier.command == later.command:
        return (
            f'"{later.key}" is listed twice for "{later.command}" '
            f"(first on line {earlier.line}); remove one"
        )
    return (
        f'"{later.key}" is given to "{later.command}", and to "{earlier.command}" '
        f"on line {earlier.line}; choose another key for one of them"
    )


def _check_each_command_has_a_key(holders: Mapping[str, Layer], newest: Layer) -> None:
    missing = [command for command in COMMANDS if command not in holders]
    if missing:
        more = f" and {len(missing) - 1} more" if len(missing) > 1 else ""
        raise newest.error(
            newest.lines["keys",],
            f'no key for "{missing[0]}"{more}; add what is missing, '
            'or name a keymap to change, such as base = "qwerty"',
        )


# -- all of them

DEFAULT = "qwerty"

USER_FILE_VARIABLE = "FRAMECALL_KEYS"
"""The environment variable that names another file of the user's own keys."""


class Keymap(Frozen):
    """Keys of every command, by command id, in the order of the registry."""

    name: str
    title: str
    keys: Mapping[str, tuple[str, ...]]

    def keys_for(self, command_id: str) -> tuple[str, ...]:
        """The command's keys, the one to show first; KeyError for what is no command."""
        return self.keys[command_id]

    def first_key(self, command_id: str) -> str:
        """The key to name where the command is spoken of, as people write it."""
        return display_key(self.keys_for(command_id)[0])

    def bindings(self) -> dict[str, str]:
        """Command ids and comma-joined keys, as Textual's ``App.set_keymap`` takes them."""
        return {command_id: ",".join(keys) for command_id, keys in self.keys.items()}


def keymap_names() -> list[str]:
    """Names of the keymaps that come with the program."""
    return sorted(
        entry.name.removesuffix(".toml")
        for entry in resources.files("keymaps").iterdir()
        if entry.name.endswith(".toml")
    )


def user_keys_file() -> Path | None:
    """The file of the user's own keys: the one that FRAMECALL_KEYS names, or the usual one."""
    if named := os.environ.get(USER_FILE_VARIABLE):
        return Path(named)
    usual = platformdirs.user_config_path("framecall") / "keys.toml"
    return usual if os.path.isfile(usual) else None  # none, too, where nobody may look


def load_keymap(
    name_or_path: str | Path | None = None, user_file: str | Path | None = None
) -> Keymap:
    """The keymap of a name, or of a file ending in ``.toml``, with the user's own keys on top.

    Without a name the user's file may say its ``base``; without that it is the QWERTY keymap.
    Raises KeymapError with file, line, problem and remedy.
    """
    path = Path(user_file) if user_file else user_keys_file()
    user = [read_layer(path)] if path else []
    layers = _based(user) if name_or_path is None else [*_chosen(name_or_path), *user]
    names = [layer.file.name for layer in layers if layer.file.name]
    titles = [layer.file.title for layer in layers if layer.file.title]
    return Keymap(
        name=names[-1] if names else layers[0].source,
        title=titles[-1] if titles else layers[0].source,
        keys=merged_keys(layers),
    )


def _chosen(name_or_path: str | Path) -> list[Layer]:
    text = str(name_or_path)
    if not text.endswith(".toml"):
        return [_built_in(text)]
    layer = read_layer(Path(text))
    return _based([layer]) if layer.file.base else [layer]


def _based(layers: list[Layer]) -> list[Layer]:
    """The layers on top of the keymap that the first of them names as its base."""
    base = layers[0].file.base if layers else None
    if base is None:
        return [_built_in(DEFAULT), *layers]
    if base not in keymap_names():
        line = layers[0].lines["base",]
        raise layers[0].error(line, f'there is no base "{base}"; take one of {_known()}')
    return [_built_in(base), *layers]


def _built_in(name: str) -> Layer:
    if name not in keymap_names():
        raise KeymapError(
            f'There is no keymap "{name}"; take one of {_known()}, or the path of a .toml file.'
        )
    text = resources.files("keymaps").joinpath(f"{name}.toml").read_text(encoding="utf-8")
    return parse_layer(f"keymap {name}", text)


def _known() -> str:
    return ", ".join(keymap_names())
