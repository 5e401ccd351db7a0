"""Laying keymap files on top of one another, so that no key has two commands on one screen."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from keymaps.command import Where
from keymaps.commands import COMMANDS
from keymaps.keymap_file import Layer


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
