"""Keymaps: which keys do what, from a built-in or a file, with the user's own keys on top."""

import os
from collections.abc import Mapping
from importlib import resources
from pathlib import Path

import platformdirs

from keymaps.keymap_file import Layer, parse_layer, read_layer
from keymaps.keys import display_key
from keymaps.merge import merged_keys
from sessions.errors import KeymapError
from sessions.frozen import Frozen

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
